//! The meltrange program.
fn main() {}
