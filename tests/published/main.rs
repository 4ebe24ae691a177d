//! Physics and metrology against values that did not come from this project.
//!
//! Marks: V read in the source or an official record of it; C recomputed independently; V2 quoted
//! by a third party; M from memory, never the only ground of a failure.

mod control_charts;
mod digits;
mod eutectic;
mod fluorene;
mod freezing_point;
mod gum;
mod gum_supplement;
mod heating_rate;
mod nist_strd;
mod stem;
mod zero_rate;

use serde::de::DeserializeOwned;

/// The rows of a table whose comment lines begin with `#`.
fn rows<Row: DeserializeOwned>(table: &str) -> Result<Vec<Row>, csv::Error> {
    csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(table.as_bytes())
        .deserialize()
        .collect()
}
