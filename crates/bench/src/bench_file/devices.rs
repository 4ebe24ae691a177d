//! What devices of one bench have to agree on.

use super::connection::{ModbusConnection, SerialPort};
use super::field::{Wrong, wrong};
use super::{BenchFile, HeaterSpec, ThermometerSpec};

/// Check each device and what they share.
pub(super) fn check(file: &BenchFile) -> Result<(), Wrong> {
    file.thermometer.check()?;
    file.heater.check(file.max_c)?;
    let Some((of_thermometer, of_heater)) = thermometer_line(&file.thermometer)
        .zip(heater_line(&file.heater))
        .filter(|(one, other)| one.0.port == other.0.port)
    else {
        return Ok(());
    };
    if of_thermometer != of_heater {
        return wrong(
            "heater.connection",
            "the thermometer's port with other settings or another protocol",
            "the same as thermometer.connection: one port, one way to speak",
        );
    }
    if let ThermometerSpec::Serial(spec) = &file.thermometer
        && spec.poll.is_none()
    {
        return wrong(
            "thermometer.poll",
            "missing",
            "a text that asks for the temperature, since the heater shares the port",
        );
    }
    Ok(())
}

/// What is spoken on a serial port.
#[derive(PartialEq)]
enum Protocol {
    Lines,
    Modbus,
}

fn thermometer_line(spec: &ThermometerSpec) -> Option<(&SerialPort, Protocol)> {
    match spec {
        ThermometerSpec::Serial(spec) => Some((&spec.connection, Protocol::Lines)),
        ThermometerSpec::Modbus(spec) => modbus_line(&spec.connection),
        _ => None,
    }
}

fn heater_line(spec: &HeaterSpec) -> Option<(&SerialPort, Protocol)> {
    match spec {
        HeaterSpec::Serial(spec) => Some((&spec.connection, Protocol::Lines)),
        HeaterSpec::Modbus(spec) => modbus_line(&spec.connection),
        HeaterSpec::ByHand | HeaterSpec::Simulated => None,
    }
}

fn modbus_line(connection: &ModbusConnection) -> Option<(&SerialPort, Protocol)> {
    match connection {
        ModbusConnection::Rtu(serial) => Some((serial, Protocol::Modbus)),
        ModbusConnection::Tcp(_) => None,
    }
}
