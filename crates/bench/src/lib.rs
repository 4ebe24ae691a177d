//! One bench: its devices, its safety rules, and the run that goes on at it.
//!
//! In: a bench file ([`BenchFile`]), a programme and what a person presses. Out: temperatures and
//! pictures with times to whoever records them ([`Recorder`]), what is going on ([`RunView`]) to
//! whoever watches. `docs/bench.md` describes bench files and what a controller must support;
//! `docs/models/bench.md` the rules.

mod bench_file;
mod check;
mod clock;
mod device;
mod error;
mod heater;
mod lines;
mod modbus;
mod open;
mod pattern;
mod payload;
mod serial_port;
mod telling;
mod thermometer;

pub use bench_file::{
    BenchFile, BluetoothCharacteristic, BluetoothThermometerSpec, CameraSpec, CoilSpec,
    CsvThermometerSpec, HeaterSpec, HttpThermometerSpec, Limits, ModbusConnection,
    ModbusHeaterSpec, ModbusThermometerSpec, MqttThermometerSpec, Parity, RefreshSpec,
    RegisterQuantity, RegisterTable, SerialHeaterSpec, SerialPort, SerialThermometerSpec,
    SwitchRegisterSpec, SwitchSpec, ThermometerSpec, WordOrder, WordType, WriteFunction,
};
pub use check::{DeviceFinding, DeviceRole, DeviceState, check};
pub use clock::BenchClock;
pub use device::{
    Accepted, Camera, CameraNews, Heater, HeaterCommand, HeaterTraits, Sample, Thermometer,
    ThermometerNews,
};
pub use error::{BenchFileError, DeviceError};
pub use open::{Connections, OpenedThermometer, open_heater, open_thermometer};
pub use thermometer::{KeyedError, KeyedInlet, KeyedThermometer, keyed};
