//! One bench: its devices, its safety rules, and the run that goes on at it.
//!
//! In: a bench file ([`BenchFile`]), a programme and what a person presses. Out: temperatures and
//! pictures with times to whoever records them ([`Recorder`]), what is going on ([`RunView`]) to
//! whoever watches. `docs/bench.md` describes bench files and what a controller must support;
//! `docs/models/bench.md` the rules.

mod bench_file;
mod camera;
mod check;
mod clock;
mod device;
mod error;
mod heater;
mod lines;
mod modbus;
mod open;
mod open_bench;
mod pattern;
mod payload;
mod recorder;
mod rig;
mod run;
mod serial_port;
mod simulated;
mod telling;
mod thermometer;
mod watcher;

pub use bench_file::{
    BenchFile, BluetoothCharacteristic, BluetoothThermometerSpec, CameraSpec, CoilSpec,
    CsvThermometerSpec, DisplayThermometerSpec, FfmpegCameraSpec, HeaterSpec, HttpThermometerSpec,
    Limits, MjpegCameraSpec, ModbusConnection, ModbusHeaterSpec, ModbusThermometerSpec,
    MqttThermometerSpec, Parity, PicturesAre, RefreshSpec, RegisterQuantity, RegisterTable,
    SerialHeaterSpec, SerialPort, SerialThermometerSpec, SimulatedCamera, SimulatedThermometer,
    SwitchRegisterSpec, SwitchSpec, ThermometerSpec, V4l2CameraSpec, WordOrder, WordType,
    WriteFunction,
};
pub use camera::{
    CameraFindings, FfmpegCamera, InletError, MjpegCamera, PictureInlet, PushedCamera,
    camera_check, pushed_camera,
};
pub use check::{DeviceFinding, DeviceRole, DeviceState, check};
pub use clock::BenchClock;
pub use device::{
    Accepted, Camera, CameraNews, Heater, HeaterCommand, HeaterTraits, Sample, Thermometer,
    ThermometerNews,
};
pub use error::{BenchFileError, DeviceError};
pub use open::{Connections, OpenedThermometer, open_heater, open_thermometer};
pub use open_bench::{
    BenchView, DeviceHealth, LivePicture, OpenBench, OrderError, RunLogFileError, RunOrder,
    SeriesPoint, read_run_log, run_log_can_be_written, write_run_log,
};
pub use recorder::Recorder;
pub use run::{
    ActiveFault, Advice, Coaching, Fault, Happening, Look, Mark, MarkedMoment, Phase, Press, Rate,
    RateEstimate, Run, RunEvent, RunSettings, RunView, Trigger, TubeView, coach,
};
pub use simulated::{SimulatedBench, SimulatedFault, SimulatedFaults};
pub use thermometer::{KeyedError, KeyedInlet, KeyedThermometer, keyed};
