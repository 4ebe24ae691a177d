//! What a solid is and how pure: `identify`, `mixture`, `mixed-melting`, `purity` and `library`.

mod identify;
mod library;
mod mixture;
mod purity;

pub(crate) use identify::run as identify;
pub(crate) use library::run as library;
pub(crate) use mixture::{judge as mixed_melting, run as mixture};
pub(crate) use purity::run as purity;

use crate::failure::Failure;
use meltrange_identity::{OwnSubstance, Unknown};
use meltrange_server::read_own;
use std::path::Path;

/// A person's own list.
fn own_list(path: &Path) -> Result<Vec<OwnSubstance>, Failure> {
    let name = path.display();
    let bytes = std::fs::read(path)
        .map_err(|error| Failure::new(format!("{name} could not be read: {error}")))?;
    let text = String::from_utf8(bytes).map_err(|_| {
        Failure::new(format!(
            "{name} is not plain text in UTF-8; save it as CSV, UTF-8"
        ))
    })?;
    read_own(&text).map_err(|error| Failure::new(format!("{name}: {error}")))
}

fn unknown(error: &Unknown) -> Failure {
    Failure::of(error)
        .hint("\"meltrange library find TEXT\" searches names, synonyms, CAS numbers and formulae")
}
