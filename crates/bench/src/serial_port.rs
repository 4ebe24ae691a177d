//! Opening serial ports, with reasons that say what to do.

use crate::bench_file::{Parity, SerialPort};
use crate::error::DeviceError;
use std::io::{self, ErrorKind};
use std::path::Path;
use tokio_serial::{SerialPortBuilderExt as _, SerialStream};

const PERMITTED: &str =
    "on Linux, let your account join the group dialout (or the port's own group) and log in again";
const PRESENT: &str =
    "plug it in and look at its name; meltrange bench check lists the ports that are there";
const FREE: &str = "end the other program that uses the port";

/// Open a port.
///
/// # Errors
/// [`DeviceError::NotThere`] with what to do.
pub(crate) fn open(serial: &SerialPort, device: &str) -> Result<SerialStream, DeviceError> {
    use tokio_serial::{DataBits, Parity as Bit, StopBits};
    let data_bits = match serial.data_bits {
        5 => DataBits::Five,
        6 => DataBits::Six,
        7 => DataBits::Seven,
        _ => DataBits::Eight,
    };
    let parity = match serial.parity {
        Parity::None => Bit::None,
        Parity::Odd => Bit::Odd,
        Parity::Even => Bit::Even,
    };
    let stop_bits = if serial.stop_bits == 2 {
        StopBits::Two
    } else {
        StopBits::One
    };
    tokio_serial::new(&serial.port, serial.baud)
        .data_bits(data_bits)
        .parity(parity)
        .stop_bits(stop_bits)
        .open_native_async()
        .map_err(|error| DeviceError::NotThere {
            device: device.into(),
            found: error.to_string(),
            hint: hint(&serial.port, error.kind()),
        })
}

fn hint(port: &str, kind: tokio_serial::ErrorKind) -> &'static str {
    use tokio_serial::ErrorKind as Kind;
    // What serialport calls "no device" covers missing, taken and not permitted alike.
    match kind {
        Kind::Io(ErrorKind::PermissionDenied) => PERMITTED,
        _ if !present(port) => PRESENT,
        _ if not_permitted(port) => PERMITTED,
        Kind::NoDevice | Kind::Io(ErrorKind::ResourceBusy) => FREE,
        _ => "compare port and settings with the device's manual",
    }
}

/// Whether there is something of that name; ports without a file (Windows) are looked up.
pub(crate) fn present(port: &str) -> bool {
    Path::new(port).exists() || ports_here().iter().any(|here| here == port)
}

fn not_permitted(port: &str) -> bool {
    std::fs::OpenOptions::new()
        .read(true)
        .write(true)
        .open(port)
        .is_err_and(|error| error.kind() == ErrorKind::PermissionDenied)
}

/// The serial ports that are there, by name, in order.
pub(crate) fn ports_here() -> Vec<String> {
    let mut names: Vec<String> = serialport::available_ports()
        .unwrap_or_default()
        .into_iter()
        .map(|port| port.port_name)
        .collect();
    names.sort();
    names
}

/// What went wrong on an open port, in words.
pub(crate) fn gone(device: &str, error: &io::Error) -> DeviceError {
    DeviceError::Gone {
        device: device.into(),
        found: error.to_string(),
    }
}
