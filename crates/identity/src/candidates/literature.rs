//! How far a literature value lies from what is read: heavy tails, one-sided depression, and the convention.

use super::posterior::{Convention, MeltingRange};
use crate::purity::PURE_WIDTH_C;

/// Shape of literature scatter as a sum of normal distributions: share, and standard deviation [°C] where values scatter as
/// between 100 and 200 °C.
///
/// # Source
/// Deviation of one compilation from the median of others, 2,229 compounds: half lie within 0.9 °C, 68 % within 1.5, 90 % within
/// 3.5, 95 % within 6.0, 99 % within 30 (docs/models/identity.md).
const SCATTER: [(f64, f64); 4] = [(0.55, 0.75), (0.32, 1.9), (0.09, 6.5), (0.04, 30.0)];
/// The same about the middle of two values that differ a little, and so were not copied: gross errors are rarer. Shares from half of the
/// compounds that the CRC Handbook has too; docs/models/identity.md.
const AGREEING_SCATTER: [(f64, f64); 4] = [(0.55, 0.85), (0.38, 1.9), (0.06, 5.0), (0.01, 30.0)];
/// The same for values of a person's own list: labels of bottles are checked against the bottle.
const OWN_SCATTER: [(f64, f64); 3] = [(0.70, 0.8), (0.25, 1.9), (0.05, 10.0)];

/// Scatter grows with temperature: below so many °C, by this factor. Robust standard deviations 1.19, 1.48, 1.94 of the same source.
const BANDS: [(f64, f64); 3] = [(100.0, 0.85), (200.0, 1.0), (f64::INFINITY, 1.35)];

/// Liquid is first seen when this fraction is melted, the one or other with equal weight: from the engine's 1 % of the column to
/// an eye that needs a fifth. Common practice, no source.
const SEEN_AT: [f64; 4] = [0.02, 0.06, 0.12, 0.25];
/// So seldom the whole melts far too low though sharply: a solvate, a eutectic, a wet crystal; then by about so much [°C].
const FAR_LOW_SHARE: f64 = 0.02;
const FAR_LOW_C: f64 = 12.0;
/// Literature gives the last crystal, or the middle of the range, with these weights.
const AT_CLEAR: f64 = 0.7;

/// Tabulated to this far on either side, at this step [°C].
const REACH_C: f64 = 120.0;
const STEP_C: f64 = 0.1;

/// How well a literature value is founded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Founded {
    /// One source, or several that copy each other.
    Alone,
    /// The middle of sources that agree without being copies.
    Agreeing,
    /// The person's own list.
    Own,
}

/// Density of (last crystal as read − literature value) [1/°C], tabulated for one query.
pub(super) struct Literature {
    /// One for each band of values alone, then of agreeing ones, then the own list's.
    tables: Vec<Vec<f64>>,
}

impl Literature {
    pub(super) fn new(range: &MeltingRange) -> Self {
        let width_c = range.last_crystal_c - range.first_liquid_c;
        let below = shifts(width_c, range.convention);
        let mut tables: Vec<Vec<f64>> = [SCATTER, AGREEING_SCATTER]
            .iter()
            .flat_map(|scatter| {
                BANDS.map(|(_, factor)| scatter.map(|(share, sd)| (share, sd * factor)))
            })
            .map(|scatter| table(&scatter, &below, range.standard_uncertainty_c))
            .collect();
        tables.push(table(&OWN_SCATTER, &below, range.standard_uncertainty_c));
        Self { tables }
    }

    /// Density of reading `last_crystal_c` where literature says `value_c`.
    pub(super) fn density(&self, last_crystal_c: f64, value_c: f64, founded: Founded) -> f64 {
        let band = BANDS
            .iter()
            .position(|(below_c, _)| value_c < *below_c)
            .unwrap_or(BANDS.len() - 1);
        let table = match founded {
            Founded::Alone => band,
            Founded::Agreeing => BANDS.len() + band,
            Founded::Own => 2 * BANDS.len(),
        };
        let table = &self.tables[table];
        let at = (last_crystal_c - value_c + REACH_C) / STEP_C;
        if at < 0.0 {
            return 0.0;
        }
        let (low, part) = (at.floor() as usize, at.fract());
        match (table.get(low), table.get(low + 1)) {
            (Some(left), Some(right)) => left + part * (right - left),
            _ => 0.0,
        }
    }
}

/// How far the last crystal lies from what literature would say, with weights: mean and standard deviation [°C].
fn shifts(width_c: f64, convention: Convention) -> Vec<(f64, f64, f64)> {
    let [offset_c, offset_sd_c] = convention.offset_c();
    let broad_c = (width_c - PURE_WIDTH_C).max(0.0);
    let mut shifts = Vec::new();
    for (literature, to_literature_c) in [(AT_CLEAR, 0.0), (1.0 - AT_CLEAR, 0.5 * width_c.min(2.0))]
    {
        for seen_at in SEEN_AT {
            // Van 't Hoff: the width is the depression of the last crystal times (1/F − 1).
            let depressed_c = broad_c * seen_at / (1.0 - seen_at);
            let weight = literature / SEEN_AT.len() as f64;
            let mean_c = to_literature_c - depressed_c + offset_c;
            shifts.push((weight * (1.0 - FAR_LOW_SHARE), mean_c, offset_sd_c));
            // An exponential is near enough to two normal distributions here.
            for (share, times) in [(0.6, 0.7), (0.4, 1.8)] {
                let mean_c = mean_c - times * FAR_LOW_C;
                shifts.push((weight * FAR_LOW_SHARE * share, mean_c, 0.6 * FAR_LOW_C));
            }
        }
    }
    merged(shifts)
}

