//! What another calibration makes of the results in the book.

use super::Standings;
use crate::determining::{Asked, Corrections, Ranged, as_recorded, run_corrections, work_out};
use crate::wire::{CalibrationChanges, ChangedResult, LeftResult};
use meltrange_labbook::{
    Determination, Draft, ResultTube, ResultTubes, ResultValue, Results, RunCorrection, RunId,
    RunPlace, Thermometers,
};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Changed results that are listed.
const MOST_LISTED: usize = 200;

/// What becomes of the results in the book.
#[derive(Debug, Default)]
pub(crate) struct Recomputed {
    /// Each in place of the one before.
    pub drafts: Vec<Draft>,
    pub changes: CalibrationChanges,
}

/// Work out anew what was worked out with other corrections than `all` has in force.
///
/// Takes as long as thousands of results do: not for a thread that others wait for.
pub(crate) fn recompute(all: &Thermometers, results: Results, reason: &str) -> Recomputed {
    let corrections = Corrections::of(all);
    let mut standings = Standings::of(all);
    let Results { results, runs } = results;
    let affected: Vec<(ResultTubes, Vec<RunCorrection>)> = results
        .into_iter()
        .filter_map(|one| {
            let tubes = ranged(&one.tubes);
            let now = run_corrections(&tubes, &runs, &corrections, &mut standings);
            differs(&one.determination, &now).then_some((one, now))
        })
        .collect();
    let done: Vec<(ResultTubes, Result<Determination, String>)> = affected
        .into_par_iter()
        .map(|(one, now)| {
            let anew = anew(&one, now, &runs, &corrections);
            (one, anew)
        })
        .collect();
    let mut found = Recomputed::default();
    let mut rows = Vec::new();
    for (one, anew) in done {
        match anew {
            Ok(anew) => {
                found.changes.results += 1;
                if let Some(row) = changed(&one, &anew) {
                    rows.push(row);
                }
                found
                    .drafts
                    .push(Draft::revision(one.id, one.record, anew).because(reason));
            }
            Err(why) => found.changes.left.push(LeftResult {
                determination: one.id,
                sample: one.determination.sample,
                label: one.label,
                why,
            }),
        }
    }
    found.changes.changed = rows.len() as u64;
    rows.sort_by(|a, b| a.label.cmp(&b.label));
    rows.truncate(MOST_LISTED);
    found.changes.rows = rows;
    found.changes.left.truncate(MOST_LISTED);
    found
}

/// Whether a result was worked out with other corrections than these. One whose corrections were not
/// recorded was worked out with none.
pub(crate) fn differs(result: &Determination, now: &[RunCorrection]) -> bool {
    let before = result
        .basis
        .as_deref()
        .map_or(&[][..], |basis| &basis.corrections);
    now.iter().any(|one| {
        let then = before.iter().find(|then| then.run == one.run);
        then.and_then(|then| then.calibration) != one.calibration
    })
}

/// Tubes as they hold now; those without a range are turned away before it matters.
fn ranged(tubes: &[ResultTube]) -> Vec<Ranged> {
    let nothing = meltrange_labbook::Moment {
        time_s: 0.0,
        temperature_c: 0.0,
        standard_uncertainty_c: 0.0,
    };
    tubes
        .iter()
        .map(|tube| Ranged {
            run: tube.run,
            tube: tube.tube,
            first_liquid: tube.counts.first_liquid.unwrap_or(nothing),
            last_crystal: tube.counts.last_crystal.unwrap_or(nothing),
            heating_rate_c_per_min: tube.heating_rate_c_per_min,
            decided: true,
        })
        .collect()
}

/// The result as it comes out now, or why it does not.
fn anew(
    one: &ResultTubes,
    now: Vec<RunCorrection>,
    runs: &BTreeMap<RunId, RunPlace>,
    corrections: &Corrections<'_>,
) -> Result<Determination, String> {
    let whole = one.tubes.len() == one.determination.from.len()
        && one
            .tubes
            .iter()
            .all(|tube| tube.counts.first_liquid.is_some() && tube.counts.last_crystal.is_some());
    if !whole {
        return Err(
            "a tube that it stands on has no longer both a first liquid and a last crystal; state it anew"
                .to_owned(),
        );
    }
    let tubes = ranged(&one.tubes);
    let mut asked = Asked::as_before(&one.determination);
    // A calibration contains the error of the emergent column, so that is not taken off as well; it
    // is kept for the day on which the calibration is withdrawn.
    asked.stem_contained = now.iter().any(|run| run.calibration.is_some());
    let found = work_out(&tubes, runs, corrections, asked)?;
    let from = one.determination.from.clone();
    Ok(as_recorded(one.determination.sample, from, found, now))
}

/// A result that is written otherwise than before.
fn changed(one: &ResultTubes, anew: &Determination) -> Option<ChangedResult> {
    let before = &one.determination;
    if before.range_text == anew.range_text && before.convention == anew.convention {
        return None;
    }
    let by = |before: Option<ResultValue>, anew: Option<ResultValue>| {
        Some(anew?.value_c - before?.value_c)
    };
    Some(ChangedResult {
        determination: one.id,
        sample: before.sample,
        label: one.label.clone(),
        before: before.range_text.clone(),
        after: anew.range_text.clone(),
        first_liquid_by_c: by(before.first_liquid, anew.first_liquid),
        last_crystal_by_c: by(before.last_crystal, anew.last_crystal),
    })
}
