//! From a bench file to devices.

use crate::bench_file::{BenchFile, CameraSpec, HeaterSpec, ThermometerSpec};
use crate::camera::{FfmpegCamera, MjpegCamera, PictureInlet, pushed_camera};
use crate::clock::BenchClock;
use crate::device::{Camera, Heater, Thermometer};
use crate::error::DeviceError;
use crate::open::{Connections, open_heater, open_thermometer};
use crate::simulated::{
    SimulatedBench, SimulatedCameraDevice, SimulatedHeater, SimulatedThermometerDevice,
};
use crate::thermometer::KeyedInlet;

/// The devices of one bench.
pub(crate) struct Rig {
    pub thermometer: Box<dyn Thermometer>,
    pub heater: Box<dyn Heater>,
    pub camera: Box<dyn Camera>,
    /// Where pictures are brought, when a browser is the camera.
    pub pictures: Option<PictureInlet>,
    /// Where temperatures are keyed in or sent, when there is no wire.
    pub temperatures: Option<KeyedInlet>,
    /// The simulated bench, when it is one.
    pub simulated: Option<SimulatedBench>,
}

impl Rig {
    pub fn of(file: &BenchFile, clock: BenchClock) -> Result<Self, DeviceError> {
        let simulated = simulated(file, clock)?;
        let on_it = || {
            simulated.clone().ok_or_else(|| DeviceError::NotThere {
                device: "the simulated bench".into(),
                found: "a part of one without the others".into(),
                hint: "give thermometer and heater both kind = \"simulated\"",
            })
        };
        let mut connections = Connections::new();
        let (thermometer, temperatures): (Box<dyn Thermometer>, _) = match &file.thermometer {
            ThermometerSpec::Simulated(spec) => {
                let device = SimulatedThermometerDevice {
                    bench: on_it()?,
                    spec: *spec,
                };
                (Box::new(device), None)
            }
            spec => {
                let opened = open_thermometer(spec, &mut connections)?;
                (opened.thermometer, opened.inlet)
            }
        };
        let heater: Box<dyn Heater> = match &file.heater {
            HeaterSpec::Simulated => Box::new(SimulatedHeater { bench: on_it()? }),
            spec => open_heater(spec, &mut connections)?,
        };
        let mut pictures = None;
        let camera: Box<dyn Camera> = match &file.camera {
            CameraSpec::Simulated(spec) => Box::new(SimulatedCameraDevice {
                bench: on_it()?,
                frames_per_s: spec.frames_per_s,
            }),
            spec => match open_camera(spec)? {
                Some(camera) => camera,
                None => {
                    let (camera, inlet) = pushed_camera();
                    pictures = Some(inlet);
                    Box::new(camera)
                }
            },
        };
        Ok(Self {
            thermometer,
            heater,
            camera,
            pictures,
            temperatures,
            simulated,
        })
    }
}

/// A camera that this program reaches for by itself; none for a browser's or a simulated one.
pub(crate) fn open_camera(spec: &CameraSpec) -> Result<Option<Box<dyn Camera>>, DeviceError> {
    Ok(match spec {
        CameraSpec::Mjpeg(spec) => Some(Box::new(MjpegCamera::new(spec).map_err(unusable)?)),
        CameraSpec::V4l2(spec) => Some(Box::new(FfmpegCamera::from(spec))),
        CameraSpec::Ffmpeg(spec) => Some(Box::new(FfmpegCamera::from(spec))),
        CameraSpec::Browser | CameraSpec::Simulated(_) => None,
    })
}

fn simulated(file: &BenchFile, clock: BenchClock) -> Result<Option<SimulatedBench>, DeviceError> {
    if !matches!(file.heater, HeaterSpec::Simulated) {
        return Ok(None);
    }
    let scene = match &file.camera {
        CameraSpec::Simulated(spec) => spec.scene.clone(),
        _ => meltrange_scene::Scene::default(),
    };
    SimulatedBench::new(
        clock,
        file.room_c,
        file.heat_rate_c_per_min,
        file.cool_time_constant_min,
        scene,
    )
    .map(Some)
    .map_err(|error| DeviceError::NotThere {
        device: "the simulated bench".into(),
        found: error.to_string(),
        hint: "correct the scene in the bench file",
    })
}

fn unusable(found: String) -> DeviceError {
    DeviceError::NotThere {
        device: "the camera".into(),
        found,
        hint: "correct the camera in the bench file",
    }
}
