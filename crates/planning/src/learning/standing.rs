//! Whether a bench still does what was learned of it: a failing heater or fan.

use super::learned::LearnedBench;
use super::model::course;
use super::run_log::RunLog;
use serde::Serialize;

/// A part is doubted when it does this much less than it did ...
const LESS: f64 = 0.15;
/// ... and by so many standard uncertainties.
const CLEARLY: f64 = 3.0;
/// Least stretch that tells anything [°C].
const LEAST_C: f64 = 10.0;

/// Cooling is compared down to this far above the room [°C].
const ABOVE_ROOM_C: f64 = 30.0;

/// A part of a bench that does less than it did.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(tag = "part", rename_all = "snake_case")]
pub enum Doubt {
    /// An approach took longer than learned.
    Heater {
        /// Minutes it took.
        took_min: f64,
        /// Minutes it should have taken.
        learned_min: f64,
        /// Standard uncertainty of that [min].
        standard_uncertainty_min: f64,
    },
    /// Cooling with the fan on took longer than learned.
    Fan {
        /// Minutes it took.
        took_min: f64,
        /// Minutes it should have taken.
        learned_min: f64,
        /// Standard uncertainty of that [min].
        standard_uncertainty_min: f64,
    },
}

impl std::fmt::Display for Doubt {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (what, look, took_min, learned_min, unsure_min) = match self {
            Self::Heater {
                took_min,
                learned_min,
                standard_uncertainty_min,
            } => (
                "heats",
                "heater, its supply and the fit of its sensor",
                took_min,
                learned_min,
                standard_uncertainty_min,
            ),
            Self::Fan {
                took_min,
                learned_min,
                standard_uncertainty_min,
            } => (
                "cools",
                "fan and its air way",
                took_min,
                learned_min,
                standard_uncertainty_min,
            ),
        };
        write!(
            f,
            "the block {what} more slowly than it did: {took_min:.1} min instead of {learned_min:.1} min (standard uncertainty {unsure_min:.1} min); have the {look} looked at"
        )
    }
}

/// What a run shows to do less than learned. Nothing for runs too short to tell.
pub fn doubts(bench: &LearnedBench, log: &RunLog) -> Vec<Doubt> {
    let mut found = Vec::new();
    let samples = log.samples();
    for approach in log.approaches() {
        let from = &samples[approach.from];
        let Some(took_s) = log
            .arrival_s(&approach, bench.arrival.within_c)
            .or_else(|| {
                // It never got there: at least as long as it was asked to.
                samples
                    .get(approach.until.checked_sub(1)?)
                    .map(|last| last.time_s)
            })
        else {
            continue;
        };
        let took_min = (took_s - from.time_s) / 60.0;
        // The course the same setpoints would have given, continued until it arrives.
        let learned = |bench: &LearnedBench| {
            let shown = course(
                bench.constants(bench.room_c.value),
                bench.controller(),
                from.temperature_c,
                &samples[approach.from..approach.until],
            )?;
            let first = approach
                .setpoint_rate
                .map_or(0, |_| approach.standing - approach.from);
            let mut crossing = bench
                .arrival
                .crossing(approach.to_c, bench.noise_c, bench.step_c);
            let at = (first..shown.len()).find(|&at| crossing.reached(shown[at], 1.0))?;
            let modelled_min = (samples[approach.from + at].time_s - from.time_s) / 60.0;
            Some(modelled_min * (1.0 + bench.approach_bias))
        };
        if let Some((learned_min, unsure_min)) = with_uncertainty(bench, learned)
            && approach.to_c - from.temperature_c >= LEAST_C
        {
            let standard_uncertainty_min = unsure_min.hypot(bench.approach_scatter * learned_min);
            if is_less(took_min, learned_min, standard_uncertainty_min) {
                found.push(Doubt::Heater {
                    took_min,
                    learned_min,
                    standard_uncertainty_min,
                });
            }
        }
    }
    found.extend(fan(bench, log));
    found
}

fn is_less(took_min: f64, learned_min: f64, unsure_min: f64) -> bool {
    took_min > (1.0 + LESS) * learned_min && took_min - learned_min > CLEARLY * unsure_min
}

fn with_uncertainty(
    bench: &LearnedBench,
    minutes: impl Fn(&LearnedBench) -> Option<f64>,
) -> Option<(f64, f64)> {
    let learned_min = minutes(bench)?;
    let variance: f64 = bench
        .one_away()
        .iter()
        .filter_map(|other| Some((minutes(other)? - learned_min).powi(2)))
        .sum();
    Some((learned_min, variance.sqrt()))
}

/// The longest stretch of cooling with the fan on, from a moment after its beginning, well above the room: near it a few
/// degrees of room are minutes.
fn fan(bench: &LearnedBench, log: &RunLog) -> Option<Doubt> {
    let stretch = log
        .samples()
        .split(|sample| !(sample.fan && sample.setpoint_c.is_none()))
        .max_by_key(|stretch| stretch.len())?;
    let settled_s = stretch.first()?.time_s
        + 4.0 * (bench.dead_time_s.value + bench.sensor_time_constant_s.value);
    let stretch = &stretch[stretch
        .iter()
        .position(|sample| sample.time_s >= settled_s)?..];
    let near_c = bench.room_c.value + ABOVE_ROOM_C;
    let hot = stretch
        .iter()
        .take_while(|sample| sample.temperature_c >= near_c)
        .count();
    let stretch = &stretch[..hot];
    let (first, last) = (stretch.first()?, stretch.last()?);
    if first.temperature_c - last.temperature_c < LEAST_C {
        return None;
    }
    let took_min = (last.time_s - first.time_s) / 60.0;
    let newton = |bench: &LearnedBench| {
        let excess = |temperature_c: f64| (temperature_c - bench.room_c.value).max(1.0);
        Some(
            bench.fan_time_constant_min.value
                * (excess(first.temperature_c) / excess(last.temperature_c)).ln(),
        )
    };
    let (learned_min, standard_uncertainty_min) = with_uncertainty(bench, newton)?;
    is_less(took_min, learned_min, standard_uncertainty_min).then_some(Doubt::Fan {
        took_min,
        learned_min,
        standard_uncertainty_min,
    })
}
