//! Videos through ffmpeg.

mod decoder;
mod luma;
mod probe;
mod said;
mod source;
mod turn;

pub use source::{ColourPicture, VideoSource};
