//! Cameras against real peers: an HTTP server on loopback, and ffmpeg reading a film at its own pace.

mod ffmpeg;
mod film;
mod mjpeg;
