//! What follows from a result: thermometers, the requirement, and the verdict with its grounds.

use crate::sample_view::Known;
use crate::thermometers::Standings;
use meltrange_identity::Library;
use meltrange_labbook::{self as kept, SampleDetail, VerdictRow};
use meltrange_metrology as metrology;
use meltrange_report::model::{
    Candidate, Candidates, Convention, Decision, MixedMelting, MixedOutcome, Purity, Specification,
    Thermometer, ThermometerState,
};

/// Of each bench and thermometer that the runs had, as it stood on their days; each once.
pub(super) fn thermometers(
    found: &SampleDetail,
    known: &Known,
    standings: &mut Standings<'_>,
) -> Vec<Thermometer> {
    let mut told: Vec<Thermometer> = Vec::new();
    for tube in &found.tubes {
        let Some(place) = known.runs.get(&tube.run).copied() else {
            continue;
        };
        let Some(bench) = place.bench.and_then(|id| known.thermometers.bench(id)) else {
            continue;
        };
        let Some(standing) = standings.of_run(place) else {
            continue;
        };
        let calibration = known.thermometers.in_force_for(place);
        let thermometer = Thermometer {
            name: bench
                .thermometer_at(place.begun)
                .unwrap_or(&bench.row.bench.name)
                .to_owned(),
            bench: Some(bench.row.bench.name.clone()),
            state: state(standing.state),
            state_because: standing.reasons.clone(),
            calibrated_from: calibration.map(|row| row.calibration.in_force_from),
            last_check: standing.last_check,
            next_check: standing.due_on,
            convention: calibration.map(|row| convention(row.calibration.curve.convention)),
            standards: calibration.map_or_else(Vec::new, |row| {
                let points = row.calibration.points.iter();
                points
                    .filter(|point| point.used)
                    .map(|point| point.substance.clone())
                    .collect()
            }),
            record: calibration.map(|row| row.record.to_string()),
        };
        if !told.contains(&thermometer) {
            told.push(thermometer);
        }
    }
    told
}

fn state(found: kept::ThermometerState) -> ThermometerState {
    match found {
        kept::ThermometerState::NeverChecked => ThermometerState::NeverChecked,
        kept::ThermometerState::InOrder => ThermometerState::InOrder,
        kept::ThermometerState::Due => ThermometerState::Due,
        kept::ThermometerState::Overdue => ThermometerState::Overdue,
        kept::ThermometerState::OutOfControl => ThermometerState::OutOfControl,
    }
}

fn convention(found: metrology::Convention) -> Convention {
    match found {
        metrology::Convention::Thermodynamic => Convention::Thermodynamic,
        metrology::Convention::AtRate { rate_c_per_min } => Convention::AtRate { rate_c_per_min },
        metrology::Convention::NotStated => Convention::NotStated,
    }
}

pub(super) fn specification(found: kept::Required) -> Specification {
    Specification {
        source: None,
        from_c: found.from_c,
        to_c: found.to_c,
        guard: found.guard,
        guard_lower_c: found.guard_lower_c,
        guard_upper_c: found.guard_upper_c,
        decision: match found.decision {
            metrology::Decision::Meets => Decision::Meets,
            metrology::Decision::DoesNotMeet => Decision::DoesNotMeet,
            metrology::Decision::CannotBeDecided => Decision::CannotBeDecided,
        },
        probability_lower: Some(found.probability_lower),
        probability_upper: Some(found.probability_upper),
    }
}

/// The candidates of a verdict with a literature value; none where none was ranked.
pub(super) fn candidates(row: &VerdictRow) -> Option<Candidates> {
    let said = &row.verdict.candidates;
    if said.among == 0 {
        return None;
    }
    let library = Library::shipped();
    let shown: Vec<Candidate> = said
        .likeliest
        .iter()
        .filter_map(|one| {
            let key = if one.substance.cas.is_empty() {
                &one.substance.name
            } else {
                &one.substance.cas
            };
            Some(Candidate {
                name: one.substance.name.clone(),
                from_c: library.named(key).ok()?.likely_c()?,
                to_c: None,
                probability: one.probability,
            })
        })
        .collect();
    let told: f64 = shown.iter().map(|one| one.probability).sum();
    let list = if said.own_list_only {
        "own list".to_owned()
    } else {
        format!("compound library, {} substances", said.among)
    };
    Some(Candidates {
        list,
        others: (1.0 - told - said.unlisted_probability).max(0.0),
        others_count: u32::try_from(said.among.saturating_sub(shown.len() as u64))
            .unwrap_or(u32::MAX),
        shown,
        not_in_list: said.unlisted_probability,
    })
}

pub(super) fn mixed_meltings(row: &VerdictRow) -> Vec<MixedMelting> {
    row.verdict
        .mixed_meltings
        .iter()
        .map(|mixed| {
            let alone_c = mixed.sample_c[1].min(mixed.reference_c[1]);
            MixedMelting {
                reference: mixed.reference.name.clone(),
                reference_mass_fraction: None,
                first_liquid_c: Some(mixed.mixture_c[0]),
                last_crystal_c: Some(mixed.mixture_c[1]),
                depression_c: Some(alone_c - mixed.mixture_c[1]),
                depression_uncertainty_c: Some(mixed.standard_uncertainty_c),
                outcome: match mixed.verdict {
                    kept::MixedVerdict::ConsistentWithSame => MixedOutcome::Same,
                    kept::MixedVerdict::Different => MixedOutcome::Different,
                    kept::MixedVerdict::MeltApart | kept::MixedVerdict::CannotTell => {
                        MixedOutcome::CannotTell
                    }
                },
                remarks: Some(mixed.words.clone()),
            }
        })
        .collect()
}

/// By the last crystal where it was told so, else by the width.
pub(super) fn purity(row: &VerdictRow) -> Option<Purity> {
    let found = row.verdict.purities.first()?;
    let way = match found.method {
        kept::PurityMethod::ClearPoint => "by how low the last crystal is",
        kept::PurityMethod::Width => "by the width of the range",
    };
    let [least, most] = found.interval_95.map(|end| 100.0 * end);
    Some(Purity {
        mole_fraction: Some(1.0 - found.impurity_mole_fraction),
        standard_uncertainty: Some(found.standard_uncertainty),
        method: Some(format!(
            "{way}, enthalpy of fusion {:.1} kJ/mol ({})",
            found.hfus_j_per_mol / 1000.0,
            found.hfus_source
        )),
        limits: vec![format!(
            "{least:.2} to {most:.2} mol % is something else, with 95 %"
        )],
    })
}
