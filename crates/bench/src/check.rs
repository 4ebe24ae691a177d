//! Trying each device of a bench file for a few seconds, without heating.
//!
//! Nothing is told to a heater but off, and that only where it cannot be asked anything otherwise.

mod camera;
mod heater;
mod thermometer;

use crate::bench_file::BenchFile;
use crate::error::DeviceError;
use crate::open::Connections;
use crate::serial_port;
use serde::Serialize;
use std::time::Duration;

/// How long a device that tells by itself is listened to.
const LISTEN: Duration = Duration::from_secs(5);

/// Which device.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DeviceRole {
    /// What tells the temperature.
    Thermometer,
    /// What heats.
    Heater,
    /// What takes the pictures.
    Camera,
}

/// How a device did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DeviceState {
    /// It can be used.
    Usable,
    /// It can be used, but something about it wants a look.
    Doubtful,
    /// It was not tried: a person, a browser or another program is at its other end.
    NotTried,
    /// It cannot be used as it is.
    NotUsable,
}

/// What was found out about one device.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DeviceFinding {
    /// Which.
    pub device: DeviceRole,
    /// Its kind in the bench file.
    pub kind: &'static str,
    /// How it did.
    pub state: DeviceState,
    /// What was found, in words.
    pub found: String,
    /// What to do next, where something is to be done.
    pub next: Option<String>,
    /// What came over the wire: a line, or words of registers.
    pub raw: Option<String>,
    /// The temperature, or the setpoint in force [°C].
    pub temperature_c: Option<f64>,
}

impl DeviceFinding {
    fn new(
        device: DeviceRole,
        kind: &'static str,
        state: DeviceState,
        found: impl Into<String>,
    ) -> Self {
        Self {
            device,
            kind,
            state,
            found: found.into(),
            next: None,
            raw: None,
            temperature_c: None,
        }
    }

    fn next(mut self, what: impl Into<String>) -> Self {
        self.next = Some(what.into());
        self
    }

    fn raw(mut self, raw: impl Into<String>) -> Self {
        self.raw = Some(raw.into());
        self
    }

    /// Whether a run would fail for want of this device.
    pub fn is_unusable(&self) -> bool {
        self.state == DeviceState::NotUsable
    }
}

/// Try the thermometer, the heater and the camera of a bench, one after the other.
///
/// The heater is only asked (registers, a line that reads back) or told off; it is never let heat.
pub async fn check(file: &BenchFile) -> Vec<DeviceFinding> {
    // Devices on one line share it here as in a run.
    let mut connections = Connections::new();
    vec![
        thermometer::check(&file.thermometer, &mut connections).await,
        heater::check(&file.heater, &mut connections).await,
        camera::check(&file.camera).await,
    ]
}

/// A device that failed, with what to do: the ports that are there where one is missing.
fn failed(
    device: DeviceRole,
    kind: &'static str,
    port: Option<&str>,
    error: &DeviceError,
) -> DeviceFinding {
    let finding = DeviceFinding::new(device, kind, DeviceState::NotUsable, error.to_string());
    match (port, error) {
        (Some(port), DeviceError::NotThere { .. }) if !serial_port::present(port) => {
            let here = serial_port::ports_here();
            finding.next(if here.is_empty() {
                "there is no serial port here; plug the device or its adapter in".to_owned()
            } else {
                format!(
                    "serial ports that are there: {}; put the device's into the bench file",
                    here.join(", ")
                )
            })
        }
        (_, DeviceError::NotThere { hint, .. }) => finding.next(*hint),
        (Some(_), DeviceError::Silent { .. }) => finding.next(
            "see that it is switched on, and compare baud, parity, unit and what is sent with its manual; swapped wires A and B are common",
        ),
        (None, DeviceError::Silent { .. }) => {
            finding.next("see that it is switched on, and compare the unit with its manual")
        }
        (_, DeviceError::Answer { .. }) => {
            finding.next("compare registers, type, scale and patterns with its manual")
        }
        (_, DeviceError::Gone { .. }) => finding.next("look at plug and cable, then check again"),
    }
}
