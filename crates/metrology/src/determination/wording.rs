//! A range as it is written into a notebook.

use crate::determination::result::{EndResult, StatedFrom};
use crate::temperature::Convention;

/// Common practice writes tenths at most.
const MOST_DECIMALS: i32 = 1;

/// Range with its unit, e.g. `121.6–122.4 °C`: decimals down to the first digit that the standard
/// uncertainty touches, never finer than tenths.
pub fn range_text(first_c: f64, last_c: f64, standard_uncertainty_c: f64) -> String {
    let decimals = decimals(standard_uncertainty_c);
    format!(
        "{}–{} °C",
        fixed(first_c, decimals),
        fixed(last_c, decimals)
    )
}

fn decimals(standard_uncertainty_c: f64) -> usize {
    if standard_uncertainty_c.is_nan() || standard_uncertainty_c <= 0.0 {
        return MOST_DECIMALS as usize;
    }
    // 0.96 rounded to one digit is 1: 0.95 and above count as a whole degree.
    let place = (standard_uncertainty_c / 0.95).log10().floor() as i32;
    (-place).clamp(0, MOST_DECIMALS) as usize
}

/// Fixed decimals, without a minus before zero.
fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|digit| matches!(digit, '0' | '.')) => rest.to_owned(),
        _ => text,
    }
}

/// What went into a sentence for the notebook.
pub(crate) struct Notebook<'a> {
    pub range_text: &'a str,
    pub corrected: Option<Convention>,
    pub runs: usize,
    pub agreed: bool,
    pub first_liquid: &'a EndResult,
    pub last_crystal: &'a EndResult,
}

/// The sentence: range, correction and convention, runs, expanded uncertainties.
pub(crate) fn notebook_text(parts: &Notebook<'_>) -> String {
    let correction = match parts.corrected {
        Some(Convention::NotStated) => "corr., convention not stated".to_owned(),
        Some(convention) => format!("corr., {convention}"),
        None => "uncorr.".to_owned(),
    };
    let runs = match (parts.runs, parts.agreed) {
        (1, _) => "one run".to_owned(),
        (count, true) => format!("mean of {count} agreeing runs"),
        (count, false) => format!("mean of {count} runs that do not agree"),
    };
    format!(
        "m.p. {} ({correction}; {runs}; expanded uncertainty {} at the first liquid, {} at the last crystal, coverage about 95 %)",
        parts.range_text,
        expanded(parts.first_liquid),
        expanded(parts.last_crystal)
    )
}

/// The expanded uncertainty with what it was taken from, e.g. `0.42 °C (k = 2.1)`.
fn expanded(end: &EndResult) -> String {
    let how = match end.stated_from {
        StatedFrom::FirstOrder => format!("k = {:.1}", end.coverage_factor),
        StatedFrom::MonteCarlo => "by Monte Carlo".to_owned(),
        StatedFrom::EachComponent => "component by component".to_owned(),
    };
    format!(
        "{} °C ({how})",
        two_digits(end.stated_expanded_uncertainty_c)
    )
}

/// At most two significant digits (JCGM 100:2008, 7.2.6), never finer than 0.01.
pub(crate) fn two_digits(uncertainty_c: f64) -> String {
    let decimals = if uncertainty_c >= 9.95 {
        0
    } else if uncertainty_c >= 0.995 {
        1
    } else {
        2
    };
    format!("{uncertainty_c:.decimals$}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_follow_the_uncertainty() {
        for (u, expected) in [
            (0.0, "121.6–122.4 °C"),
            (0.02, "121.6–122.4 °C"),
            (0.3, "121.6–122.4 °C"),
            (0.96, "122–122 °C"),
            (3.0, "122–122 °C"),
        ] {
            assert_eq!(range_text(121.63, 122.42, u), expected, "{u}");
        }
        assert_eq!(range_text(-0.04, 0.04, 0.2), "0.0–0.0 °C");
    }
}
