//! The simulated bench view: a scene file to pictures with known truth.
//!
//! In goes a [`Scene`] (TOML); a [`Film`] made of it gives pictures one by one, the temperature
//! log, and the [`Truth`] measured on what was drawn. No files, no clock; the seed fixes everything.
//! A [`Stage`] is the same for a block that is steered while it runs.
//!
//! ```
//! use meltrange_scene::{Film, Scene};
//! let scene = Scene::from_toml("[picture]\nwidth = 160\nheight = 120\n[[tube]]\nmelts_at_c = 122.4\n")?;
//! let film = Film::new(scene)?;
//! assert_eq!(film.picture(0).luma.len(), 160 * 120);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod backdrop;
mod bed;
mod camera;
mod camera_spec;
mod canvas;
mod check;
mod course;
mod film;
mod grains;
mod heating;
mod meter;
mod overlay;
mod random;
mod spec;
mod stage;
mod suite;
mod timeline;
mod trouble;
mod truth;
mod tube;
mod tube_spec;
mod view;

pub use camera_spec::{CameraSpec, ExposureStep, Occlusion, OcclusionKind, Refocus};
pub use check::SceneError;
pub use film::Film;
pub use heating::{LogLine, log_csv};
pub use spec::{
    Backdrop, Container, Light, LogSpec, OutputSpec, PictureSpec, ProgrammeSpec, Scene, Span,
    TimingSpec,
};
pub use stage::{Stage, TubeNow};
pub use suite::suite;
pub use truth::{
    Event, FIRST_LIQUID_FRACTION, LAST_CRYSTAL_FRACTION, TrueMoment, Truth, TubeTruth, media_name,
};
pub use tube_spec::{Charring, Content, Onset, Remnants, Settling, Shrinkage, Side, TubeSpec};
pub use view::Picture;
