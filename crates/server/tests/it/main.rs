//! The router against a real book in a temporary folder, with real ffmpeg and a small recording.

mod description;
mod doors;
mod events;
mod live;
mod pages;
mod readings;
mod recordings;
mod samples;
mod uploads;
mod workshop;
