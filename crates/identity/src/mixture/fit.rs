//! The interaction parameter from own points of a diagram.

use super::{Pair, celsius};
use crate::least::least;
use meltrange_physics::MeltingError;
use serde::Serialize;

/// A point that was measured; at least one of the temperatures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PairPoint {
    /// 0..=1.
    pub mole_fraction_b: f64,
    /// Where the last crystal went [°C].
    pub liquidus_c: Option<f64>,
    /// Where the first liquid came [°C].
    pub solidus_c: Option<f64>,
}

/// What the points gave.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct FittedInteraction {
    /// w of the one-parameter model [J/mol].
    pub interaction_j_per_mol: f64,
    /// Its standard uncertainty [J/mol].
    pub standard_uncertainty: f64,
    /// Root mean square of what is left over [°C].
    pub left_c: f64,
    /// The same of the ideal law [°C].
    pub left_ideal_c: f64,
    /// Temperatures that were fitted.
    pub temperatures: usize,
}

/// Why points cannot be fitted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FitError {
    /// Too few of them between the pure substances.
    #[error("{found} temperatures between the pure substances; expected 2 at least")]
    TooFew {
        /// So many.
        found: usize,
    },
    /// The ends are those of the other substance.
    #[error(
        "at mole fraction {mole_fraction_b} of {b} the last crystal goes at {found_c} °C, where {expected_c:.1} °C is expected and {other_c:.1} °C would be with the two exchanged; look whether the column is the mole fraction of {a}"
    )]
    Exchanged {
        /// First substance.
        a: String,
        /// Second.
        b: String,
        /// Of the point.
        mole_fraction_b: f64,
        /// Its temperature.
        found_c: f64,
        /// Of the pure substance there.
        expected_c: f64,
        /// Of the other.
        other_c: f64,
    },
    /// The simple picture fits them badly.
    #[error("{0}")]
    Melting(#[from] MeltingError),
}

/// Interactions that are tried [J/mol].
const WIDEST: f64 = 8_000.0;
/// A point nearer to a pure substance than this is one of its ends.
const END: f64 = 0.02;
/// An end that is nearer to the other substance by so much was exchanged [°C].
const EXCHANGED_C: f64 = 3.0;

impl Pair {
    /// Fit the interaction to own points.
    ///
    /// # Errors
    /// [`FitError`]: too few points, or columns that are exchanged.
    pub fn fitted(&self, points: &[PairPoint]) -> Result<(Self, FittedInteraction), FitError> {
        self.not_exchanged(points)?;
        let inside: Vec<PairPoint> = points
            .iter()
            .copied()
            .filter(|point| (END..=1.0 - END).contains(&point.mole_fraction_b))
            .collect();
        let temperatures = |points: &[PairPoint]| -> usize {
            let of_point = |point: &PairPoint| {
                usize::from(point.liquidus_c.is_some()) + usize::from(point.solidus_c.is_some())
            };
            points.iter().map(of_point).sum()
        };
        let found = temperatures(&inside);
        if found < 2 {
            return Err(FitError::TooFew { found });
        }
        let misses = |interaction: f64| {
            let pair = self.clone().with_interaction(interaction);
            let left = pair.and_then(|pair| pair.deviations(&inside));
            // Points that make no diagram are told below, with the interaction that is least.
            left.map_or(f64::INFINITY, |left| left.iter().map(|one| one * one).sum())
        };
        let interaction_j_per_mol = least([-WIDEST, WIDEST], misses);
        let fitted = self.clone().with_interaction(interaction_j_per_mol)?;
        let all: Vec<PairPoint> = points.to_vec();
        let rms = |left: &[f64]| {
            (left.iter().map(|one| one * one).sum::<f64>() / left.len().max(1) as f64).sqrt()
        };
        let left = fitted.deviations(&inside)?;
        let moved = self
            .clone()
            .with_interaction(interaction_j_per_mol + 10.0)?;
        let slopes: f64 = moved
            .deviations(&inside)?
            .iter()
            .zip(&left)
            .map(|(moved, here)| ((moved - here) / 10.0).powi(2))
            .sum();
        let variance = left.iter().map(|one| one * one).sum::<f64>() / (found - 1) as f64;
        let told = FittedInteraction {
            interaction_j_per_mol,
            standard_uncertainty: (variance / slopes).sqrt(),
            left_c: rms(&fitted.deviations(&all)?),
            left_ideal_c: rms(&self.clone().with_interaction(0.0)?.deviations(&all)?),
            temperatures: temperatures(&all),
        };
        Ok((fitted, told))
    }

    /// Measured less the model's, each temperature [°C].
    fn deviations(&self, points: &[PairPoint]) -> Result<Vec<f64>, MeltingError> {
        let eutectic_c = celsius(self.mixture().eutectic().temperature);
        let mut left = Vec::new();
        for point in points {
            if let Some(liquidus_c) = point.liquidus_c {
                let (at, _) = self.mixture().liquidus(point.mole_fraction_b)?;
                left.push(liquidus_c - celsius(at));
            }
            let inside = (END..=1.0 - END).contains(&point.mole_fraction_b);
            if let Some(solidus_c) = point.solidus_c.filter(|_| inside) {
                left.push(solidus_c - eutectic_c);
            }
        }
        Ok(left)
    }

    fn not_exchanged(&self, points: &[PairPoint]) -> Result<(), FitError> {
        let [a, b] = self.solids();
        for point in points {
            let Some(found_c) = point.liquidus_c else {
                continue;
            };
            let (expected_c, other_c) = if point.mole_fraction_b <= END {
                (a.melting_c, b.melting_c)
            } else if point.mole_fraction_b >= 1.0 - END {
                (b.melting_c, a.melting_c)
            } else {
                continue;
            };
            if (found_c - other_c).abs() + EXCHANGED_C < (found_c - expected_c).abs() {
                return Err(FitError::Exchanged {
                    a: a.name.clone(),
                    b: b.name.clone(),
                    mole_fraction_b: point.mole_fraction_b,
                    found_c,
                    expected_c,
                    other_c,
                });
            }
        }
        Ok(())
    }
}
