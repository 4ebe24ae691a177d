//! Which verdicts on samples can be kept.

use super::check::{LONGEST_LIST, finite, place, too_long};
use super::{Candidate, Identity, Kind, MixedMelting, NamedSubstance, Purity, SampleVerdict};
use crate::error::BookError;
use crate::ids::SubjectId;
use crate::text;

pub(super) fn verdict(said: &SampleVerdict) -> Result<(), BookError> {
    text::name("verdict.range_text", &said.range_text)?;
    identity(&said.identity)?;
    let candidates = &said.candidates;
    let longest = [
        candidates.likeliest.len(),
        said.mixed_meltings.len(),
        said.purities.len(),
        said.cautions.len(),
    ];
    if longest.into_iter().any(|length| length > LONGEST_LIST) {
        return Err(too_long("verdict"));
    }
    fraction(
        "verdict.unlisted_probability",
        candidates.unlisted_probability,
    )?;
    candidates.likeliest.iter().try_for_each(candidate)?;
    said.mixed_meltings.iter().try_for_each(mixed_melting)?;
    said.purities.iter().try_for_each(purity)?;
    text::optional("verdict.other_evidence", said.other_evidence.as_deref())?;
    said.cautions
        .iter()
        .try_for_each(|caution| text::long("verdict.cautions", caution))?;
    text::long("verdict.words", &said.words)?;
    if said.words.trim().is_empty() {
        return Err(BookError::Field {
            field: "verdict.words",
            found: "nothing".into(),
            expected: "what is said of the sample, in words",
        });
    }
    Ok(())
}

fn identity(said: &Identity) -> Result<(), BookError> {
    if let Some(named) = &said.substance {
        substance(named)?;
    }
    if said.says.of_a_substance() != said.substance.is_some() {
        return Err(BookError::Field {
            field: "verdict.identity",
            found: format!("{:?} of {:?}", said.says, said.substance),
            expected: "a substance where something is said of one, and none where nothing is",
        });
    }
    Ok(())
}

fn substance(named: &NamedSubstance) -> Result<(), BookError> {
    text::long("verdict.substance", &named.name)?;
    text::long("verdict.cas", &named.cas)
}

fn candidate(found: &Candidate) -> Result<(), BookError> {
    substance(&found.substance)?;
    fraction("verdict.probability", found.probability)
}

fn mixed_melting(found: &MixedMelting) -> Result<(), BookError> {
    substance(&found.reference)?;
    for tube in [
        &found.sample_tube,
        &found.reference_tube,
        &found.mixture_tube,
    ] {
        place("verdict.place", tube.place)?;
    }
    let ends = [found.sample_c, found.reference_c, found.mixture_c];
    ends.into_iter()
        .flatten()
        .try_for_each(|end_c| finite("verdict.mixed_melting", end_c))?;
    not_negative(
        "verdict.standard_uncertainty_c",
        found.standard_uncertainty_c,
    )?;
    text::long("verdict.words", &found.words)
}

fn purity(found: &Purity) -> Result<(), BookError> {
    fraction("verdict.impurity", found.impurity_mole_fraction)?;
    found
        .interval_95
        .into_iter()
        .try_for_each(|end| fraction("verdict.interval_95", end))?;
    let [least, most] = found.interval_95;
    if least > most {
        return Err(BookError::Field {
            field: "verdict.interval_95",
            found: format!("{least} to {most}"),
            expected: "the lower end first",
        });
    }
    not_negative("verdict.standard_uncertainty", found.standard_uncertainty)?;
    not_negative("verdict.hfus_j_per_mol", found.hfus_j_per_mol)?;
    finite("verdict.pure_melting_c", found.pure_melting_c)?;
    text::long("verdict.hfus_source", &found.hfus_source)
}

fn not_negative(field: &'static str, found: f64) -> Result<(), BookError> {
    finite(field, found)?;
    if found >= 0.0 {
        return Ok(());
    }
    Err(BookError::Field {
        field,
        found: found.to_string(),
        expected: "0 or more",
    })
}

fn fraction(field: &'static str, found: f64) -> Result<(), BookError> {
    if (0.0..=1.0).contains(&found) {
        return Ok(());
    }
    Err(BookError::Field {
        field,
        found: found.to_string(),
        expected: "0 to 1",
    })
}

/// What a verdict speaks of.
pub(super) fn references(said: &SampleVerdict) -> Vec<(Kind, SubjectId)> {
    let mut all = vec![
        (Kind::Sample, said.sample.into()),
        (Kind::Determination, said.determination.into()),
    ];
    for mixed in &said.mixed_meltings {
        all.push((Kind::Recording, mixed.recording.into()));
        for tube in [
            &mixed.sample_tube,
            &mixed.reference_tube,
            &mixed.mixture_tube,
        ] {
            all.push((Kind::Reading, tube.reading.into()));
        }
    }
    all
}
