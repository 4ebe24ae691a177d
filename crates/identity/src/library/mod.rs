//! The compound library: what is known of each substance, and how it is found.

mod find;
mod own;
mod record;
mod tables;

pub use find::Unknown;
pub use own::OwnSubstance;
pub use record::{
    Enthalpy, EnthalpySource, LiteratureValue, Mark, PairRemark, Remark, Substance, cas_is_valid,
    estimated_enthalpy,
};
pub use tables::{Library, LibraryError};
