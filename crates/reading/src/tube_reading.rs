//! One tube through a whole recording: curve, moments, outcome.

use meltrange_physics::TemperatureLog;

use crate::column::Grid;
use crate::ending::{CRYSTAL, CRYSTAL_CUES, Ending, Remaining};
use crate::image::quantile;
use crate::moments::{
    last_fall, last_rise, middle_and_spread, moment, running_median, spacing_around,
};
use crate::powder::{Look, MAIN_CUE, Powder};
use crate::result::{CurvePoint, Level, Moment, Outcome};
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
const MOIST: f32 = 0.92;
const MOTTLED_PER_LOSS: f32 = 15.0;
const MOST_MOTTLED: f32 = 2.0;
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
const RELATION_SPREAD: f64 = 0.65;
const MOTTLING_SPREAD: f64 = 0.6;
/// Levels reported besides 1 %.
const LEVELS: [f64; 4] = [0.005, 0.02, 0.05, 0.2];
/// Solid share of the column below which the last crystal is gone.
const LAST_CRYSTAL: f32 = 0.003;
/// Most that the doubt about that level adds to the uncertainty [s], and what always remains [s].
const MOST_LEVEL_S: f64 = 10.0;
const LAST_LOOK_S: f64 = 0.9;
/// Momentary change of the whole column that is a shadow, and half the frames that say what is usual.
const SHADOW: f32 = 0.2;
const SHADOW_HALF_FRAMES: usize = 9;
/// Span at the end in which what stays is no crystal [s], and the most of it that may stay.
const PLATEAU_S: f64 = 10.0;
const MOST_PLATEAU: f32 = 0.05;
/// Cleared share from which melting is beyond doubt.
const BEYOND_DOUBT: f32 = 0.05;
/// Left-over share at the end up to which the content counts as all liquid.
const CLEAR_AT_END: f32 = 0.06;
/// Solid look of the whole column below which, with little cleared, it darkened.
pub(crate) const DARKENED: f32 = 0.6;
/// Cleared share up to which the loss of light is not liquid.
pub(crate) const NOT_CLEARING: f32 = 0.03;

/// What the pictures said of one tube.
pub(crate) struct TubeStory {
    pub looks: Vec<Look>,
    pub times_s: Vec<f64>,
    pub outcome: Outcome,
    pub first_liquid: Option<Moment>,
    pub last_crystal: Option<Moment>,
    pub levels: Vec<Level>,
    pub heating_rate_c_per_min: Option<f64>,
    pub darkened_at_s: Option<f64>,
    pub started_melting: bool,
    pub ended_early: bool,
    pub curve: Vec<CurvePoint>,
}

