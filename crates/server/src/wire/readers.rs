//! Readers compared, over the wire.

use meltrange_metrology::{EndComparison, LimitsOfAgreement};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What readers are compared by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ComparedOf {
    /// Exercises, against the truth.
    Practice,
    /// The book's own recordings, against the mean of all who read them.
    Recordings,
}

/// Which end of a range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ReadEnd {
    /// First liquid.
    FirstLiquid,
    /// Last crystal.
    LastCrystal,
}

/// Readers compared.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReaderComparison {
    /// By what.
    pub of: ComparedOf,
    /// Everybody who read something.
    pub readers: Vec<ComparedReader>,
    /// At both ends.
    pub ends: Vec<ComparedEnd>,
}

/// One who is compared.
#[derive(Debug, Serialize, ToSchema)]
pub struct ComparedReader {
    /// As the comparison names them.
    pub id: String,
    /// As the book knows them.
    pub name: String,
    /// Whether it is the engine.
    pub engine: bool,
}

/// Readers compared at one end.
#[derive(Debug, Serialize, ToSchema)]
pub struct ComparedEnd {
    /// Which.
    pub end: ReadEnd,
    /// Errors [°C]; readers are named by their ids.
    #[schema(required)]
    pub comparison: Option<EndComparison>,
    /// Why there is none yet.
    #[schema(required)]
    pub missing: Option<String>,
}

/// How far two agree.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReaderAgreement {
    /// At both ends.
    pub ends: Vec<AgreementEnd>,
}

/// How far two agree at one end.
#[derive(Debug, Serialize, ToSchema)]
pub struct AgreementEnd {
    /// Which.
    pub end: ReadEnd,
    /// As read [°C].
    #[schema(required)]
    pub limits: Option<LimitsOfAgreement>,
    /// Why there are none yet.
    #[schema(required)]
    pub missing: Option<String>,
}
