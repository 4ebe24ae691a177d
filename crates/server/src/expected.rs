//! Where a sample is expected to melt, from what the book says of it.

use crate::problem::Problem;
use crate::sample_view::{counting, keeps_back};
use crate::sight::Sight;
use crate::state::AppState;
use crate::wire::{ExpectedRange, KnownRange, RangeOrigin};
use meltrange_labbook::{SampleDetail, SampleId};
use meltrange_planning::{Screening, screen, screen_hazards};

/// Ramps faster than this are taken for scouting [°C/min]. Common practice, no source: ranges are
/// taken at 1 to 2 °C/min at most.
const FASTEST_MEASURING_C_PER_MIN: f64 = 3.0;

/// The latest result, else the latest run at a measuring rate, else the latest fast ramp.
pub(crate) async fn expected(
    state: &AppState,
    sight: Sight,
    id: SampleId,
) -> Result<ExpectedRange, Problem> {
    let found = state.book().store().sample(id).await?;
    let kept_back = keeps_back(state, sight, &found.tubes).await?;
    let range = (!kept_back).then(|| known(&found)).flatten();
    if range.is_some_and(|range| range.origin != RangeOrigin::Determination) {
        // What was read is an opinion: a reading that this person makes afterwards is not blind.
        for tube in &found.tubes {
            sight.remember(state, tube.recording);
        }
    }
    Ok(ExpectedRange {
        sample: id,
        screening: screening(&found.sample.expected_substance, &found.sample.hazards),
        label: found.sample.label,
        range,
    })
}

/// What the refuse list says to what is noted of a sample.
pub(crate) fn screening(substance: &Option<String>, hazards: &Option<String>) -> Vec<Screening> {
    let noted = |text: &Option<String>| text.clone().filter(|text| !text.trim().is_empty());
    let name = noted(substance).map(|name| screen(&name));
    let hazards = noted(hazards).map(|hazards| screen_hazards(&hazards));
    name.into_iter().chain(hazards).collect()
}

fn known(found: &SampleDetail) -> Option<KnownRange> {
    let stated = found.determinations.iter().find_map(|row| {
        let result = &row.determination;
        Some(KnownRange {
            first_liquid_c: result.first_liquid?.value_c,
            last_crystal_c: result.last_crystal?.value_c,
            origin: RangeOrigin::Determination,
        })
    });
    stated
        .or_else(|| latest(found, RangeOrigin::Run))
        .or_else(|| latest(found, RangeOrigin::Scouting))
}

/// What the tubes of the latest run of this kind span.
fn latest(found: &SampleDetail, origin: RangeOrigin) -> Option<KnownRange> {
    let tubes: Vec<_> = counting(&found.tubes)
        .into_iter()
        .filter(|tube| {
            let fast = tube
                .heating_rate_c_per_min
                .is_some_and(|rate| rate > FASTEST_MEASURING_C_PER_MIN);
            fast == (origin == RangeOrigin::Scouting)
        })
        .collect();
    // Ids sort by the time they were made.
    let run = tubes.iter().map(|tube| tube.run).max()?;
    let of_run = || tubes.iter().filter(|tube| tube.run == run);
    let first_liquid_c = of_run()
        .map(|tube| tube.first_liquid.temperature_c)
        .reduce(f64::min)?;
    let last_crystal_c = of_run()
        .map(|tube| tube.last_crystal.temperature_c)
        .reduce(f64::max)?;
    Some(KnownRange {
        first_liquid_c,
        last_crystal_c: last_crystal_c.max(first_liquid_c),
        origin,
    })
}