/// Read one tube from its patches, in order of time.
pub(crate) fn read_tube(
    grid: &Grid,
    lighting: Lighting,
    patches: &[(f64, &[u8])],
    log: &TemperatureLog,
) -> Option<TubeStory> {
    let kept = without_shadows(grid, patches);
    let patches = kept.as_slice();
    let mut powder = Powder::new(grid.across, grid.along, grid.powder_rows, lighting);
    let mut looks = Vec::with_capacity(patches.len());
    for (time_s, patch) in patches {
        if let Some(look) = powder.push(*time_s, patch) {
            looks.push(look);
        }
    }
    if looks.len() < 3 {
        return None;
    }
    let times_s: Vec<f64> = looks.iter().map(|l| l.time_s).collect();
    let end = EndOfMelting::new(grid, &powder, patches);
    forget_discounted(&mut looks);
    let half = smoothing_half(&times_s);
    let cleared: [Vec<f32>; 3] = std::array::from_fn(|cue| {
        running_median(
            &looks
                .iter()
                .map(|l| without_mottling(l)[cue])
                .collect::<Vec<_>>(),
            half,
        )
    });
    let darkened_at_s = darkening(&looks);
    let most = cleared[MAIN_CUE].iter().copied().fold(0.0, f32::max);
    let at_end = median_of_last(&cleared[MAIN_CUE], 5);
    let liquid = most > BEYOND_DOUBT || at_end > 0.02;
    let all_clear = liquid && end.left_over < CLEAR_AT_END;
    let mut outcome = match (liquid, all_clear) {
        (false, _) => Outcome::Unmelted,
        (true, true) => Outcome::Melted,
        (true, false) => Outcome::PartlyMelted,
    };
    if darkened_at_s.is_some() {
        outcome = Outcome::Decomposed;
    }
    let doubtless = cleared[MAIN_CUE]
        .iter()
        .position(|&c| c > BEYOND_DOUBT)
        .unwrap_or(cleared[MAIN_CUE].len() - 1);
    let readable = matches!(outcome, Outcome::Melted | Outcome::PartlyMelted);
    let first_liquid = readable
        .then(|| {
            let mottling: Vec<f32> = looks.iter().map(mottling).collect();
            let levels = first_liquid_levels(lighting);
            first_liquid(&times_s, &cleared, &mottling, &levels, log)
        })
        .flatten();
    let last_crystal = (outcome == Outcome::Melted)
        .then(|| end.last_crystal(log))
        .flatten();
    let ended_early =
        outcome == Outcome::PartlyMelted || (outcome == Outcome::Melted && last_crystal.is_none());
    if outcome == Outcome::Melted && last_crystal.is_none() {
        outcome = Outcome::PartlyMelted;
    }
    let liquid_fraction: Vec<f32> = cleared[MAIN_CUE]
        .iter()
        .map(|&c| liquid_from_cleared(c))
        .collect();
    let levels = if first_liquid.is_some() {
        levels(&times_s, &cleared[MAIN_CUE], doubtless, log)
    } else {
        Vec::new()
    };
    let heating_rate_c_per_min = rate_between(
        log,
        first_liquid,
        last_crystal
            .map(|m| m.time_s)
            .unwrap_or(times_s[times_s.len() - 1]),
    );
    let solid_at: Vec<f32> = times_s.iter().map(|&t| end.solid_at(t)).collect();
    let curve = curve(&times_s, &liquid_fraction, &solid_at, log);
    Some(TubeStory {
        started_melting: first_liquid.is_some_and(|m| m.time_s <= times_s[0] + 1e-9),
        looks,
        outcome,
        first_liquid,
        last_crystal,
        levels,
        heating_rate_c_per_min,
        darkened_at_s,
        ended_early,
        curve,
        times_s,
    })
}

/// Solid share of every frame against the end state.
struct EndOfMelting {
    times_s: Vec<f64>,
    solid: [Vec<f32>; 3],
    left_over: f32,
}

impl EndOfMelting {
    fn new(grid: &Grid, powder: &Powder, patches: &[(f64, &[u8])]) -> Self {
        let last_s = patches.last().map_or(0.0, |p| p.0);
        let tail = patches
            .partition_point(|p| p.0 < last_s - 15.0)
            .min(patches.len().saturating_sub(8));
        let looks: Vec<(f64, Vec<f32>)> = patches[tail..]
            .iter()
            .map(|(t, p)| (*t, powder.share_of_level(p)))
            .collect();
        let ending = Ending::new(&looks);
        let inside = powder.start_inside();
        let area = inside.iter().filter(|&&i| i).count().max(1) as f32;
        let margin = (crate::column::MARGIN_ACROSS / (1.0 + 2.0 * crate::column::MARGIN_ACROSS)
            * grid.across as f32)
            .round() as usize;
        let allowed: Vec<bool> = (0..grid.across * grid.along)
            .map(|i| {
                let (x, y) = (i % grid.across, i / grid.across);
                x >= margin
                    && x + margin < grid.across
                    && y >= grid.powder_rows.0
                    && y < grid.powder_rows.1
            })
            .collect();
        let mut solid: [Vec<f32>; 3] = std::array::from_fn(|_| Vec::with_capacity(patches.len()));
        let mut remaining: [Remaining; 3] = Default::default();
        for (time_s, patch) in patches {
            let look = powder.share_of_level(patch);
            for (cue, threshold) in CRYSTAL_CUES.into_iter().enumerate() {
                let found = ending.solid(&look, grid.across, threshold, &allowed);
                let count = remaining[cue].keep(*time_s, found, grid.across);
                solid[cue].push(count as f32 / area);
            }
        }
        Self {
            times_s: patches.iter().map(|p| p.0).collect(),
            solid: solid.map(|s| above_plateau(running_median(&s, 1), patches)),
            left_over: ending.left_over(
                inside,
                grid.across,
                grid.powder_rows,
                grid.across as f32 / (1.0 + 2.0 * crate::column::MARGIN_ACROSS),
                CRYSTAL + 0.05,
            ),
        }
    }

