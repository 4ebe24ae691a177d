//! What could it be: every substance of the library with its probability, and what to do next.

mod literature;
mod next_test;
mod posterior;

pub use next_test::NextTest;
pub use posterior::{
    Candidate, Candidates, Convention, IdentifyError, MeltingRange, identify, rank,
};
