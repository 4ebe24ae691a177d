//! When the first liquid showed: cleared shares per cue to the moment of 1 % liquid, and other levels.

use meltrange_physics::TemperatureLog;

use crate::moments::{last_rise, middle_and_spread, moment, passes, rising, spacing_around};
use crate::powder::Look;
use crate::result::{Level, Moment};
use crate::tube_reading::{BEYOND_DOUBT, smoothing_half};
use crate::tubes::Lighting;

/// Cleared share measured by each cue of [`crate::powder::CLEARED`] when 1 % of the column is liquid.
/// Liquid first shows as spots that still scatter somewhat, so a strict cue sees less of it.
/// Found on simulated recordings; a third more or less moves the moment by about a quarter of the
/// time in which the liquid doubles, which is part of the stated uncertainty.
const FIRST_LIQUID_FRONT: [f32; 3] = [0.0100, 0.0064, 0.0039];
/// The same seen against the light, where liquid opens a clear view and all cues see nearly all of it.
const FIRST_LIQUID_BACK: [f32; 3] = [0.0100, 0.0085, 0.0075];
/// Look of the whole column, against dry, below which it is moist; how much more must then clear to be
/// liquid, per loss of look, and at most. Moist powder is mottled: it loses its look unevenly.
const MOIST: f32 = 0.94;
const MOTTLED_PER_LOSS: f32 = 22.0;
const MOST_MOTTLED: f32 = 3.0;
/// Cleared share at which mottling no longer matters.
const MOTTLING_PAST: f32 = 0.3;
/// Measured by the main cue against true liquid fraction, likewise.
const LIQUID_FROM_CLEARED: [(f32, f32); 7] = [
    (0.0, 0.0),
    (0.0038, 0.005),
    (0.0111, 0.01),
    (0.0262, 0.02),
    (0.07, 0.05),
    (0.25, 0.2),
    (1.0, 1.0),
];
/// Spread of that relation from tube to tube, in natural logarithms, and the share of a correction for
/// mottling that adds to it.
const RELATION_SPREAD: f64 = 0.55;
const MOTTLING_SPREAD: f64 = 0.8;
/// Heating that must have been seen before a first liquid [°C]: grains that are half gone in the first pictures
/// are all there is to compare with, and an impure powder takes about so long from little liquid to 1 %.
const SEEN_BEFORE_C: f64 = 1.5;
/// Longest time in which liquid doubles that moves the moment [s].
const LONGEST_DOUBLING_S: f64 = 60.0;
/// Fixed-point steps that find a growth; more change nothing visible, for near a straight line a bound takes over.
const GROWTH_STEPS: usize = 40;
/// Levels reported besides 1 %.
const LEVELS: [f64; 4] = [0.005, 0.02, 0.05, 0.2];

/// Cleared share per cue that means 1 % liquid.
pub(crate) fn first_liquid_levels(lighting: Lighting) -> [f32; 3] {
    match lighting {
        Lighting::Front => FIRST_LIQUID_FRONT,
        Lighting::Back => FIRST_LIQUID_BACK,
    }
}

/// What cleared of a column per cue, less what moist powder's mottling feigns.
pub(crate) fn without_mottling(look: &Look) -> [f32; 3] {
    look.cleared
        .map(|c| c / (1.0 + mottling(look) * (1.0 - c / MOTTLING_PAST).clamp(0.0, 1.0)))
}

/// How much more than dry powder a moist one feigns, as share of what clears.
pub(crate) fn mottling(look: &Look) -> f32 {
    ((MOIST - look.gain) * MOTTLED_PER_LOSS).clamp(0.0, MOST_MOTTLED)
}

/// What the pictures said of a column's beginning to melt.
pub(crate) struct Onset<'a> {
    pub times_s: &'a [f64],
    /// What cleared per cue, mottling already taken out of it.
    pub cleared: &'a [Vec<f32>; 3],
    pub looks: &'a [Look],
    pub lighting: Lighting,
    /// Since when the powder was watched [s]: the close look begins later when key frames before it show the
    /// powder as it was.
    pub watched_from_s: f64,
}

