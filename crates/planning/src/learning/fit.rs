//! Learning a bench from the logs of its runs.

use super::arrival::Arrival;
use super::learned::{ApproachStyle, LearnedBench, LearnedConstant};
use super::problem::{
    DEAD, DERIVATIVE, FAN, FORESIGHT, GAIN, LOSS, Problem, RATE, RESET, SENSOR, SHARED, SLOPE,
};
use super::run_log::{Approach, RunLog};
use super::told::{Display, scan_end, scan_scatter_c, scatter, style};
use levenberg_marquardt::{LeastSquaresProblem as _, LevenbergMarquardt};
use nalgebra::{DMatrix, DVector};
use rand::{RngExt as _, SeedableRng as _};
use rand_xoshiro::Xoshiro256PlusPlus;

/// Least spread that a reading is given [°C]: a display in steps of 0.1 °C.
const FLOOR_C: f64 = 0.03;
/// So many starts are followed to their ends, and so many more from near the best, while the fit is poor.
const FOLLOWED: usize = 4;
const NEARBY: usize = 12;
/// A fit that leaves no more than so many times the readings' noise is good.
const ENOUGH_NOISES: f64 = 1.2;
/// A constant whose relative standard uncertainty is above this is not identified.
const LEAST_KNOWN: [(usize, &str, &str, f64); 3] = [
    (
        RATE,
        "heater limit",
        "a run whose approach goes over some tens of degrees at full power",
        0.15,
    ),
    (
        LOSS,
        "losses with the fan off",
        "a long approach at full power, or a run in which the hot block cools with heating and fan off",
        0.35,
    ),
    (
        FAN,
        "fan cooling",
        "a run that ends with the fan on, over some tens of degrees",
        0.2,
    ),
];
/// The delay, dead time and sensor lag together, must be known as well as this [s].
const DELAY_KNOWN_S: f64 = 8.0;

/// Why nothing was learned.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LearnError {
    /// No logs.
    #[error("no logs of runs; expected at least one, better five")]
    NoLogs,
    /// One log twice.
    #[error(
        "{one} and {other} are the same log; expected each run once: twice told is not twice known"
    )]
    Same {
        /// One of them.
        one: String,
        /// The other.
        other: String,
    },
    /// Something stays open.
    #[error("the logs do not tell: {}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))]
    Unidentified(Vec<Unidentified>),
    /// No block under a controller fits.
    #[error(
        "no block with a heater, losses and a controller does what the logs show: {left_c:.1} °C are left unexplained; look whether temperature_c and setpoint_c belong together and time_s is in seconds"
    )]
    NoFit {
        /// Root mean square of what is left over [°C].
        left_c: f64,
    },
}

/// A constant the logs leave open.
#[derive(Debug, Clone, PartialEq)]
pub struct Unidentified {
    /// Which.
    pub constant: &'static str,
    /// What would tell it.
    pub needs: &'static str,
    /// How well it would be known: relative standard uncertainty, or none where nothing bears on it.
    pub relative_uncertainty: Option<f64>,
}

impl std::fmt::Display for Unidentified {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.constant)?;
        match self.relative_uncertainty {
            Some(part) => write!(f, " (only to {:.0} %)", 100.0 * part)?,
            None => write!(f, " (nothing bears on it)")?,
        }
        write!(f, "; add {}", self.needs)
    }
}

/// A root mean square beyond this is no fit [°C].
const NO_FIT_C: f64 = 3.0;

/// Learn a bench from logs of its runs; `room_c` is what its file says. Some seconds; `come` is told how far it has come, 0 to 1.
///
/// # Errors
/// [`LearnError`]: no logs, one twice, a constant that the logs leave open, or logs that no block explains.
pub fn learn(
    logs: &[RunLog],
    room_c: f64,
    come: &mut dyn FnMut(f64),
) -> Result<LearnedBench, LearnError> {
    if logs.is_empty() {
        return Err(LearnError::NoLogs);
    }
    for (number, one) in logs.iter().enumerate() {
        if let Some(other) = logs[number + 1..]
            .iter()
            .find(|other| one.samples() == other.samples())
        {
            return Err(LearnError::Same {
                one: one.name().into(),
                other: other.name().into(),
            });
        }
    }
    nothing_bears_on(logs)?;
    let thinned: Vec<RunLog> = logs.iter().map(RunLog::thinned).collect();
    let logs = &thinned[..];
    let best = best_fit(logs, room_c, come).ok_or(LearnError::NoLogs)?;
    if !best.left_c.is_finite() || best.left_c > NO_FIT_C {
        return Err(LearnError::NoFit {
            left_c: best.left_c,
        });
    }
    let learned = put_together(logs, &best);
    identified(&best, learned.approach)?;
    Ok(learned)
}

