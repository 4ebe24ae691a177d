//! Metrology as its users see it: properties that must hold, and determinations from readings.

mod determinations;
mod properties;
