//! Cameras.

mod pushed;

pub use pushed::{InletError, PictureInlet, PushedCamera, pushed_camera};
