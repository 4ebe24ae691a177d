//! Real ffmpeg, real files: tiny clips are made on the spot.

mod bad_videos;
mod clips;
mod logs;
mod parsers;
mod picture_folders;
mod recordings;
mod sizes;
mod times;
