//! Rendered displays: what is read, and that nothing is misread.

#![expect(clippy::print_stdout, reason = "tables of what was measured")]

mod anything;
mod fonts;
mod limits;
mod optics;
mod scene;
mod series;
mod thousands;
mod tricky;
