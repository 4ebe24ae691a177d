//! Mandel's h and k: how a reader's mean and scatter compare with those of the others.

use super::precision::{ROUNDING, general_mean_c, largest};
use super::study::Cell;

/// h of each reader at a level: its mean less the general mean over the standard deviation of the means about
/// that; `None` for an empty cell, fewer than 3 readers, or means that are all the same.
///
/// # Source
/// ISO 5725-2:1994, 7.3.1.
pub(super) fn h(cells: &[Option<Cell>]) -> Vec<Option<f64>> {
    let present: Vec<Cell> = cells.iter().flatten().copied().collect();
    let p = present.len();
    let mean_c = general_mean_c(&present);
    let squares: f64 = present
        .iter()
        .map(|cell| (cell.mean_c - mean_c).powi(2))
        .sum();
    let scale = (squares / (p as f64 - 1.0)).sqrt();
    let differ = scale > ROUNDING * largest(present.iter().map(|cell| cell.mean_c));
    cells
        .iter()
        .map(|cell| cell.map(|cell| (cell.mean_c - mean_c) / scale))
        .map(|h| h.filter(|_| p > 2 && differ))
        .collect()
}

/// k of each reader at a level: its standard deviation over the root of the mean variance; `None` for fewer than 2
/// values, fewer than 2 such readers, or values that never scatter.
///
/// # Source
/// ISO 5725-2:1994, 7.3.1.
pub(super) fn k(cells: &[Option<Cell>]) -> Vec<Option<f64>> {
    let (p, sum) = variances(cells);
    let scale = (sum / p as f64).sqrt();
    cells
        .iter()
        .map(|cell| cell.and_then(|cell| cell.variance()))
        .map(|variance| variance.map(|variance| variance.sqrt() / scale))
        .map(|k| k.filter(|k| p > 1 && k.is_finite()))
        .collect()
}

/// How many readers have a variance, and the sum of these.
pub(super) fn variances(cells: &[Option<Cell>]) -> (usize, f64) {
    cells
        .iter()
        .flatten()
        .filter_map(Cell::variance)
        .fold((0, 0.0), |(p, sum), variance| (p + 1, sum + variance))
}

/// Values of a reader that repeated, as a whole number: the mean over those who did, rounded. Critical values are
/// for equal numbers; ISO 5725-2 allows moderately unequal ones.
pub(super) fn usual_n(cells: &[Option<Cell>]) -> usize {
    let numbers: Vec<usize> = cells
        .iter()
        .flatten()
        .map(|cell| cell.n)
        .filter(|&n| n > 1)
        .collect();
    if numbers.is_empty() {
        return 0;
    }
    (numbers.iter().sum::<usize>() as f64 / numbers.len() as f64).round() as usize
}
