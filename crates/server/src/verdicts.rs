//! What can be said of a sample from its result, its mixed meltings and the library: worked out for a
//! person to confirm.

mod words;

use crate::mixed_tubes::judged;
use crate::own_library::MadeLibrary;
use crate::problem::Problem;
use crate::wire::{MixedEvidence, MixedTubesJudged, VerdictRequest};
use meltrange_identity as identity;
use meltrange_identity::{
    Candidates, MainSubstance, MeltingRange, PURE_WIDTH_C, SeenAt, Substance, from_clear_point,
    from_width, rank,
};
use meltrange_labbook::{
    self as kept, DeterminationRow, Identified, NamedSubstance, RecordingDetail, SampleDetail,
    SampleVerdict,
};
use std::collections::BTreeSet;

/// So many of the likeliest are kept.
const LIKELIEST: usize = 5;

/// What a literature value of a pure substance is off, where nothing else is said [°C]; docs/models/identity.md.
const LITERATURE_U_C: f64 = 1.5;

/// A mixed melting that was asked for, with its recording.
pub(crate) struct Evidence {
    pub asked: MixedEvidence,
    pub recording: RecordingDetail,
    /// What the book says is in the reference's tube: label, and what it is thought to be.
    pub reference: Option<(String, Option<String>)>,
}

/// Work out what is said; with the words given, or proposed ones.
pub(crate) fn worked_out(
    made: &MadeLibrary,
    sample: &SampleDetail,
    asked: &VerdictRequest,
    evidence: &[Evidence],
) -> Result<SampleVerdict, Problem> {
    let result = sample.determinations.first().ok_or_else(|| {
        Problem::field(
            "determination",
            "nothing",
            "a result of this sample: state one first",
        )
    })?;
    let named = substance(made, asked)?;
    let mut cautions = of_result(result);
    let range = range(result)?;
    let candidates = candidates(made, asked, &range, named.as_ref(), &mut cautions);
    let mixed_meltings = evidence
        .iter()
        .map(|one| mixed_melting(made, sample, one, &mut cautions))
        .collect::<Result<Vec<_>, _>>()?;
    if let Some(found) = named.as_ref().and_then(|named| in_library(made, named)) {
        // A substance is said of what was heated: what is to be minded of it is said again.
        cautions.extend(found.hazards());
    }
    let other_evidence = asked
        .other_evidence
        .clone()
        .filter(|text| !text.trim().is_empty());
    let mut said = SampleVerdict {
        sample: sample.row.id,
        determination: result.id,
        result_record: result.record,
        range_text: range_text(&result.determination),
        identity: kept::Identity {
            says: asked.says,
            substance: named,
        },
        candidates,
        mixed_meltings,
        purities: Vec::new(),
        other_evidence,
        cautions,
        words: String::new(),
    };
    let doubts = words::doubts(&said);
    said.cautions.extend(doubts);
    if matches!(asked.says, Identified::Is | Identified::ConsistentWith) {
        if words::spoken_against(&said) {
            said.cautions
                .push("no purity is told of what is spoken against".to_owned());
        } else {
            let corrected = result.determination.convention != kept::Convention::AsLogged;
            let (purities, told) = purities(made, asked, &range, &said, corrected);
            said.purities = purities;
            said.cautions.extend(told);
        }
    }
    each_once(&mut said.cautions);
    said.words = match &asked.words {
        Some(words) if !words.trim().is_empty() => words.trim().to_owned(),
        _ => words::proposed(&sample.sample.label, &said),
    };
    Ok(said)
}

/// The substance that is spoken of. One that is not of the library can be named too.
fn substance(
    made: &MadeLibrary,
    asked: &VerdictRequest,
) -> Result<Option<NamedSubstance>, Problem> {
    let given = asked.substance.as_deref().unwrap_or_default().trim();
    match (asked.says.of_a_substance(), given) {
        (false, "") => Ok(None),
        (false, found) => Err(Problem::field(
            "substance",
            format!("\"{found}\""),
            "nothing, where nothing is said of a substance",
        )),
        (true, "") => Err(Problem::field(
            "substance",
            "nothing",
            "the name or CAS number of a substance",
        )),
        (true, name) => Ok(Some(named(made, name))),
    }
}

fn named(made: &MadeLibrary, name: &str) -> NamedSubstance {
    match made.library.named(name) {
        Ok(found) => of(found),
        Err(_) => NamedSubstance {
            name: name.trim().to_owned(),
            cas: String::new(),
        },
    }
}

fn of(found: &Substance) -> NamedSubstance {
    NamedSubstance {
        name: found.name.clone(),
        cas: found.cas.clone(),
    }
}

/// The range as the result has it, with the mark that a melting point is given with.
fn range_text(said: &kept::Determination) -> String {
    let mark = match said.convention {
        kept::Convention::AsLogged => "uncorrected",
        kept::Convention::Thermodynamic
        | kept::Convention::AtRate
        | kept::Convention::NotStated => "corrected",
    };
    format!("{} ({mark})", said.range_text)
}

