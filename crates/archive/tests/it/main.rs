//! Archives of books and samples, out and in again. The practical in them is invented.

mod altered;
mod calendars;
mod film;
mod properties;
mod round_trip;
mod sample;
mod tables;
mod workshop;
