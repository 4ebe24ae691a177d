//! Cameras. `docs/cameras.md` describes what each needs.

mod check;
mod device_times;
mod huffman;
mod jpeg_stream;
mod mjpeg;
mod pushed;
mod teller;
mod v4l2;

pub use check::{CameraFindings, camera_check};
pub use mjpeg::MjpegCamera;
pub use pushed::{InletError, PictureInlet, PushedCamera, pushed_camera};
pub use v4l2::FfmpegCamera;
