//! People.

use serde::{Deserialize, Serialize};

/// Somebody who measures, reads or decides.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Person {
    /// As others know them; unique in the book.
    pub name: String,
    /// What they may do.
    pub role: Role,
}

/// What a person may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Answers for the bench and for what others did there.
    Supervisor,
    /// Measures and decides.
    Analyst,
    /// Measures and reads; sees the engine's opinion after their own.
    Student,
    /// Looks.
    Viewer,
}
