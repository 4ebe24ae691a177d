//! The router against a real book in a temporary folder, with real ffmpeg and a small recording.

mod camera;
mod camera_page;
mod description;
mod doors;
mod events;
mod live;
mod pages;
mod phones;
mod readings;
mod recordings;
mod samples;
mod uploads;
mod workshop;
