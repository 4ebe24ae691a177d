//! A study as a whole: from cells to precision, h and k, who stands out, and biases.

use super::bias::{ReaderBias, bias};
use super::critical::{CriticalValues, mandel_h_critical, mandel_k_critical};
use super::mandel;
use super::outliers::{self, StudyOutlier};
use super::precision::{LevelPrecision, precision};
use super::study::{ComparisonError, ReaderStudy};
use serde::{Deserialize, Serialize};

/// Readers compared at one end of the range.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct EndComparison {
    /// Levels of the study.
    pub levels: Vec<String>,
    /// Each reader over all levels.
    pub readers: Vec<ReaderBias>,
    /// Each level.
    pub by_level: Vec<LevelPrecision>,
    /// Mandel's h: one row per reader, one column per level; `None` where it cannot be had.
    pub h: Vec<Vec<Option<f64>>>,
    /// Mandel's k, likewise.
    pub k: Vec<Vec<Option<f64>>>,
    /// Critical values of h, per level.
    pub h_critical: Vec<CriticalValues>,
    /// Critical values of k, per level, for the mean number of values of those who repeated, rounded.
    pub k_critical: Vec<CriticalValues>,
    /// Who stands out, level by level.
    pub outliers: Vec<StudyOutlier>,
}

/// Compare the readers of a study. Nothing is left out of any number: who stands out is named, and people decide.
///
/// # Errors
/// [`ComparisonError`] for fewer than 2 readers and for readers or levels without a value.
///
/// # Example
/// Three readers, two readings each; the third reads high:
/// ```
/// use meltrange_metrology::{ReaderStudy, compare_readers};
/// let names = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect();
/// let mut study = ReaderStudy::new(names(&["Ada", "Ben", "Cem"]), names(&["plain"]))?;
/// for (reader, errors_c) in [[0.0, 0.1], [-0.1, 0.0], [0.5, 0.6]].iter().enumerate() {
///     for &error_c in errors_c {
///         study.add(reader, 0, error_c)?;
///     }
/// }
/// let found = compare_readers(&study)?;
/// assert!((found.readers[2].bias_c - 0.55).abs() < 1e-12);
/// let level = &found.by_level[0];
/// assert!((level.repeatability_sd_c.unwrap_or_default() - 0.0707).abs() < 1e-4);
/// assert!(level.between_readers_sd_c > level.repeatability_sd_c);
/// # Ok::<(), meltrange_metrology::ComparisonError>(())
/// ```
pub fn compare_readers(study: &ReaderStudy) -> Result<EndComparison, ComparisonError> {
    study.check()?;
    let mut found = EndComparison {
        levels: study.levels().to_vec(),
        readers: study
            .readers()
            .iter()
            .enumerate()
            .map(|(place, reader)| bias(reader, &study.of_reader(place)))
            .collect(),
        by_level: Vec::new(),
        h: vec![Vec::new(); study.readers().len()],
        k: vec![Vec::new(); study.readers().len()],
        h_critical: Vec::new(),
        k_critical: Vec::new(),
        outliers: Vec::new(),
    };
    for (place, level) in study.levels().iter().enumerate() {
        let cells = study.at_level(place);
        found.by_level.push(precision(level, &cells));
        for (row, h) in found.h.iter_mut().zip(mandel::h(&cells)) {
            row.push(h);
        }
        for (row, k) in found.k.iter_mut().zip(mandel::k(&cells)) {
            row.push(k);
        }
        let readers = cells.iter().flatten().count();
        let (repeating, _) = mandel::variances(&cells);
        let n = mandel::usual_n(&cells);
        found.h_critical.push(CriticalValues::of(|significance| {
            mandel_h_critical(readers, significance)
        }));
        found.k_critical.push(CriticalValues::of(|significance| {
            mandel_k_critical(repeating, n, significance)
        }));
        found.outliers.extend(outliers::at_level(study, place));
    }
    Ok(found)
}
