//! One bench: its devices, its safety rules, and the run that goes on at it.
//!
//! In: a bench file ([`BenchFile`]), a programme and what a person presses. Out: temperatures and
//! pictures with times to whoever records them ([`Recorder`]), what is going on ([`RunView`]) to
//! whoever watches. `docs/bench.md` describes bench files and what a controller must support;
//! `docs/models/bench.md` the rules.

mod bench_file;
mod camera;
mod clock;
mod device;
mod error;
mod run;

pub use bench_file::{
    BenchFile, CameraSpec, FfmpegCameraSpec, HeaterSpec, Limits, MjpegCameraSpec, PicturesAre,
    SimulatedCamera, ThermometerSpec, V4l2CameraSpec,
};
pub use camera::{
    CameraFindings, FfmpegCamera, InletError, MjpegCamera, PictureInlet, PushedCamera,
    camera_check, pushed_camera,
};
pub use clock::BenchClock;
pub use device::{
    Accepted, Camera, CameraNews, Heater, HeaterCommand, HeaterTraits, Sample, Thermometer,
    ThermometerNews,
};
pub use error::{BenchFileError, DeviceError};
pub use run::{
    ActiveFault, Advice, Coaching, Fault, Happening, Look, Mark, MarkedMoment, Phase, Press, Rate,
    RateEstimate, Run, RunEvent, RunSettings, RunView, Trigger, TubeView, coach,
};
