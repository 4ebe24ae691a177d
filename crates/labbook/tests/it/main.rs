//! The lab book as others use it: real folders, real databases, real processes.

mod away;
mod backups;
mod cluster;
mod crash;
mod faults;
mod flips;
mod forms;
mod recordings;
mod rereading;
mod shared;
mod sign_offs;
mod store;
mod teaching;
mod thermometers;
#[cfg(unix)]
mod trouble;
mod verdicts;
mod workshop;
