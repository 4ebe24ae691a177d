//! The program as a process: JSON shape, exit status, messages, nothing half-written.
//!
//! Recordings are simulated or made by ffmpeg on the spot.

mod archive;
mod bad_input;
mod bench;
mod bench_learn;
mod calibrate;
mod determine;
mod display;
mod drift;
mod good_input;
mod identity;
mod lab_book;
mod out_folder;
mod person;
mod plan;
mod properties;
mod record;
mod report;
mod serve;
mod session;
mod usage;
mod workshop;