/// What of the result itself is to be minded.
fn of_result(result: &DeterminationRow) -> Vec<String> {
    let mut cautions = Vec::new();
    let said = &result.determination;
    if !said.agreed {
        cautions.push("the runs behind the result do not agree yet".to_owned());
    }
    if said.convention == kept::Convention::AsLogged {
        cautions.push(
            "the result is not corrected: what the thermometer is off is not in its uncertainty"
                .to_owned(),
        );
    }
    if !result.outdated.is_empty() {
        cautions
            .push("tubes of the result were decided otherwise since: work it out anew".to_owned());
    }
    cautions
}

fn range(result: &DeterminationRow) -> Result<MeltingRange, Problem> {
    let said = &result.determination;
    let (Some(first), Some(last)) = (said.first_liquid, said.last_crystal) else {
        return Err(Problem::field(
            "determination",
            format!("\"{}\", without both ends", said.range_text),
            "a result with a first liquid and a last crystal",
        ));
    };
    Ok(MeltingRange {
        first_liquid_c: first.value_c,
        last_crystal_c: last.value_c,
        standard_uncertainty_c: first
            .standard_uncertainty_c
            .max(last.standard_uncertainty_c),
        convention: match said.convention {
            kept::Convention::Thermodynamic => identity::Convention::Thermodynamic,
            kept::Convention::AtRate => identity::Convention::AtRate,
            kept::Convention::AsLogged | kept::Convention::NotStated => {
                identity::Convention::Unstated
            }
        },
    })
}

/// What the range alone says. A range that cannot be ranked leaves an empty list and a caution.
fn candidates(
    made: &MadeLibrary,
    asked: &VerdictRequest,
    range: &MeltingRange,
    named: Option<&NamedSubstance>,
    cautions: &mut Vec<String>,
) -> kept::CandidateList {
    let possible = made.library.substances().iter();
    let possible = possible.filter(|one| one.own || !asked.only_own);
    let found = match rank(&made.library, possible, range, None) {
        Ok(found) => found,
        Err(error) => {
            cautions.push(format!("no candidates: {error}"));
            return kept::CandidateList {
                among: 0,
                own_list_only: asked.only_own,
                likeliest: Vec::new(),
                credible_95: 0,
                unlisted_probability: 1.0,
            };
        }
    };
    kept::CandidateList {
        among: found.compared as u64,
        own_list_only: asked.only_own,
        likeliest: likeliest(&found, named),
        credible_95: found.credible_95 as u64,
        unlisted_probability: found.unlisted_probability.clamp(0.0, 1.0),
    }
}

/// The first few, and the one that is named wherever it stands.
fn likeliest(found: &Candidates<'_>, named: Option<&NamedSubstance>) -> Vec<kept::Candidate> {
    found
        .ranked
        .iter()
        .map(|one| kept::Candidate {
            substance: of(one.substance),
            probability: one.probability.clamp(0.0, 1.0),
        })
        .enumerate()
        .filter(|(at, one)| {
            *at < LIKELIEST || named.is_some_and(|named| words::same(&one.substance, named))
        })
        .map(|(_, one)| one)
        .collect()
}

fn mixed_melting(
    made: &MadeLibrary,
    sample: &SampleDetail,
    evidence: &Evidence,
    cautions: &mut Vec<String>,
) -> Result<kept::MixedMelting, Problem> {
    let Evidence {
        asked, recording, ..
    } = evidence;
    let place = asked.tubes.sample_place;
    let holds = |place: u8| {
        let sample = Some(sample.row.id);
        let mut load = recording.row.load.iter();
        load.any(|tube| tube.place == place && tube.sample == sample)
    };
    if !holds(place) {
        return Err(Problem::field(
            "sample_place",
            format!("place {place} of another sample"),
            format!("the place of {}", sample.sample.label),
        ));
    }
    for (field, place) in [
        ("reference_place", asked.tubes.reference_place),
        ("mixture_place", asked.tubes.mixture_place),
    ] {
        if holds(place) {
            return Err(Problem::field(
                field,
                format!("place {place}, which holds {} too", sample.sample.label),
                "the reference and the mixture in the other two places; three tubes of one sample are no mixed melting",
            ));
        }
    }
    if asked.tubes.standard_uncertainty_c.is_some() {
        return Err(Problem::field(
            "standard_uncertainty_c",
            "given",
            "nothing: what is recorded has that of the readings",
        ));
    }
    let reference = named(made, &asked.reference);
    if reference.name.is_empty() {
        return Err(Problem::field(
            "reference",
            "nothing",
            "the name of the reference",
        ));
    }
    let place = asked.tubes.reference_place;
    match &evidence.reference {
        None => cautions.push(format!(
            "the book does not say what stood in place {place}: that it was {} is taken on trust",
            reference.name
        )),
        Some((label, expected)) if !calls_it(&reference, label, expected.as_deref()) => {
            cautions.push(format!(
                "place {place} held \"{label}\", which the book does not call {}",
                reference.name
            ));
        }
        Some(_) => {}
    }
    let MixedTubesJudged {
        told,
        tubes: [sample_tube, reference_tube, mixture_tube],
        ranges_c: [sample_c, reference_c, mixture_c],
        standard_uncertainty_c,
        decided,
    } = judged(recording, asked.tubes)?;
    if !decided {
        cautions.push(format!(
            "nobody has decided on all three readings of the mixed melting with {}",
            reference.name
        ));
    }
    Ok(kept::MixedMelting {
        recording: recording.row.id,
        reference,
        sample_tube,
        reference_tube,
        mixture_tube,
        sample_c,
        reference_c,
        mixture_c,
        standard_uncertainty_c,
        verdict: match told.verdict {
            identity::MixedVerdict::Different => kept::MixedVerdict::Different,
            identity::MixedVerdict::MeltApart => kept::MixedVerdict::MeltApart,
            identity::MixedVerdict::ConsistentWithSame => kept::MixedVerdict::ConsistentWithSame,
            identity::MixedVerdict::CannotTell => kept::MixedVerdict::CannotTell,
        },
        words: told.words,
    })
}

