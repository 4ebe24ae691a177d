//! Whether the runs of a sample agree, in short, for its page.

use crate::determining::{Asked, Corrections, Ranged, work_out};
use crate::wire::{Agreement, AgreementRun, TubeRef};
use meltrange_labbook::{RunId, RunPlace};
use meltrange_metrology::AGREE_WITHIN_C;
use std::collections::BTreeMap;

/// Runs that must agree, at least. Common practice, no source.
const RUNS: u32 = 2;

/// Runs looked at: the newest. More say nothing that these do not.
const MOST_RUNS: usize = 50;

/// Whether the runs that these tubes belong to agree, each with the correction in force on its day.
pub(crate) fn agreement(
    tubes: &[Ranged],
    runs: &BTreeMap<RunId, RunPlace>,
    corrections: &Corrections<'_>,
) -> Agreement {
    let mut newest: Vec<RunId> = tubes.iter().map(|tube| tube.run).collect();
    // Ids sort by the time they were made.
    newest.sort_unstable();
    newest.dedup();
    let newest = newest.split_off(newest.len().saturating_sub(MOST_RUNS));
    let tubes: Vec<Ranged> = tubes
        .iter()
        .filter(|tube| newest.contains(&tube.run))
        .copied()
        .collect();
    let nothing = Agreement {
        agreed: false,
        within_c: AGREE_WITHIN_C,
        runs: Vec::new(),
        spread_c: None,
        further_runs_needed: RUNS,
        from: Vec::new(),
        range_text: None,
        refused: None,
    };
    if tubes.is_empty() {
        return nothing;
    }
    let asked = Asked {
        agree_within_c: AGREE_WITHIN_C,
        required: None,
        stem: None,
        stem_contained: false,
        drawn: false,
    };
    let result = match work_out(&tubes, runs, corrections, asked) {
        Ok(found) => found.result,
        Err(why) => {
            return Agreement {
                refused: Some(why),
                ..nothing
            };
        }
    };
    let of_run = |name: &str| {
        let run = name.parse::<RunId>().ok()?;
        Some((run, tubes.iter().filter(move |tube| tube.run == run)))
    };
    Agreement {
        agreed: result.agreed,
        spread_c: (result.runs_used.len() > 1).then_some(result.spread_c),
        further_runs_needed: u32::try_from(result.further_runs_needed).unwrap_or(u32::MAX),
        from: if result.agreed {
            result
                .runs_used
                .iter()
                .filter_map(|name| of_run(name))
                .flat_map(|(_, tubes)| tubes)
                .map(|tube| TubeRef {
                    reading: tube.tube.reading,
                    place: tube.tube.place,
                })
                .collect()
        } else {
            Vec::new()
        },
        range_text: result.agreed.then(|| result.range_text.clone()),
        runs: result
            .runs
            .iter()
            .filter_map(|found| {
                let (run, tubes) = of_run(&found.run)?;
                Some(AgreementRun {
                    run,
                    first_liquid_c: found.first_liquid_c,
                    last_crystal_c: found.last_crystal_c,
                    tubes: found.tubes as u32,
                    agrees: result.agreed && found.used,
                    decided: tubes.clone().all(|tube| tube.decided),
                })
            })
            .collect(),
        ..nothing
    }
}
