//! What a solid is and how pure, from the range over which it melts: compound library, candidates, mixed melting, purity.
//! No input or output; the library is part of the program.

mod candidates;
mod least;
mod library;
mod mixture;
mod purity;
mod told;

pub use candidates::{
    Candidate, Candidates, Convention, IdentifyError, MeltingRange, NextTest, identify, rank,
};
pub use library::{
    Enthalpy, EnthalpySource, Library, LibraryError, LiteratureValue, Mark, OwnSubstance,
    PairRemark, Remark, Substance, Unknown, cas_is_valid, estimated_enthalpy,
};
pub use mixture::{
    DiagramPoint, FitError, FittedInteraction, MeltingSolid, MixedMelting, MixedMeltingError,
    MixedVerdict, Pair, PairClass, PairError, PairPoint, PairRefused, ThreeTubes, VISIBLE_FRACTION,
};
pub use purity::{
    MEANT_BELOW, MainSubstance, MeltPoint, PURE_WIDTH_C, Purity, PurityError, PurityMethod, SeenAt,
    from_clear_point, from_curve, from_width,
};
pub use told::{ToldCandidate, ToldCandidates, ToldMelting, ToldMixture, ToldSubstance};