/// Whether label or expected substance of a sample speak of this substance.
fn calls_it(reference: &NamedSubstance, label: &str, expected: Option<&str>) -> bool {
    [Some(label), expected].into_iter().flatten().any(|text| {
        let text = text.to_lowercase();
        text.contains(&reference.name.to_lowercase())
            || (!reference.cas.is_empty() && text.contains(&reference.cas))
    })
}

fn in_library<'a>(made: &'a MadeLibrary, named: &NamedSubstance) -> Option<&'a Substance> {
    let key = if named.cas.is_empty() {
        &named.name
    } else {
        &named.cas
    };
    made.library.named(key).ok()
}

fn each_once(texts: &mut Vec<String>) {
    let mut seen = BTreeSet::new();
    texts.retain(|text| seen.insert(text.clone()));
}

/// How pure, if it is this substance, and what is to be minded of that. A way that says nothing leaves a caution.
fn purities(
    made: &MadeLibrary,
    asked: &VerdictRequest,
    range: &MeltingRange,
    said: &SampleVerdict,
    corrected: bool,
) -> (Vec<kept::Purity>, Vec<String>) {
    let (mut purities, mut cautions) = (Vec::new(), Vec::new());
    let Some(named) = &said.identity.substance else {
        return (purities, cautions);
    };
    let Some(found) = in_library(made, named) else {
        cautions.push(format!(
            "{} is not in the library: no purity is told",
            named.name
        ));
        return (purities, cautions);
    };
    let last_c = range.last_crystal_c;
    let u_c = range.standard_uncertainty_c;
    let enthalpy = found.enthalpy(asked.pure_c.unwrap_or(last_c));
    let main = MainSubstance::with(&enthalpy, found.molar_mass_g_per_mol);
    let by_clear_point = match asked.pure_c {
        Some(_) if !corrected => {
            cautions.push("the result is not corrected: no purity is told by the last crystal, for what the thermometer is off would count as impurity".to_owned());
            None
        }
        Some(pure_c) => {
            let pure_u_c = asked.pure_u_c.unwrap_or(LITERATURE_U_C);
            cautions.push(format!(
                "purity by the last crystal takes the pure substance to melt at {pure_c} ± {pure_u_c} °C (standard uncertainty)"
            ));
            Some(from_clear_point(&main, last_c, pure_c, u_c.hypot(pure_u_c)))
        }
        None => None,
    };
    let range_c = [range.first_liquid_c, last_c];
    let by_width = from_width(&main, range_c, u_c, PURE_WIDTH_C, SeenAt::default());
    let ways = [
        (
            "by the last crystal",
            kept::PurityMethod::ClearPoint,
            by_clear_point,
        ),
        (
            "by the width of the range",
            kept::PurityMethod::Width,
            Some(by_width),
        ),
    ];
    for (way, method, told) in ways {
        match told {
            Some(Ok(purity)) => {
                cautions.extend(purity.cautions);
                purities.push(kept::Purity {
                    method,
                    impurity_mole_fraction: purity.impurity_mole_fraction.clamp(0.0, 1.0),
                    standard_uncertainty: purity.standard_uncertainty,
                    interval_95: purity.interval_95.map(|end| end.clamp(0.0, 1.0)),
                    pure_melting_c: purity.pure_melting_c,
                    hfus_j_per_mol: enthalpy.value,
                    hfus_source: enthalpy.source.clone(),
                });
            }
            Some(Err(error)) => cautions.push(format!("purity {way}: {error}")),
            None => {}
        }
    }
    (purities, cautions)
}
