//! The least-squares problem: courses of a model beside the logs.

use super::model::{ControllerModel, course};
use super::run_log::RunLog;
use levenberg_marquardt::LeastSquaresProblem;
use meltrange_physics::BlockConstants;
use nalgebra::{DMatrix, DVector, Dyn, Owned};

/// Unknowns that all logs share, as natural logarithms.
pub(super) const SHARED: usize = 10;
/// Their places.
pub(super) const RATE: usize = 0;
pub(super) const LOSS: usize = 1;
pub(super) const FAN: usize = 2;
pub(super) const DEAD: usize = 3;
pub(super) const SENSOR: usize = 4;
pub(super) const GAIN: usize = 5;
pub(super) const RESET: usize = 6;
pub(super) const DERIVATIVE: usize = 7;
pub(super) const FORESIGHT: usize = 8;
pub(super) const SLOPE: usize = 9;
/// Unknowns of one log: room and start temperature [°C].
const OF_LOG: usize = 2;

/// What is believed of the shared unknowns before anything is seen: value and standard deviation of its
/// logarithm. Wide, so that a log that says anything at all outweighs it; the first three so wide that
/// what a log leaves open stays open. Common practice, no source: blocks differ no more than this.
const BELIEVED: [(f64, f64); SHARED] = [
    (20.0, 3.0),
    (20.0, 3.0),
    (8.0, 3.0),
    (4.0, 1.0),
    (3.0, 1.0),
    (0.1, 2.0),
    (80.0, 2.0),
    (1.0, 1.5),
    (0.5, 0.7),
    (0.5, 0.7),
];
/// Least and most of each.
const BOUNDS: [(f64, f64); SHARED] = [
    (0.2, 300.0),
    (0.5, 500.0),
    (0.1, 500.0),
    (0.05, 90.0),
    (0.05, 90.0),
    (1e-4, 50.0),
    (1.0, 1e5),
    (0.01, 60.0),
    (0.01, 1.5),
    (0.01, 1.5),
];
/// How well the room of a run is known beforehand [°C].
const ROOM_C: f64 = 4.0;
/// And the temperature at its start, beside the first reading [°C].
const START_C: f64 = 0.1;
/// Step of a numerical derivative, of a logarithm and of a temperature [°C].
const STEP_LN: f64 = 1e-4;
const STEP_C: f64 = 1e-3;

/// Columns of a Jacobian by number, each with the rows of one log.
type Columns = Vec<(usize, Vec<f64>)>;

pub(super) struct Problem<'a> {
    logs: &'a [RunLog],
    room_c: f64,
    point: DVector<f64>,
    /// Deviation of one reading [°C].
    sigma_c: f64,
    /// Of each reading of each log, 0..=1.
    weights: Vec<Vec<f64>>,
}

impl<'a> Problem<'a> {
    pub fn new(logs: &'a [RunLog], room_c: f64, shared: [f64; SHARED]) -> Self {
        let mut point = DVector::zeros(SHARED + OF_LOG * logs.len());
        for (at, value) in shared.into_iter().enumerate() {
            point[at] = value.ln();
        }
        for (number, log) in logs.iter().enumerate() {
            point[SHARED + OF_LOG * number] = room_c;
            point[SHARED + OF_LOG * number + 1] = log.samples()[0].temperature_c;
        }
        Self {
            logs,
            room_c,
            point,
            sigma_c: 0.1,
            weights: logs
                .iter()
                .map(|log| vec![1.0; log.samples().len()])
                .collect(),
        }
    }

    pub fn sigma_c(&self) -> f64 {
        self.sigma_c
    }

    /// Model of the shared unknowns at a point, in a room.
    pub fn model_at(point: &DVector<f64>, room_c: f64) -> (BlockConstants, ControllerModel) {
        let of = |at: usize| point[at].exp().clamp(BOUNDS[at].0, BOUNDS[at].1);
        let constants = BlockConstants {
            room_c,
            full_power_rate_c_per_min: of(RATE),
            loss_time_constant_min: of(LOSS),
            fan_time_constant_min: of(FAN),
            dead_time_s: of(DEAD),
            sensor_time_constant_s: of(SENSOR),
        };
        let controller = ControllerModel {
            gain_per_c: of(GAIN),
            reset_s: of(RESET),
            derivative_s: of(DERIVATIVE),
            foresight: of(FORESIGHT),
            slope_foresight: of(SLOPE),
        };
        (constants, controller)
    }

    pub fn room_of(&self, log: usize) -> f64 {
        self.point[SHARED + OF_LOG * log]
    }

    /// The course of one log at a point [°C].
    pub fn course_of(&self, log: usize, point: &DVector<f64>) -> Option<Vec<f64>> {
        let room_c = point[SHARED + OF_LOG * log];
        let (constants, controller) = Self::model_at(point, room_c);
        let start_c = point[SHARED + OF_LOG * log + 1];
        course(constants, controller, start_c, self.logs[log].samples())
    }

