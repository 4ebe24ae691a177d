//! One tube through a whole recording: curve, moments, outcome.

use meltrange_physics::TemperatureLog;

use crate::column::Grid;
use crate::first_liquid::{Onset, levels, liquid_from_cleared, without_mottling};
use crate::image::quantile;
use crate::last_crystal::EndOfMelting;
use crate::moments::{median_of_last, running_median};
use crate::powder::{Look, MAIN_CUE, Powder};
use crate::result::{CurvePoint, Level, Moment, Outcome};
use crate::tubes::Lighting;

/// Momentary change of the whole column that is a shadow, and half the frames that say what is usual.
const SHADOW: f32 = 0.2;
const SHADOW_HALF_FRAMES: usize = 9;
/// Cleared share from which melting is beyond doubt.
pub(crate) const BEYOND_DOUBT: f32 = 0.05;
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

/// Read one tube from its patches, in order of time; it was watched from `watched_from_s` on, if less closely.
pub(crate) fn read_tube(
    grid: &Grid,
    lighting: Lighting,
    patches: &[(f64, &[u8])],
    log: &TemperatureLog,
    watched_from_s: f64,
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
            let onset = Onset {
                times_s: &times_s,
                cleared: &cleared,
                looks: &looks,
                lighting,
                watched_from_s,
            };
            onset.first_liquid(log)
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

/// Half-width of the running median [frames]: about two seconds, at least two frames.
pub(crate) fn smoothing_half(times_s: &[f64]) -> usize {
    let mut steps: Vec<f32> = times_s.windows(2).map(|p| (p[1] - p[0]) as f32).collect();
    let usual_s = crate::image::quantile(&mut steps, 0.5).max(1e-3);
    ((2.0 / usual_s).round() as usize).clamp(2, 30)
}

/// Powder that turned out to have moved was never liquid.
fn forget_discounted(looks: &mut [Look]) {
    if let Some(last) = looks.iter().rposition(|l| l.discounted) {
        looks[..last].iter_mut().for_each(|l| l.cleared = [0.0; 3]);
    }
}

/// When the column as a whole lost its light without clearing.
fn darkening(looks: &[Look]) -> Option<f64> {
    let dark = |l: &Look| l.gain < DARKENED && l.cleared[MAIN_CUE] < NOT_CLEARING;
    looks
        .windows(5)
        .find(|w| w.iter().all(dark))
        .map(|w| w[0].time_s)
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

/// Liquid share from which the grains can less and less, and then no longer, be followed.
const FOLLOWED: (f32, f32) = (0.08, 0.25);
/// Most points of a curve; more than a screen shows.
const CURVE_POINTS: usize = 2000;

fn curve(times_s: &[f64], liquid: &[f32], solid: &[f32], log: &TemperatureLog) -> Vec<CurvePoint> {
    let stride = times_s.len().div_ceil(CURVE_POINTS).max(1);
    let solid_at_start = crate::image::quantile(&mut solid[..solid.len().min(5)].to_vec(), 0.5);
    let solid_at_start = solid_at_start.max(0.1);
    let mut so_far = 0.0f32;
    (0..times_s.len())
        .step_by(stride)
        .filter_map(|i| {
            // Liquid by clearing while grains can be followed; by what is no longer solid after that.
            let gone = (1.0 - solid[i] / solid_at_start).clamp(0.0, 1.0);
            let beyond = ((liquid[i] - FOLLOWED.0) / (FOLLOWED.1 - FOLLOWED.0)).clamp(0.0, 1.0);
            let gone = liquid[i] + beyond * (gone - liquid[i]).max(0.0);
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
