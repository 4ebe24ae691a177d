//! Marks of a seat: suggested by the rubric, or set by the instructor.

use super::standing::{Seat, Standing};
use meltrange_teaching::{RunShown, SeatMark, Work, suggest};

/// What a seat's runs showed.
pub(super) fn runs(seat: &Seat) -> Vec<RunShown> {
    seat.runs
        .iter()
        .map(|run| RunShown {
            run: run.run,
            first_liquid_c: run.first_liquid_c,
            last_crystal_c: run.last_crystal_c,
            heating_rate_c_per_min: run.heating_rate_c_per_min,
            fresh_tube: run.fresh_tube,
            noted: !run.note.trim().is_empty(),
        })
        .collect()
}

/// Marks of a seat that somebody sat at.
pub(super) fn mark(standing: &Standing, seat: &Seat) -> Option<SeatMark> {
    if !seat.is_taken() {
        return None;
    }
    let unknown = standing.set_up.unknowns.get(seat.unknown as usize)?;
    let runs = runs(seat);
    let work = Work {
        true_range_c: [unknown.first_liquid_c, unknown.last_crystal_c],
        true_name: &unknown.name,
        identified: seat.identified.as_ref().map(|(name, _)| name.as_str()),
        runs: &runs,
        noted: !seat.notes.is_empty(),
    };
    let suggested = suggest(&standing.set_up.rubric, &work);
    let Some(([identity, range, agreement, care], why)) = &seat.marked else {
        return Some(suggested);
    };
    let mut reasons = vec![format!("set by the instructor: {why}")];
    reasons.extend(suggested.reasons);
    Some(SeatMark {
        identity: *identity,
        range: *range,
        agreement: *agreement,
        care: *care,
        total: identity + range + agreement + care,
        of: suggested.of,
        reasons,
        overridden: true,
    })
}