/// The best of several fits. The valleys are many: each start is followed a little way, then those that look best to their
/// ends, then starts near the best, until what is left over is hardly more than the readings' own noise.
fn best_fit<'a>(logs: &'a [RunLog], room_c: f64, come: &mut dyn FnMut(f64)) -> Option<Fitted<'a>> {
    let starts = starts(logs, room_c);
    let steps = (starts.len() + FOLLOWED + NEARBY) as f64;
    let mut done = 0.0;
    let mut step = || {
        done += 1.0;
        come(done / steps);
    };
    let rough = LevenbergMarquardt::new().with_tol(1e-3).with_patience(3);
    let mut begun = Vec::with_capacity(starts.len());
    for shared in starts {
        begun.push(rough.minimize(Problem::new(logs, room_c, shared)).0);
        step();
    }
    begun.sort_by(|a, b| a.left_c().total_cmp(&b.left_c()));
    let enough_c = ENOUGH_NOISES * noise_c(logs);
    let mut best: Option<Fitted<'a>> = None;
    let mut take = |found: Fitted<'a>, best: &mut Option<Fitted<'a>>| {
        step();
        if best.as_ref().is_none_or(|best| found.left_c < best.left_c) {
            *best = Some(found);
        }
        best.as_ref().is_some_and(|best| best.left_c <= enough_c)
    };
    for problem in begun.into_iter().take(FOLLOWED) {
        if take(fitted(problem), &mut best) {
            return best;
        }
    }
    // Always the same chance: the same logs give the same bench.
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(1);
    for _ in 0..NEARBY {
        let from = best.as_ref()?;
        let mut point = from.point.clone();
        for place in [DEAD, SENSOR, GAIN, RESET, DERIVATIVE, FORESIGHT, SLOPE] {
            point[place] += chance.random_range(-1.5..1.5);
        }
        let nearby = fitted(from.problem.begun_at(point));
        if take(nearby, &mut best) {
            return best;
        }
    }
    best
}

/// Noise of the readings themselves, rounding included: second differences, the largest tenth left out [°C].
fn noise_c(logs: &[RunLog]) -> f64 {
    let mut squares: Vec<f64> = logs
        .iter()
        .flat_map(|log| log.samples().windows(3))
        .map(|three| {
            let [a, b, c] = [0, 1, 2].map(|at| three[at].temperature_c);
            (a - 2.0 * b + c).powi(2) / 6.0
        })
        .collect();
    squares.sort_by(f64::total_cmp);
    squares.truncate(squares.len() - squares.len() / 10);
    // A normal distribution without its largest tenth has 0.62 of its variance left.
    let mean = squares.iter().sum::<f64>() / squares.len().max(1) as f64;
    (mean / 0.62).sqrt().max(FLOOR_C)
}

/// What cannot be learned whatever the fit says.
fn nothing_bears_on(logs: &[RunLog]) -> Result<(), LearnError> {
    let mut open = Vec::new();
    let samples = || logs.iter().flat_map(|log| log.samples());
    let falls_with_fan = logs.iter().any(|log| {
        let fan = log.samples().iter().filter(|sample| sample.fan);
        let temperatures = || fan.clone().map(|sample| sample.temperature_c);
        temperatures().fold(f64::NEG_INFINITY, f64::max)
            - temperatures().fold(f64::INFINITY, f64::min)
            >= 3.0
    });
    let approaches = logs.iter().any(|log| !log.approaches().is_empty());
    for (place, constant, needs, _) in LEAST_KNOWN {
        let bears = match place {
            RATE => approaches && samples().any(|sample| sample.setpoint_c.is_some()),
            FAN => falls_with_fan,
            _ => true,
        };
        if !bears {
            open.push(Unidentified {
                constant,
                needs,
                relative_uncertainty: None,
            });
        }
    }
    if open.is_empty() {
        Ok(())
    } else {
        Err(LearnError::Unidentified(open))
    }
}

