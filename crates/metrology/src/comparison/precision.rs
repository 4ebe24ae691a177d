//! How well readers repeat, and how far they differ, at one level.

use super::study::Cell;
use serde::{Deserialize, Serialize};

/// Precision at one level.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LevelPrecision {
    /// Name of the level.
    pub level: String,
    /// Readers with values there.
    pub readers: usize,
    /// Values there.
    pub n: usize,
    /// General mean: of all values there [°C].
    pub mean_c: f64,
    /// Standard deviation of one reader's repeated values [°C]; `None` where nobody repeated.
    #[cfg_attr(feature = "schema", schema(required))]
    pub repeatability_sd_c: Option<f64>,
    /// Standard deviation of readers' own means in the long run [°C]; 0 where readers differ no more than
    /// their repeatability explains. `None` for one reader, or where nobody repeated.
    #[cfg_attr(feature = "schema", schema(required))]
    pub between_readers_sd_c: Option<f64>,
    /// Standard deviation of values of different readers [°C].
    #[cfg_attr(feature = "schema", schema(required))]
    pub reproducibility_sd_c: Option<f64>,
}

/// Estimates with unequal numbers per cell.
///
/// s_r² = Σ(nᵢ − 1)sᵢ² / Σ(nᵢ − 1); s_d² = Σnᵢ(ȳᵢ − m)² / (p − 1); n̄ = (Σnᵢ − Σnᵢ²/Σnᵢ)/(p − 1);
/// s_L² = (s_d² − s_r²)/n̄, 0 if negative; s_R² = s_r² + s_L².
///
/// # Source
/// ISO 5725-2:1994, 7.4.5 (the same in the edition of 2019).
pub(super) fn precision(level: &str, cells: &[Option<Cell>]) -> LevelPrecision {
    let cells: Vec<Cell> = cells.iter().flatten().copied().collect();
    let p = cells.len() as f64;
    let total: f64 = cells.iter().map(|cell| cell.n as f64).sum();
    let mean_c = general_mean_c(&cells);
    let within = total - p;
    let repeatability =
        (within > 0.0).then(|| cells.iter().map(|cell| cell.squares).sum::<f64>() / within);
    let between = repeatability.filter(|_| cells.len() > 1).map(|within| {
        let squares: f64 = cells
            .iter()
            .map(|cell| cell.n as f64 * (cell.mean_c - mean_c).powi(2))
            .sum();
        let n_squared: f64 = cells.iter().map(|cell| (cell.n as f64).powi(2)).sum();
        let n_mean = (total - n_squared / total) / (p - 1.0);
        ((squares / (p - 1.0) - within) / n_mean).max(0.0)
    });
    LevelPrecision {
        level: level.to_owned(),
        readers: cells.len(),
        n: cells.iter().map(|cell| cell.n).sum(),
        mean_c,
        repeatability_sd_c: repeatability.map(f64::sqrt),
        between_readers_sd_c: between.map(f64::sqrt),
        reproducibility_sd_c: repeatability
            .zip(between)
            .map(|(within, between)| (within + between).sqrt()),
    }
}

/// Mean of all values of a level [°C]; NaN of none. Seen from the first mean, so that means that are all the same have
/// exactly that mean.
pub(super) fn general_mean_c(cells: &[Cell]) -> f64 {
    let from_c = cells.first().map_or(f64::NAN, |cell| cell.mean_c);
    let total: f64 = cells.iter().map(|cell| cell.n as f64).sum();
    let sum: f64 = cells
        .iter()
        .map(|cell| cell.n as f64 * (cell.mean_c - from_c))
        .sum();
    from_c + sum / total
}

/// Differences that are rounding and no scatter, relative to the values.
pub(super) const ROUNDING: f64 = 1e-12;

/// Largest of some values without their sign: what [`ROUNDING`] is relative to.
pub(super) fn largest(values: impl Iterator<Item = f64>) -> f64 {
    values.map(f64::abs).fold(0.0, f64::max)
}
