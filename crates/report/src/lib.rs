//! Evidence pages and reports.
