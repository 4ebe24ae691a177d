//! Kinds as people read them. The machine's names stay in JSON; these are for screens and paper.

use meltrange_reading::{Outcome, QualityKind, RemarkKind};

/// What every output for people says about its temperatures.
pub const AS_LOGGED: &str = "Temperatures as logged, not corrected. No convention (thermodynamic or at rate) has been applied.";

/// What first liquid means here.
pub const FIRST_LIQUID_MEANS: &str =
    "the moment 1 % of the column, by visible area, has turned to true liquid";

/// What last crystal means here.
pub const LAST_CRYSTAL_MEANS: &str =
    "the moment less than 0.5 % of the original column area is still solid";

/// Cautions for whoever stands at the bench.
pub const CAUTIONS: [&str; 3] = [
    "The block, the lamp and the tubes stay hot long after heating ends. Thin glass breaks: wear eye protection, and put broken tubes into the container for glass.",
    "Do not heat a substance that may be energetic (azides, nitro compounds, peroxides, diazonium salts and the like) or that nobody has assessed. Watch for fumes; work in a hood where there may be any.",
    "The safety data sheet, the rules of your laboratory and the person responsible for it come before anything on this page.",
];

/// Outcome in words.
pub fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Melted => "melted",
        Outcome::PartlyMelted => "partly melted",
        Outcome::Unmelted => "unmelted",
        Outcome::Decomposed => "decomposed",
        Outcome::Empty => "empty",
    }
}

/// What must be said of the curve of a tube with this outcome.
pub fn curve_doubt(outcome: Outcome) -> Option<&'static str> {
    match outcome {
        Outcome::Decomposed => Some(
            "The content darkened: what looks like clearing here may be charring, and none of it is read as liquid.",
        ),
        _ => None,
    }
}

/// Remark kind in words.
pub fn remark(kind: RemarkKind) -> &'static str {
    match kind {
        RemarkKind::Settling => "settling",
        RemarkKind::Shrinkage => "shrinkage",
        RemarkKind::Wetting => "wetting",
        RemarkKind::Bubbles => "bubbles",
        RemarkKind::Darkening => "darkening",
        RemarkKind::Sublimate => "sublimate",
        RemarkKind::Occlusion => "view blocked",
        RemarkKind::CameraMoved => "camera moved",
        RemarkKind::ExposureChange => "exposure change",
        RemarkKind::Refocus => "refocus",
        RemarkKind::CannotTell => "cannot tell",
    }
}

/// Quality flag in words.
pub fn quality(kind: QualityKind) -> &'static str {
    match kind {
        QualityKind::HeatingTooFast => "heating too fast",
        QualityKind::StartedInsideMelting => "started inside the melting",
        QualityKind::EndedBeforeLastCrystal => "ended before the last crystal",
        QualityKind::ColumnTooTall => "column too tall",
        QualityKind::LogGap => "gap in the temperature log",
        QualityKind::VideoDamaged => "video damaged",
        QualityKind::LogRepaired => "log repaired",
        QualityKind::FramesTooFarApart => "pictures too far apart",
    }
}