/// Shifts that lie as good as together are one: of a sharp range most are.
fn merged(shifts: Vec<(f64, f64, f64)>) -> Vec<(f64, f64, f64)> {
    let mut kept: Vec<(f64, f64, f64)> = Vec::new();
    for (weight, mean_c, sd_c) in shifts {
        let near_c = 0.1 * sd_c;
        let same = kept
            .iter_mut()
            .find(|one| (one.2 - sd_c).abs() < 1e-9 && (one.1 - mean_c).abs() <= near_c);
        match same {
            Some(one) => {
                let sum = one.0 + weight;
                one.1 += (mean_c - one.1) * weight / sum;
                one.0 = sum;
            }
            None => kept.push((weight, mean_c, sd_c)),
        }
    }
    kept
}

fn table(scatter: &[(f64, f64)], shifts: &[(f64, f64, f64)], reading_sd_c: f64) -> Vec<f64> {
    let steps = (2.0 * REACH_C / STEP_C) as usize + 1;
    let mut table = vec![0.0; steps];
    for (share, sd_c) in scatter {
        for (weight, mean_c, shift_sd_c) in shifts {
            let variance = sd_c * sd_c + shift_sd_c * shift_sd_c + reading_sd_c * reading_sd_c;
            let sd_c = variance.sqrt();
            let scale = share * weight / (sd_c * (2.0 * std::f64::consts::PI).sqrt());
            add_normal(&mut table, scale, *mean_c, sd_c);
        }
    }
    table
}

/// Add a normal distribution with this density at its mean. From one step to the next it changes by a factor that itself changes by
/// a constant one, so that two products stand for each exponential.
fn add_normal(table: &mut [f64], scale: f64, mean_c: f64, sd_c: f64) {
    let last = table.len() - 1;
    let middle = ((mean_c + REACH_C) / STEP_C)
        .round()
        .clamp(0.0, last as f64) as usize;
    // Nothing is left of it beyond seven standard deviations.
    let steps = (7.0 * sd_c / STEP_C) as usize + 1;
    let away = (middle as f64 * STEP_C - REACH_C - mean_c) / sd_c;
    let step = STEP_C / sd_c;
    let at_middle = scale * (-0.5 * away * away).exp();
    let change = (-step * step).exp();
    let (low, high) = table.split_at_mut(middle);
    let up = (-step * away - 0.5 * step * step).exp();
    add_along(high.iter_mut().take(steps), at_middle, up, change);
    let down = (step * away - 0.5 * step * step).exp();
    add_along(
        low.iter_mut().rev().take(steps),
        at_middle * down,
        down * change,
        change,
    );
}

fn add_along<'a>(
    places: impl Iterator<Item = &'a mut f64>,
    mut density: f64,
    mut factor: f64,
    change: f64,
) {
    for place in places {
        *place += density;
        density *= factor;
        factor *= change;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the exponential itself, for narrow and wide ones, and one whose mean lies outside.
    #[test]
    fn a_normal_distribution_added_by_factors_is_one() {
        for (mean_c, sd_c) in [
            (0.03, 0.3),
            (-17.38, 2.0),
            (55.0, 40.0),
            (-119.97, 31.0),
            (-125.0, 9.0),
        ] {
            let mut table = vec![0.0; (2.0 * REACH_C / STEP_C) as usize + 1];
            add_normal(&mut table, 0.7, mean_c, sd_c);
            for (at, found) in table.iter().enumerate() {
                let away = (at as f64 * STEP_C - REACH_C - mean_c) / sd_c;
                let exact = 0.7 * (-0.5 * away * away).exp();
                assert!(
                    (found - exact).abs() < 1e-9,
                    "{mean_c} {sd_c} {at}: {found} {exact}"
                );
            }
        }
    }

    fn sharp(standard_uncertainty_c: f64) -> MeltingRange {
        MeltingRange {
            first_liquid_c: 121.8,
            last_crystal_c: 122.2,
            standard_uncertainty_c,
            convention: Convention::Unstated,
        }
    }

    /// Percentiles of literature scatter: the source of [`SCATTER`]. A tiny reading uncertainty, as there literature met literature.
    #[test]
    fn scatter_is_that_of_literature() {
        let literature = Literature::new(&sharp(0.01));
        let table = &literature.tables[1];
        let within = |limit_c: f64| -> f64 {
            let inside = |at: &usize| (*at as f64 * STEP_C - REACH_C).abs() <= limit_c;
            let sum: f64 = (0..table.len()).filter(inside).map(|at| table[at]).sum();
            sum * STEP_C
        };
        for (limit_c, share) in [
            (0.9, 0.50),
            (1.5, 0.68),
            (3.5, 0.90),
            (6.0, 0.95),
            (30.0, 0.99),
        ] {
            let found = within(limit_c);
            assert!(
                (found - share).abs() < 0.04,
                "{found} within {limit_c} °C, expected {share}"
            );
        }
    }

    #[test]
    fn a_broad_low_range_points_above_it() {
        let broad = MeltingRange {
            first_liquid_c: 110.0,
            ..sharp(0.3)
        };
        let literature = Literature::new(&broad);
        let above = literature.density(122.2, 124.0, Founded::Alone);
        let below = literature.density(122.2, 120.4, Founded::Alone);
        assert!(above > 1.5 * below, "{above} above, {below} below");
    }
}
