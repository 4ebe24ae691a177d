//! What a bench asks of its devices.
//!
//! A thermometer and a camera are given a channel and tell what they see until nobody listens any
//! more. They look after themselves: unplugged, they say so once ([`ThermometerNews::Lost`]) and keep
//! trying until they can say [`ThermometerNews::Found`]. No protocol is known above a driver, no
//! plan and no safety rule within one.

use crate::clock::BenchClock;
use crate::error::DeviceError;
use async_trait::async_trait;
use std::sync::Arc;
use tokio::sync::mpsc::Sender;

/// A temperature with its time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// When it was taken, as near as can be told, bench clock [s].
    pub time_s: f64,
    /// As indicated, uncorrected [°C]; finite.
    pub temperature_c: f64,
}

/// What a thermometer tells.
#[derive(Debug, Clone, PartialEq)]
pub enum ThermometerNews {
    /// A temperature.
    Sample(Sample),
    /// It answered, but with nothing that can be taken for a temperature.
    Unreadable {
        /// Bench clock [s].
        time_s: f64,
        /// What was found and what was expected.
        why: String,
    },
    /// It cannot be reached. Told once; the driver keeps trying.
    Lost {
        /// Bench clock [s].
        time_s: f64,
        /// What the system said.
        why: String,
    },
    /// It can be reached again.
    Found {
        /// Bench clock [s].
        time_s: f64,
    },
}

/// Something that tells temperatures.
#[async_trait]
pub trait Thermometer: Send {
    /// Tell temperatures until nobody listens; times by `clock`, rising.
    async fn tell(self: Box<Self>, clock: BenchClock, to: Sender<ThermometerNews>);
}

/// A picture with its time, or what became of the camera.
#[derive(Debug, Clone)]
pub enum CameraNews {
    /// A picture.
    Picture {
        /// When it was captured, as near as can be told, bench clock [s].
        time_s: f64,
        /// JPEG, as captured.
        jpeg: Arc<[u8]>,
    },
    /// No pictures come. Told once; the driver keeps trying.
    Lost {
        /// Bench clock [s].
        time_s: f64,
        /// What the system said.
        why: String,
    },
    /// Pictures come again.
    Found {
        /// Bench clock [s].
        time_s: f64,
    },
    /// A doubt about times or pictures that belongs beside the recording.
    Doubt {
        /// Bench clock [s].
        time_s: f64,
        /// In words.
        what: String,
    },
}

/// Something that takes pictures.
#[async_trait]
pub trait Camera: Send {
    /// Tell pictures until nobody listens; times by `clock`, rising.
    async fn show(self: Box<Self>, clock: BenchClock, to: Sender<CameraNews>);
}

/// What a heater is asked for. It is asked anew every second: a controller that is not asked for
/// longer than its dead-man time has to fall back to off by itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HeaterCommand {
    /// No heating; the fan, where there is one, as said.
    Off {
        /// Whether to blow.
        fan: bool,
    },
    /// Bring the block to a temperature and keep it there.
    Setpoint {
        /// Where it should be now [°C].
        setpoint_c: f64,
        /// How fast the setpoint moves [°C/min]; 0 while it stays. For controllers that ramp
        /// by themselves; the others follow the setpoint as it moves.
        rate_c_per_min: f64,
    },
}

/// What a heater took over of a command; devices round and limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accepted {
    /// The setpoint in force [°C]; none when off.
    pub setpoint_c: Option<f64>,
}

/// What a heater can do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeaterTraits {
    /// Whether a person turns it: commands then are advice.
    pub by_hand: bool,
    /// Falls back to off by itself when it is not asked for this long [s]; none if it does not.
    pub dead_man_s: Option<f64>,
}

/// Something that heats.
#[async_trait]
pub trait Heater: Send {
    /// What it can do.
    fn traits(&self) -> HeaterTraits;

    /// Ask for something; within a second or an error. Reconnects by itself when it was lost.
    ///
    /// # Errors
    /// [`DeviceError`] when it cannot be reached, or answers otherwise than expected.
    async fn command(&mut self, command: HeaterCommand) -> Result<Accepted, DeviceError>;
}
