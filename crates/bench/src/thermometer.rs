//! Drivers of thermometers, one file each.

#[cfg_attr(
    not(any(test, feature = "bluetooth")),
    expect(
        dead_code,
        reason = "always compiled and tested; the link is a feature"
    )
)]
pub(crate) mod bluetooth;
#[cfg(feature = "bluetooth")]
mod bluetooth_link;
mod csv_file;
mod http;
mod keyed;
mod modbus;
mod mqtt;
mod serial;

#[cfg(feature = "bluetooth")]
pub(crate) use bluetooth_link::BluetoothThermometer;
pub(crate) use csv_file::CsvThermometer;
pub(crate) use http::HttpThermometer;
pub use keyed::{KeyedError, KeyedInlet, KeyedThermometer, keyed};
pub(crate) use modbus::ModbusThermometer;
pub(crate) use mqtt::MqttThermometer;
pub(crate) use serial::SerialThermometer;