    fn solid_at(&self, time_s: f64) -> f32 {
        let i = self
            .times_s
            .partition_point(|&t| t < time_s)
            .min(self.solid[1].len() - 1);
        self.solid[1][i].min(1.0)
    }

    fn last_crystal(&self, log: &TemperatureLog) -> Option<Moment> {
        let time_s = last_fall(&self.times_s, &self.solid[1], LAST_CRYSTAL)?;
        let cues: Vec<f64> = self
            .solid
            .iter()
            .filter_map(|s| last_fall(&self.times_s, s, LAST_CRYSTAL))
            .collect();
        let (_, spread_s) = middle_and_spread(cues)?;
        let at_level = |part: f32| last_fall(&self.times_s, &self.solid[1], part * LAST_CRYSTAL);
        let level_s = match (at_level(2.0), at_level(0.5)) {
            (Some(early), Some(late)) => 0.5 * (late - early).abs(),
            _ => 0.0,
        };
        let frame_s = spacing_around(&self.times_s, time_s) / 12f64.sqrt();
        let settled_s = (0.5 * spread_s).hypot(level_s.min(MOST_LEVEL_S));
        moment(log, time_s, settled_s.hypot(frame_s).hypot(LAST_LOOK_S))
    }
}

/// Leave out frames in which the column as a whole is brighter or darker for a moment only: a shadow
/// or a flash that the glass above did not show.
fn without_shadows<'a>(grid: &Grid, patches: &[(f64, &'a [u8])]) -> Vec<(f64, &'a [u8])> {
    let (top, bottom) = grid.powder_rows;
    let middles: Vec<f32> = patches
        .iter()
        .map(|(_, p)| {
            let mut values: Vec<f32> = p[top * grid.across..bottom * grid.across]
                .iter()
                .step_by(3)
                .map(|&v| f32::from(v))
                .collect();
            quantile(&mut values, 0.5)
        })
        .collect();
    let half = SHADOW_HALF_FRAMES
        .max(smoothing_half(&patches.iter().map(|p| p.0).collect::<Vec<_>>()) * 5 / 2);
    let usual = running_median(&middles, half);
    let limit = |u: f32| (SHADOW * u).max(8.0);
    (0..patches.len())
        .filter(|&i| {
            (middles[i] - usual[i]).abs()
                <= limit(usual[i].min(grid.contrast(patches[0].1).max(1.0) * 2.0))
        })
        .map(|i| patches[i])
        .collect()
}

/// What is above the level that stays to the end: bubbles and noise are no crystals.
///
/// Only a small level counts as such, and the very last pictures must show it too, so that crystals
/// that are just going when the recording ends are not taken for it.
fn above_plateau(mut solid: Vec<f32>, patches: &[(f64, &[u8])]) -> Vec<f32> {
    let last_s = patches.last().map_or(0.0, |p| p.0);
    let since = |span_s: f64| {
        let from = patches
            .partition_point(|p| p.0 < last_s - span_s)
            .min(solid.len().saturating_sub(3));
        median_of_last(&solid, solid.len() - from)
    };
    let plateau = since(PLATEAU_S).min(since(PLATEAU_S / 3.0));
    if plateau < MOST_PLATEAU {
        solid.iter_mut().for_each(|s| *s = (*s - plateau).max(0.0));
    }
    solid
}

/// Half-width of the running median [frames]: about two seconds, at least two frames.
fn smoothing_half(times_s: &[f64]) -> usize {
    let mut steps: Vec<f32> = times_s.windows(2).map(|p| (p[1] - p[0]) as f32).collect();
    let usual_s = crate::image::quantile(&mut steps, 0.5).max(1e-3);
    ((2.0 / usual_s).round() as usize).clamp(2, 30)
}

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
fn mottling(look: &Look) -> f32 {
    ((MOIST - look.gain) * MOTTLED_PER_LOSS).clamp(0.0, MOST_MOTTLED)
}

/// Powder that turned out to have moved was never liquid.
fn forget_discounted(looks: &mut [Look]) {
    if let Some(last) = looks.iter().rposition(|l| l.discounted) {
        looks[..last].iter_mut().for_each(|l| l.cleared = [0.0; 3]);
    }
}

