//! From what a bench file says to devices.

use crate::bench_file::{HeaterSpec, ModbusConnection, SerialPort, ThermometerSpec};
use crate::device::{Heater, Thermometer};
use crate::error::DeviceError;
use crate::heater::{HandHeater, ModbusHeater, SerialHeater};
use crate::lines::LineLink;
use crate::modbus::ModbusBus;
use crate::thermometer::{
    CsvThermometer, DisplayThermometer, HttpThermometer, KeyedInlet, ModbusThermometer,
    MqttThermometer, SerialThermometer, keyed,
};
use std::collections::BTreeMap;

/// The connections of one bench, so that devices on the same port or address share theirs.
#[derive(Default)]
pub struct Connections {
    modbus: BTreeMap<String, ModbusBus>,
    lines: BTreeMap<String, LineLink>,
}

impl Connections {
    /// Of a bench whose devices have not been opened yet.
    pub fn new() -> Self {
        Self::default()
    }

    pub(crate) fn modbus(&mut self, connection: &ModbusConnection) -> ModbusBus {
        self.modbus
            .entry(connection.address().to_owned())
            .or_insert_with(|| ModbusBus::new(connection.clone()))
            .clone()
    }

    pub(crate) fn lines(&mut self, serial: &SerialPort) -> LineLink {
        self.lines
            .entry(serial.port.clone())
            .or_insert_with(|| LineLink::new(serial.clone()))
            .clone()
    }
}

/// A thermometer, and where its temperatures are put in if it has no wire.
pub struct OpenedThermometer {
    /// It.
    pub thermometer: Box<dyn Thermometer>,
    /// For kinds `keyed` and `sent`.
    pub inlet: Option<KeyedInlet>,
}

impl OpenedThermometer {
    fn wired(thermometer: impl Thermometer + 'static) -> Self {
        Self {
            thermometer: Box::new(thermometer),
            inlet: None,
        }
    }
}

/// A thermometer as a bench file describes it. It is reached for when it is to tell; one that is not
/// there says so then and keeps trying.
///
/// # Errors
/// [`DeviceError`] when this program cannot do it at all.
pub fn open_thermometer(
    spec: &ThermometerSpec,
    connections: &mut Connections,
) -> Result<OpenedThermometer, DeviceError> {
    Ok(match spec {
        ThermometerSpec::Keyed | ThermometerSpec::Sent => {
            let (thermometer, inlet) = keyed();
            OpenedThermometer {
                thermometer: Box::new(thermometer),
                inlet: Some(inlet),
            }
        }
        ThermometerSpec::Serial(spec) => OpenedThermometer::wired(
            SerialThermometer::new(spec, connections.lines(&spec.connection))
                .map_err(|found| unusable("thermometer.pattern", found))?,
        ),
        ThermometerSpec::Modbus(spec) => OpenedThermometer::wired(ModbusThermometer::new(
            spec,
            &connections.modbus(&spec.connection),
        )),
        ThermometerSpec::Mqtt(spec) => OpenedThermometer::wired(MqttThermometer::new(spec)),
        ThermometerSpec::Http(spec) => OpenedThermometer::wired(HttpThermometer::new(spec)),
        ThermometerSpec::Csv(spec) => OpenedThermometer::wired(CsvThermometer::new(spec)),
        #[cfg(feature = "bluetooth")]
        ThermometerSpec::Bluetooth(spec) => {
            OpenedThermometer::wired(crate::thermometer::BluetoothThermometer::new(spec))
        }
        #[cfg(not(feature = "bluetooth"))]
        ThermometerSpec::Bluetooth(spec) => {
            return Err(DeviceError::NotThere {
                device: format!("thermometer {}", spec.device),
                found: "this program was built without Bluetooth".into(),
                hint: "build it with the feature bluetooth of meltrange-bench (on Linux it needs libdbus-1-dev)",
            });
        }
        ThermometerSpec::Display(spec) => OpenedThermometer::wired(DisplayThermometer::new(spec)?),
        ThermometerSpec::Simulated(_) => return Err(only_together("thermometer")),
    })
}

/// A heater as a bench file describes it. It is reached for with the first command.
///
/// # Errors
/// [`DeviceError`] when this program cannot do it at all.
pub fn open_heater(
    spec: &HeaterSpec,
    connections: &mut Connections,
) -> Result<Box<dyn Heater>, DeviceError> {
    Ok(match spec {
        HeaterSpec::ByHand => Box::new(HandHeater),
        HeaterSpec::Modbus(spec) => Box::new(ModbusHeater::new(
            spec,
            &connections.modbus(&spec.connection),
        )),
        HeaterSpec::Serial(spec) => Box::new(
            SerialHeater::new(spec, connections.lines(&spec.connection))
                .map_err(|found| unusable("heater", found))?,
        ),
        HeaterSpec::Simulated => return Err(only_together("heater")),
    })
}

/// The simulated bench's devices share one block and are opened as one.
fn only_together(device: &str) -> DeviceError {
    DeviceError::NotThere {
        device: format!("simulated {device}"),
        found: "it is one with the rest of its bench".into(),
        hint: "open the simulated bench as a whole",
    }
}

fn unusable(device: &str, found: String) -> DeviceError {
    DeviceError::NotThere {
        device: device.into(),
        found,
        hint: "check the bench file",
    }
}
