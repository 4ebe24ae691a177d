//! The lab book as others use it: real folders, real databases, real processes.

mod store;
mod workshop;