/// Where fits begin: little and much foresight, a soft and a stiff controller.
fn starts(logs: &[RunLog], room_c: f64) -> Vec<[f64; SHARED]> {
    let steepest = logs.iter().map(steepest_c_per_min).fold(1.0, f64::max);
    let fan_min = logs
        .iter()
        .filter_map(|log| fan_time_constant_min(log, room_c))
        .fold(None, |least: Option<f64>, found| {
            Some(least.map_or(found, |least| least.min(found)))
        })
        .unwrap_or(8.0);
    let mut starts = Vec::new();
    for foresight in [0.1, 0.9] {
        for (gain_per_c, reset_s) in [(0.03, 20.0), (0.05, 80.0), (0.15, 60.0), (0.5, 80.0)] {
            let rate = 1.2 * steepest;
            starts.push([
                rate, 20.0, fan_min, 4.0, 3.0, gain_per_c, reset_s, 1.0, foresight, foresight,
            ]);
        }
    }
    starts
}

/// Steepest rise over some 20 s [°C/min].
fn steepest_c_per_min(log: &RunLog) -> f64 {
    let stride = (20.0 / log.spacing_s()).ceil().max(1.0) as usize;
    let samples = log.samples();
    samples
        .iter()
        .zip(samples.iter().skip(stride))
        .map(|(from, to)| {
            60.0 * (to.temperature_c - from.temperature_c) / (to.time_s - from.time_s)
        })
        .fold(0.0, f64::max)
}

/// Newton's time constant from the ends of the longest stretch with the fan on and the heating off [min].
fn fan_time_constant_min(log: &RunLog, room_c: f64) -> Option<f64> {
    let stretch = log
        .samples()
        .split(|sample| !(sample.fan && sample.setpoint_c.is_none()))
        .max_by_key(|stretch| stretch.len())?;
    let (first, last) = (stretch.first()?, stretch.last()?);
    let ratio = (first.temperature_c - room_c) / (last.temperature_c - room_c).max(0.5);
    (ratio > 1.05).then(|| (last.time_s - first.time_s) / 60.0 / ratio.ln())
}

/// A fit with what is needed of it.
pub(super) struct Fitted<'a> {
    pub problem: Problem<'a>,
    pub point: DVector<f64>,
    /// Of the unknowns, autocorrelation of what is left over counted in.
    covariance: Option<DMatrix<f64>>,
    /// Root mean square of what is left over [°C].
    left_c: f64,
}

