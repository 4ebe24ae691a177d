//! A study: readers, levels, and what each reader read at each level.

use std::collections::BTreeSet;

/// What readers read, cell by cell: reader × level, any number of values in each.
///
/// A level is a recording or a kind of recordings; a value is an error against truth or consensus, or a
/// temperature, the same for all [°C].
#[derive(Debug, Clone, PartialEq)]
pub struct ReaderStudy {
    readers: Vec<String>,
    levels: Vec<String>,
    /// By reader, then level.
    cells: Vec<Vec<Vec<f64>>>,
}

/// Why readers could not be compared.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ComparisonError {
    /// The same name twice.
    #[error("{what} \"{name}\" is listed twice; expected each once")]
    Twice {
        /// "reader" or "level".
        what: &'static str,
        /// Its name.
        name: String,
    },
    /// A place that is not in the study.
    #[error("{what} number {found} (from 0) is not in the study; it has {count}")]
    NotThere {
        /// "reader" or "level".
        what: &'static str,
        /// As asked, from 0.
        found: usize,
        /// How many there are.
        count: usize,
    },
    /// Not a number.
    #[error("a value of {reader} at {level} is {found}; expected a number of °C")]
    NotFinite {
        /// Name of the reader.
        reader: String,
        /// Name of the level.
        level: String,
        /// As given.
        found: f64,
    },
    /// Nobody to compare with.
    #[error("{found} readers; expected at least 2 to compare them")]
    TooFewReaders {
        /// How many.
        found: usize,
    },
    /// A reader without a value.
    #[error("{reader} has not read anything; leave out who has no values")]
    NothingRead {
        /// Name of the reader.
        reader: String,
    },
    /// A level without a value.
    #[error("nobody has read {level}; leave out levels without values")]
    NobodyRead {
        /// Name of the level.
        level: String,
    },
}

impl ReaderStudy {
    /// A study without values.
    ///
    /// # Errors
    /// [`ComparisonError::Twice`] when two readers or two levels have one name.
    pub fn new(readers: Vec<String>, levels: Vec<String>) -> Result<Self, ComparisonError> {
        unique("reader", &readers)?;
        unique("level", &levels)?;
        Ok(Self {
            cells: vec![vec![Vec::new(); levels.len()]; readers.len()],
            readers,
            levels,
        })
    }

    /// Add a value [°C] of a reader at a level, both counted from 0.
    ///
    /// # Errors
    /// [`ComparisonError`] for a reader or level that is not in the study and for what is no number.
    pub fn add(
        &mut self,
        reader: usize,
        level: usize,
        value_c: f64,
    ) -> Result<(), ComparisonError> {
        let not_there = |what, found, count| ComparisonError::NotThere { what, found, count };
        let (readers, levels) = (self.readers.len(), self.levels.len());
        let row = self
            .cells
            .get_mut(reader)
            .ok_or_else(|| not_there("reader", reader, readers))?;
        let cell = row
            .get_mut(level)
            .ok_or_else(|| not_there("level", level, levels))?;
        if !value_c.is_finite() {
            return Err(ComparisonError::NotFinite {
                reader: self.readers[reader].clone(),
                level: self.levels[level].clone(),
                found: value_c,
            });
        }
        cell.push(value_c);
        Ok(())
    }

    /// Names of the readers.
    pub fn readers(&self) -> &[String] {
        &self.readers
    }

    /// Names of the levels.
    pub fn levels(&self) -> &[String] {
        &self.levels
    }

    /// Values of a reader over all levels, level by level.
    pub(super) fn of_reader(&self, reader: usize) -> Vec<f64> {
        self.cells[reader].concat()
    }

    /// The cells of a level, one for each reader, empty ones as `None`.
    pub(super) fn at_level(&self, level: usize) -> Vec<Option<Cell>> {
        self.cells.iter().map(|row| Cell::of(&row[level])).collect()
    }

    /// Whether there is enough of everything to compare.
    pub(super) fn check(&self) -> Result<(), ComparisonError> {
        if self.readers.len() < 2 {
            return Err(ComparisonError::TooFewReaders {
                found: self.readers.len(),
            });
        }
        for (reader, row) in self.readers.iter().zip(&self.cells) {
            if row.iter().all(Vec::is_empty) {
                return Err(ComparisonError::NothingRead {
                    reader: reader.clone(),
                });
            }
        }
        for (place, level) in self.levels.iter().enumerate() {
            if self.cells.iter().all(|row| row[place].is_empty()) {
                return Err(ComparisonError::NobodyRead {
                    level: level.clone(),
                });
            }
        }
        Ok(())
    }
}

fn unique(what: &'static str, names: &[String]) -> Result<(), ComparisonError> {
    let mut seen = BTreeSet::new();
    for name in names {
        if !seen.insert(name) {
            return Err(ComparisonError::Twice {
                what,
                name: name.clone(),
            });
        }
    }
    Ok(())
}

/// The values of one reader at one level, summed up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Cell {
    /// How many.
    pub(super) n: usize,
    /// Their mean [°C].
    pub(super) mean_c: f64,
    /// Sum of squares about it [°C²].
    pub(super) squares: f64,
}

impl Cell {
    fn of(values: &[f64]) -> Option<Self> {
        if values.is_empty() {
            return None;
        }
        let n = values.len();
        let mean_c = values.iter().sum::<f64>() / n as f64;
        // Values that are all the same scatter by nothing, not by the rounding of their mean.
        let same = values
            .iter()
            .all(|value| value.total_cmp(&values[0]).is_eq());
        let squares = if same {
            0.0
        } else {
            values.iter().map(|value| (value - mean_c).powi(2)).sum()
        };
        Some(Self {
            n,
            mean_c: if same { values[0] } else { mean_c },
            squares,
        })
    }

    /// Variance of the values; `None` of fewer than 2.
    pub(super) fn variance(&self) -> Option<f64> {
        (self.n > 1).then(|| self.squares / (self.n as f64 - 1.0))
    }
}