fn first_liquid(
    times_s: &[f64],
    cleared: &[Vec<f32>; 3],
    mottling: &[f32],
    levels: &[f32; 3],
    log: &TemperatureLog,
) -> Option<Moment> {
    let last = times_s.len() - 1;
    let passage =
        |cue: usize, factor: f32| last_rise(times_s, &cleared[cue], factor * levels[cue], last);
    let cues: Vec<f64> = (0..3).filter_map(|cue| passage(cue, 1.0)).collect();
    let (_, half_spread_s) = middle_and_spread(cues.clone())?;
    let strictest_s = cues.into_iter().fold(f64::MIN, f64::max);
    let doubling_s = match (passage(1, 0.6), passage(1, 1.7)) {
        (Some(a), Some(b)) => ((b - a).abs() / (1.7f64 / 0.6).ln() * 2f64.ln()).clamp(1.0, 60.0),
        _ => 10.0,
    };
    // Spots that clear one by one pass all cues almost together: take the middle. Powder that loses
    // its look all over before it clears passes the lenient ones early: trust the strict one.
    let time_s = strictest_s - half_spread_s.min(0.5 * doubling_s);
    let at = times_s.partition_point(|&t| t < time_s).min(last);
    let corrected = (1.0 + f64::from(mottling[at])).ln();
    let relation_s = RELATION_SPREAD.hypot(MOTTLING_SPREAD * corrected) * doubling_s / 2f64.ln();
    let frame_s = spacing_around(times_s, time_s) / 12f64.sqrt();
    moment(
        log,
        time_s,
        relation_s.hypot(0.5 * half_spread_s).hypot(frame_s),
    )
}

fn levels(times_s: &[f64], cleared: &[f32], doubtless: usize, log: &TemperatureLog) -> Vec<Level> {
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

fn liquid_from_cleared(cleared: f32) -> f32 {
    interpolate(LIQUID_FROM_CLEARED.iter().copied(), cleared.max(0.0))
}

fn cleared_from_liquid(liquid: f32) -> f32 {
    interpolate(LIQUID_FROM_CLEARED.iter().map(|&(c, l)| (l, c)), liquid)
}

/// When the column as a whole lost its light without clearing.
fn darkening(looks: &[Look]) -> Option<f64> {
    let dark = |l: &Look| l.gain < DARKENED && l.cleared[MAIN_CUE] < NOT_CLEARING;
    looks
        .windows(5)
        .find(|w| w.iter().all(dark))
        .map(|w| w[0].time_s)
}

fn median_of_last(values: &[f32], n: usize) -> f32 {
    let mut part = values[values.len().saturating_sub(n)..].to_vec();
    crate::image::quantile(&mut part, 0.5)
}

fn rate_between(log: &TemperatureLog, first: Option<Moment>, until_s: f64) -> Option<f64> {
    let first = first?;
    let end = log.at(until_s)?;
    let span_s = until_s - first.time_s;
    if span_s < 2.0 {
        return Some(log.at(first.time_s)?.rate_c_per_s * 60.0);
    }
    Some((end.temperature_c - first.temperature_c) / span_s * 60.0)
}

/// Most points of a curve; more than a screen shows.
const CURVE_POINTS: usize = 2000;

fn curve(times_s: &[f64], liquid: &[f32], solid: &[f32], log: &TemperatureLog) -> Vec<CurvePoint> {
    let stride = times_s.len().div_ceil(CURVE_POINTS).max(1);
    let mut so_far = 0.0f32;
    (0..times_s.len())
        .step_by(stride)
        .filter_map(|i| {
            // Liquid by clearing while grains can be followed; by what is no longer solid after that.
            let gone = if liquid[i] > 0.15 {
                (1.0 - solid[i]).clamp(0.0, 1.0).max(liquid[i])
            } else {
                liquid[i]
            };
            so_far = so_far.max(gone.min(1.0));
            Some(CurvePoint {
                time_s: times_s[i],
                temperature_c: log.at(times_s[i])?.temperature_c,
                liquid_fraction: f64::from(so_far),
                solid_fraction: f64::from(solid[i].clamp(0.0, 1.0)),
            })
        })
        .collect()
}
