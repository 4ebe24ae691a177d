//! Real ffmpeg, real files: tiny clips are made on the spot.

mod clips;
mod recordings;
mod times;
