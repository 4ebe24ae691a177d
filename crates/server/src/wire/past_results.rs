//! Tables of past results over the wire.

use meltrange_labbook as kept;
use meltrange_labbook::SampleId;
use serde::Serialize;
use utoipa::ToSchema;

/// A table of past results as it was understood; nothing is recorded of it yet.
#[derive(Debug, Serialize, ToSchema)]
pub struct PastPreview {
    /// What stands between its cells.
    pub separator: String,
    /// Its columns, in order.
    pub columns: Vec<PastColumnShown>,
    /// Rows that were understood.
    pub rows: Vec<PastRow>,
    /// What was not understood.
    pub faults: Vec<PastFault>,
    /// Doubts about the whole.
    pub remarks: Vec<String>,
    /// How many samples would be added to the book.
    pub new_samples: u64,
}

/// A column of such a table.
#[derive(Debug, Serialize, ToSchema)]
pub struct PastColumnShown {
    /// Its heading.
    pub heading: String,
    /// What it was taken for: label, substance, range, from, to, decomposed, mark, heating_rate, day, by, source, remarks;
    /// null where it is left alone.
    #[schema(required)]
    pub taken_for: Option<String>,
    /// The unit of its temperatures, as its heading says: °C, °F or K.
    #[schema(required)]
    pub unit: Option<String>,
}

/// A row that was understood.
#[derive(Debug, Serialize, ToSchema)]
pub struct PastRow {
    /// Line in the file, from 1.
    pub line: u64,
    /// What stands on the vial.
    pub label: String,
    /// The sample of the book with this label; null where it would be added.
    #[schema(value_type = Option<String>, format = Uuid, required)]
    pub sample: Option<SampleId>,
    /// Whether the same result of the same file and line is in the book already; it is passed over.
    pub there_already: bool,
    /// What it was thought to be.
    #[schema(required)]
    pub substance: Option<String>,
    /// Where the range begins [°C].
    #[schema(required)]
    pub from_c: Option<f64>,
    /// Where it ends [°C].
    #[schema(required)]
    pub to_c: Option<f64>,
    /// Whether not all was molten at the end that is named.
    pub above: bool,
    /// Whether it decomposed.
    pub decomposed: bool,
    /// Whether temperatures were corrected.
    pub mark: super::names::CorrectionMark,
    /// Heating rate [°C/min].
    #[schema(required)]
    pub heating_rate_c_per_min: Option<f64>,
    /// On which day.
    #[schema(value_type = Option<String>, format = Date, required)]
    pub measured_on: Option<jiff::civil::Date>,
    /// By whom.
    #[schema(required)]
    pub by: Option<String>,
    /// Where it was written down.
    #[schema(required)]
    pub source: Option<String>,
    /// Anything else.
    #[schema(required)]
    pub remarks: Option<String>,
    /// The result as it was written.
    pub as_written: String,
    /// What was read otherwise than it was written.
    pub notes: Vec<String>,
}

/// Something in the table that was not understood.
#[derive(Debug, Serialize, ToSchema)]
pub struct PastFault {
    /// Line in the file, from 1.
    pub line: u64,
    /// Heading of the column, where it is about one.
    #[schema(required)]
    pub column: Option<String>,
    /// What stands there.
    pub found: String,
    /// What was expected.
    pub expected: String,
    /// Whether the row is left out because of it.
    pub left_out: bool,
}

/// Past results that were taken in.
#[derive(Debug, Serialize, ToSchema)]
pub struct PastTaken {
    /// Results recorded.
    pub past_results: u64,
    /// Samples added for them.
    pub samples_added: u64,
    /// Rows passed over because they are in the book already.
    pub there_already: u64,
    /// Rows left out because they were not understood.
    pub left_out: u64,
}

impl From<kept::PastHeading> for PastColumnShown {
    fn from(found: kept::PastHeading) -> Self {
        Self {
            heading: found.heading,
            taken_for: found.taken_for.map(|kind| kind.name().to_owned()),
            unit: found.unit.map(|unit| {
                match unit {
                    kept::Unit::Celsius => "°C",
                    kept::Unit::Fahrenheit => "°F",
                    kept::Unit::Kelvin => "K",
                }
                .to_owned()
            }),
        }
    }
}

impl From<kept::PastFault> for PastFault {
    fn from(found: kept::PastFault) -> Self {
        Self {
            line: found.line,
            column: found.column,
            found: found.found,
            expected: found.expected,
            left_out: found.left_out,
        }
    }
}

impl From<kept::PlacedPast> for PastRow {
    fn from(found: kept::PlacedPast) -> Self {
        let row = found.row;
        Self {
            line: row.line,
            label: row.label,
            sample: found.sample,
            there_already: found.there_already,
            substance: row.substance,
            from_c: row.from_c,
            to_c: row.to_c,
            above: row.above,
            decomposed: row.decomposed,
            mark: row.mark.into(),
            heating_rate_c_per_min: row.heating_rate_c_per_min,
            measured_on: row.measured_on,
            by: row.by,
            source: row.source,
            remarks: row.remarks,
            as_written: row.as_written,
            notes: row.notes,
        }
    }
}

/// A sample that was taken in from another book.
#[derive(Debug, Serialize, ToSchema)]
pub struct BroughtIn {
    /// What the other book is called.
    pub title: String,
    /// Records written.
    pub records: u64,
    /// Records that were there already, with the same text.
    pub there_already: u64,
    /// Recordings written.
    pub recordings: u64,
    /// What stands on the vials.
    pub samples: Vec<String>,
}
