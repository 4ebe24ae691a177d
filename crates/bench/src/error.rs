//! What can be wrong with a bench file and with devices.

use std::path::PathBuf;

/// Why a bench file cannot be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum BenchFileError {
    /// It cannot be read.
    #[error("{path} cannot be read")]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// It cannot be written.
    #[error("{path} cannot be written; it is as it was")]
    Unwritable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// It is not TOML, or has unknown keys or wrong values.
    #[error("{path} is no bench file: {found}")]
    Form {
        /// The file.
        path: PathBuf,
        /// Where and what.
        found: String,
    },
    /// A value cannot be.
    #[error("{path}: {field} is {found}; expected {expected}")]
    Field {
        /// The file.
        path: PathBuf,
        /// Its key, with its table.
        field: String,
        /// What it is.
        found: String,
        /// What would do.
        expected: String,
    },
}

/// Why a device did not do what was asked.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum DeviceError {
    /// It is not there or does not let itself be opened.
    #[error("{device} cannot be opened: {found}; {hint}")]
    NotThere {
        /// Which, as the bench file names it.
        device: String,
        /// What the system said.
        found: String,
        /// What to do.
        hint: &'static str,
    },
    /// It did not answer in time.
    #[error("{device} did not answer within {waited_s} s")]
    Silent {
        /// Which.
        device: String,
        /// How long it was waited for [s].
        waited_s: f64,
    },
    /// It answered, but not as expected.
    #[error("{device} answered {found}; expected {expected}")]
    Answer {
        /// Which.
        device: String,
        /// What came.
        found: String,
        /// What would do.
        expected: String,
    },
    /// It was there and is gone.
    #[error("{device} is gone: {found}")]
    Gone {
        /// Which.
        device: String,
        /// What the system said.
        found: String,
    },
}
