//! Metrology as its users see it: properties that must hold, determinations from readings, and readers compared.

mod determinations;
mod properties;
mod reader_comparison;
mod reader_simulation;
