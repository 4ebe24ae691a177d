//! The router against a real book in a temporary folder, with real ffmpeg and a small recording.

mod archives;
mod bench_work;
mod calibrations;
mod camera;
mod camera_page;
mod description;
mod determinations;
mod doors;
mod events;
mod identity;
mod learning;
mod live;
mod pages;
mod past_results;
mod phones;
mod programmes;
mod readings;
mod recordings;
mod reports;
mod samples;
mod sessions;
mod thermometers;
mod uploads;
mod verdicts;
mod workshop;