    /// Readings beside the model, each log by itself [°C].
    pub fn deviations_c(&self) -> Option<Vec<Vec<f64>>> {
        (0..self.logs.len())
            .map(|log| {
                let shown = self.course_of(log, &self.point)?;
                let samples = self.logs[log].samples();
                Some(
                    samples
                        .iter()
                        .zip(shown)
                        .map(|(sample, shown_c)| sample.temperature_c - shown_c)
                        .collect(),
                )
            })
            .collect()
    }

    /// Root mean square of what is left over [°C].
    pub fn left_c(&self) -> f64 {
        self.deviations_c().map_or(f64::INFINITY, |deviations_c| {
            let (mut sum, mut count) = (0.0, 0.0);
            for deviation_c in deviations_c.iter().flatten() {
                sum += deviation_c * deviation_c;
                count += 1.0;
            }
            f64::sqrt(sum / count)
        })
    }

    /// Take the spread of the readings from what is left over, and give those far off less weight.
    pub fn reweight(&mut self, floor_c: f64) {
        let Some(deviations_c) = self.deviations_c() else {
            return;
        };
        let mut sizes: Vec<f64> = deviations_c
            .iter()
            .flatten()
            .map(|value| value.abs())
            .collect();
        let middle = sizes.len() / 2;
        let (_, median_c, _) = sizes.select_nth_unstable_by(middle, f64::total_cmp);
        // Of a normal distribution the median deviation is 0.6745 standard deviations.
        self.sigma_c = (*median_c / 0.6745).max(floor_c);
        for (weights, deviations_c) in self.weights.iter_mut().zip(deviations_c) {
            for (weight, deviation_c) in weights.iter_mut().zip(deviations_c) {
                // Huber: beyond 3 standard deviations a reading pulls no harder.
                *weight = (3.0 * self.sigma_c / deviation_c.abs()).min(1.0);
            }
        }
    }

    fn of_log(&self, log: usize, point: &DVector<f64>) -> Option<Vec<f64>> {
        let shown = self.course_of(log, point)?;
        let samples = self.logs[log].samples();
        let rows = samples.iter().zip(shown).zip(&self.weights[log]);
        Some(
            rows.map(|((sample, shown_c), weight)| {
                weight.sqrt() * (shown_c - sample.temperature_c) / self.sigma_c
            })
            .collect(),
        )
    }

    /// Derivatives of one log's rows, column by column.
    fn derivatives(&self, log: usize) -> Option<Columns> {
        let own = SHARED + OF_LOG * log;
        let here = self.of_log(log, &self.point)?;
        (0..SHARED)
            .chain(own..own + OF_LOG)
            .map(|column| {
                let step = if column < SHARED { STEP_LN } else { STEP_C };
                let mut moved = self.point.clone();
                moved[column] += step;
                let above = self.of_log(log, &moved)?;
                let rows = above.iter().zip(&here);
                Some((
                    column,
                    rows.map(|(above, here)| (above - here) / step).collect(),
                ))
            })
            .collect()
    }

    fn rows(&self) -> usize {
        let readings: usize = self.logs.iter().map(|log| log.samples().len()).sum();
        readings + SHARED + OF_LOG * self.logs.len()
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, point: &DVector<f64>) {
        self.point.copy_from(point);
    }

    fn params(&self) -> DVector<f64> {
        self.point.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        let mut rows = Vec::with_capacity(self.rows());
        for log in 0..self.logs.len() {
            rows.extend(self.of_log(log, &self.point)?);
        }
        for (at, (value, sd)) in BELIEVED.into_iter().enumerate() {
            rows.push((self.point[at] - value.ln()) / sd);
        }
        for (log, of) in self.logs.iter().enumerate() {
            rows.push((self.room_of(log) - self.room_c) / ROOM_C);
            let start_c = self.point[SHARED + OF_LOG * log + 1];
            rows.push((start_c - of.samples()[0].temperature_c) / START_C);
        }
        Some(DVector::from_vec(rows))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let mut jacobian = DMatrix::zeros(self.rows(), self.point.len());
        // A log depends on the shared unknowns and its own only; each on a thread of its own.
        let blocks: Vec<Option<Columns>> = std::thread::scope(|scope| {
            let begun: Vec<_> = (0..self.logs.len())
                .map(|log| scope.spawn(move || self.derivatives(log)))
                .collect();
            begun
                .into_iter()
                .map(|one| one.join().ok().flatten())
                .collect()
        });
        let mut first = 0;
        for (log, block) in blocks.into_iter().enumerate() {
            for (column, rows) in block? {
                for (row, value) in rows.into_iter().enumerate() {
                    jacobian[(first + row, column)] = value;
                }
            }
            first += self.logs[log].samples().len();
        }
        for (at, (_, sd)) in BELIEVED.into_iter().enumerate() {
            jacobian[(first + at, at)] = 1.0 / sd;
        }
        first += SHARED;
        for log in 0..self.logs.len() {
            let own = SHARED + OF_LOG * log;
            jacobian[(first + OF_LOG * log, own)] = 1.0 / ROOM_C;
            jacobian[(first + OF_LOG * log + 1, own + 1)] = 1.0 / START_C;
        }
        Some(jacobian)
    }
}
