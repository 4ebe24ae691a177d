//! Archives of books and samples, out and in again. The practical in them is invented.

mod altered;
mod properties;
mod round_trip;
mod sample;
mod workshop;