impl Onset<'_> {
    /// The moment of 1 % liquid.
    pub fn first_liquid(&self, log: &TemperatureLog) -> Option<Moment> {
        let levels = first_liquid_levels(self.lighting);
        let last = self.times_s.len() - 1;
        let passage = |cue: usize, factor: f32| {
            last_rise(self.times_s, &self.cleared[cue], factor * levels[cue], last)
        };
        let cues: Vec<f64> = (0..3).filter_map(|cue| passage(cue, 1.0)).collect();
        let (_, half_spread_s) = middle_and_spread(cues.clone())?;
        let strictest_s = cues.into_iter().fold(f64::MIN, f64::max);
        let doubling_s = match (passage(1, 0.6), passage(1, 1.7)) {
            (Some(a), Some(b)) => ((b - a).abs() / (1.7f64 / 0.6).ln() * 2f64.ln()).max(1.0),
            _ => 10.0,
        };
        // Spots that clear one by one pass all cues almost together: take the middle. Powder that loses
        // its look all over before it clears passes the lenient ones early: trust the strict one.
        let time_s = strictest_s - half_spread_s.min(0.5 * doubling_s.min(LONGEST_DOUBLING_S));
        let at = self.times_s.partition_point(|&t| t < time_s).min(last);
        let corrected = (1.0 + f64::from(mottling(&self.looks[at]))).ln();
        let relation = RELATION_SPREAD.hypot(MOTTLING_SPREAD * corrected);
        // The running median spreads what a picture shows over its neighbours.
        let smoothed_over = (smoothing_half(self.times_s) + 1) as f64;
        let frame_s = smoothed_over * spacing_around(self.times_s, time_s) / 12f64.sqrt();
        moment(
            log,
            time_s,
            self.level_spread_s(time_s, relation)
                .hypot(0.5 * half_spread_s)
                .hypot(frame_s)
                .hypot(self.blind_s(time_s, doubling_s, log)),
        )
    }

    /// What a spread of the levels means in time [s]; `relation` is their standard deviation in natural
    /// logarithms.
    ///
    /// Told from how long the clearing took from the lowest to the highest level meant, so that it is long
    /// where clearing creeps or comes to a halt near the level; at one and, halved, at two standard
    /// deviations, for it may creep just beyond one.
    fn level_spread_s(&self, time_s: f64, relation: f64) -> f64 {
        let levels = first_liquid_levels(self.lighting);
        let courses: Vec<Vec<f32>> = self.cleared.iter().map(|c| rising(c)).collect();
        let mean_square = |deviations: f64| {
            let factor = (deviations * relation).exp() as f32;
            let squares = courses.iter().zip(levels).map(|(course, level)| {
                let early_s = passes(self.times_s, course, level / factor) - time_s;
                let late_s = passes(self.times_s, course, level * factor) - time_s;
                0.5 * (early_s.powi(2) + late_s.powi(2))
            });
            squares.sum::<f64>() / courses.len() as f64
        };
        mean_square(1.0).max(mean_square(2.0) / 4.0).sqrt()
    }

    /// What liquid that could not be counted means in time [s]: in the spell before, at the recording's
    /// beginning or at a slide, the account was held or noise learnt, and what was liquid then is missing.
    fn blind_s(&self, time_s: f64, doubling_s: f64, log: &TemperatureLog) -> f64 {
        let at = self.times_s.partition_point(|&t| t < time_s);
        let Some(last) = self.looks[..at].iter().rposition(|l| l.blind) else {
            return 0.0;
        };
        let first = self.looks[..last]
            .iter()
            .rposition(|l| !l.blind)
            .map_or(0, |i| i + 1);
        let (start_s, first_s) = (self.watched_from_s, self.times_s[first]);
        let seen_before = log
            .rate_c_per_s_between(start_s, time_s)
            .is_some_and(|rate| rate * (time_s - start_s) > SEEN_BEFORE_C);
        let early_s = if seen_before {
            earlier_by_s(time_s - self.times_s[last], doubling_s).min(time_s - first_s)
        } else {
            time_s - start_s
        };
        early_s / 3f64.sqrt()
    }
}

/// How much earlier [s] liquid reached a level that the account reached `since_s` after counting began,
/// where it seemed to double within `doubling_s`.
///
/// Liquid that grows as e^(r t) and is counted from zero on shows a relative growth of r/(1 − e^(−r t)):
/// the faster it seems to grow for the time since, the less was there before. Growth that is no faster than
/// a straight line from zero says nothing about what was there.
fn earlier_by_s(since_s: f64, doubling_s: f64) -> f64 {
    let seeming = 2f64.ln() / doubling_s * since_s;
    if seeming <= 1.0 {
        return f64::INFINITY;
    }
    let true_growth = (0..GROWTH_STEPS).fold(seeming, |g, _| seeming * (1.0 - (-g).exp()));
    -(-(-true_growth).exp()).ln_1p() * since_s / true_growth
}

/// Moments of the other levels, looked for up to the frame `doubtless`.
pub(crate) fn levels(
    times_s: &[f64],
    cleared: &[f32],
    doubtless: usize,
    log: &TemperatureLog,
) -> Vec<Level> {
    LEVELS
        .iter()
        .filter_map(|&fraction| {
            let level = cleared_from_liquid(fraction as f32);
            let until = cleared
                .iter()
                .position(|&c| c > level.max(BEYOND_DOUBT))
                .unwrap_or(doubtless.max(cleared.len() - 1));
            let time_s = last_rise(times_s, cleared, level, until)?;
            let frame_s = spacing_around(times_s, time_s) / 12f64.sqrt();
            let nearby = last_rise(times_s, cleared, 0.7 * level, until).unwrap_or(time_s);
            let moment = moment(log, time_s, (time_s - nearby).abs().hypot(frame_s))?;
            Some(Level {
                liquid_fraction: fraction,
                moment,
            })
        })
        .collect()
}

fn interpolate(table: impl Iterator<Item = (f32, f32)>, x: f32) -> f32 {
    let mut before = (0.0, 0.0);
    for (a, b) in table {
        if x <= a {
            let part = if a > before.0 {
                (x - before.0) / (a - before.0)
            } else {
                1.0
            };
            return before.1 + part * (b - before.1);
        }
        before = (a, b);
    }
    before.1
}

/// True liquid share for what the main cue shows cleared.
pub(crate) fn liquid_from_cleared(cleared: f32) -> f32 {
    interpolate(LIQUID_FROM_CLEARED.iter().copied(), cleared.max(0.0))
}

fn cleared_from_liquid(liquid: f32) -> f32 {
    interpolate(LIQUID_FROM_CLEARED.iter().map(|&(c, l)| (l, c)), liquid)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_there_before_counting_shows_in_how_fast_it_grows() {
        // Doubles every 30 s; counting begins when 0.5 % is liquid, and 1 % is counted when it is 1.5 %.
        let rate = 2f64.ln() / 30.0;
        let since_s = 3f64.ln() / rate;
        let seeming_doubling_s = 2f64.ln() / (rate * 1.5);
        let early_s = earlier_by_s(since_s, seeming_doubling_s);
        assert!((early_s - 1.5f64.ln() / rate).abs() < 0.1, "{early_s}");
        // Long after counting began there is nothing to be missed.
        assert!(earlier_by_s(600.0, 30.0) < 0.1);
        assert_eq!(earlier_by_s(20.0, 30.0), f64::INFINITY);
    }
}