fn fitted(mut problem: Problem<'_>) -> Fitted<'_> {
    let optimiser = LevenbergMarquardt::new().with_tol(1e-6).with_patience(10);
    // Twice, each time with the spread taken from what the fit before left over.
    for _ in 0..2 {
        problem.reweight(FLOOR_C);
        problem = optimiser.minimize(problem).0;
    }
    let point = problem.params();
    let left_c = problem.left_c();
    let covariance = problem.jacobian().and_then(|jacobian| {
        let inverse = (jacobian.transpose() * &jacobian).try_inverse()?;
        let excess = (left_c / problem.sigma_c()).max(1.0);
        Some(inverse * excess * excess * repeats(&problem))
    });
    Fitted {
        problem,
        point,
        covariance,
        left_c,
    }
}

/// By how much the readings are fewer than they seem, because what is left over of one is much like that
/// of the next: 1 + 2 Σ ρ_k up to the first ρ_k below 0.05 (mean of the logs).
fn repeats(problem: &Problem<'_>) -> f64 {
    let Some(deviations_c) = problem.deviations_c() else {
        return 1.0;
    };
    let of_log = |values: &Vec<f64>| {
        let at_lag = |lag: usize| -> f64 {
            values
                .iter()
                .zip(values.iter().skip(lag))
                .map(|(a, b)| a * b)
                .sum()
        };
        let whole = at_lag(0);
        let mut factor = 1.0;
        for lag in 1..values.len() / 2 {
            let part = at_lag(lag) / whole;
            if part.is_nan() || part < 0.05 {
                break;
            }
            factor += 2.0 * part;
        }
        factor
    };
    deviations_c.iter().map(of_log).sum::<f64>() / deviations_c.len() as f64
}

/// A setpoint that is led never asks for all the heater has: then its limit and the losses hardly show, and
/// hardly matter to what the block does.
fn identified(fit: &Fitted<'_>, approach: ApproachStyle) -> Result<(), LearnError> {
    let led = matches!(approach, ApproachStyle::Led { .. });
    let variance = |a: usize, b: usize| fit.covariance.as_ref().map(|found| found[(a, b)]);
    let mut open = Vec::new();
    for (place, constant, needs, most) in LEAST_KNOWN {
        let part = variance(place, place).map(f64::sqrt);
        if led && [RATE, LOSS].contains(&place) {
            continue;
        }
        if part.is_none_or(|part| part.is_nan() || part > most) {
            open.push(Unidentified {
                constant,
                needs,
                relative_uncertainty: part.filter(|part| *part < 2.0),
            });
        }
    }
    let (dead_s, sensor_s) = (fit.point[DEAD].exp(), fit.point[SENSOR].exp());
    let delay_s = variance(DEAD, DEAD)
        .zip(variance(SENSOR, SENSOR))
        .zip(variance(DEAD, SENSOR))
        .map(|((dead, sensor), both)| {
            (dead * dead_s * dead_s + sensor * sensor_s * sensor_s + 2.0 * both * dead_s * sensor_s)
                .max(0.0)
                .sqrt()
        });
    if delay_s.is_none_or(|delay_s| delay_s > DELAY_KNOWN_S) {
        open.push(Unidentified {
            constant: "dead time and sensor lag",
            needs: "a run logged at least every 5 s in which the heating sets in on a cold block",
            relative_uncertainty: delay_s.map(|delay_s| delay_s / (dead_s + sensor_s)),
        });
    }
    if open.is_empty() {
        Ok(())
    } else {
        Err(LearnError::Unidentified(open))
    }
}

fn put_together(logs: &[RunLog], fit: &Fitted<'_>) -> LearnedBench {
    let count = logs.len() as f64;
    let rooms: Vec<f64> = (0..logs.len())
        .map(|log| fit.problem.room_of(log))
        .collect();
    let room_c = rooms.iter().sum::<f64>() / count;
    let spread = rooms
        .iter()
        .map(|own_c| (own_c - room_c).powi(2))
        .sum::<f64>();
    let (constants, controller) = Problem::model_at(&fit.point, room_c);
    let uncertain = |place: usize| {
        fit.covariance
            .as_ref()
            .map_or(f64::INFINITY, |found| found[(place, place)].max(0.0).sqrt())
    };
    let constant = |place: usize, value: f64| LearnedConstant {
        value,
        standard_uncertainty: value * uncertain(place),
    };
    let approaches: Vec<(usize, Approach)> = logs
        .iter()
        .enumerate()
        .flat_map(|(number, log)| {
            log.approaches()
                .into_iter()
                .map(move |found| (number, found))
        })
        .collect();
    let display = Display::of(logs, fit.problem.sigma_c());
    let arrival = Arrival::of(fit, logs, &approaches, display);
    let (approach_bias, approach_scatter) = scatter(fit, logs, &approaches, arrival, display);
    let mut covariance = Vec::with_capacity(SHARED * SHARED);
    if let Some(found) = &fit.covariance {
        for row in 0..SHARED {
            covariance.extend((0..SHARED).map(|column| found[(row, column)]));
        }
    }
    LearnedBench {
        logs: logs.len() as u32,
        room_c: LearnedConstant {
            value: room_c,
            standard_uncertainty: (spread / (count - 1.0).max(1.0)).sqrt().max(0.5),
        },
        full_power_rate_c_per_min: constant(RATE, constants.full_power_rate_c_per_min),
        loss_time_constant_min: constant(LOSS, constants.loss_time_constant_min),
        fan_time_constant_min: constant(FAN, constants.fan_time_constant_min),
        dead_time_s: constant(DEAD, constants.dead_time_s),
        sensor_time_constant_s: constant(SENSOR, constants.sensor_time_constant_s),
        gain_per_c: constant(GAIN, controller.gain_per_c),
        reset_s: constant(RESET, controller.reset_s),
        derivative_s: constant(DERIVATIVE, controller.derivative_s),
        foresight: constant(FORESIGHT, controller.foresight),
        slope_foresight: constant(SLOPE, controller.slope_foresight),
        approach: style(&approaches),
        arrival,
        scan_ends_at: scan_end(logs),
        approach_bias,
        approach_scatter,
        scan_scatter_c: scan_scatter_c(fit, logs),
        noise_c: display.noise_c,
        step_c: display.step_c,
        spacing_s: display.spacing_s,
        left_c: fit.left_c,
        highest_seen_c: logs
            .iter()
            .flat_map(|log| log.samples())
            .map(|sample| sample.temperature_c)
            .fold(f64::NEG_INFINITY, f64::max),
        covariance,
    }
}
