//! A person's own list of substances, such as that of a stock room, as CSV.

use meltrange_identity::{OwnSubstance, cas_is_valid};

/// Columns that mean something here.
const COLUMNS: &str = "name, cas, melting_c, hfus_j_per_mol, molar_mass_g_per_mol, formula";
/// More is no list of candidates but another library.
const MOST: usize = 20_000;

/// Why a list cannot be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum OwnError {
    /// It is no table.
    #[error("it is no CSV table: {0}")]
    Table(#[from] csv::Error),
    /// Neither names nor CAS numbers.
    #[error("its columns are {found}; expected name or cas, and optionally others of {COLUMNS}")]
    Columns {
        /// The header.
        found: String,
    },
    /// A value of a line.
    #[error("line {line}, {column}: {found}; expected {expected}")]
    Value {
        /// From 1.
        line: usize,
        /// Which column.
        column: &'static str,
        /// What stands there.
        found: String,
        /// What should.
        expected: &'static str,
    },
    /// Nothing in it.
    #[error("there is no substance in it")]
    Empty,
    /// Too much in it.
    #[error("there are more than {MOST} substances in it")]
    TooMany,
}

/// Read a list: CSV with a header, `name` or `cas`, optionally `melting_c`, `hfus_j_per_mol`, `molar_mass_g_per_mol`, `formula`;
/// other columns are left alone; `#` begins a comment line.
///
/// # Errors
/// [`OwnError`] names the line.
pub fn read_own(text: &str) -> Result<Vec<OwnSubstance>, OwnError> {
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let header = reader.headers()?.clone();
    let column = |name: &str| header.iter().position(|one| one.eq_ignore_ascii_case(name));
    let (name, cas) = (column("name"), column("cas"));
    if name.is_none() && cas.is_none() {
        let found = header.iter().collect::<Vec<_>>().join(", ");
        let found = if found.contains(';') {
            format!("{found} (separated by semicolons)")
        } else {
            found
        };
        return Err(OwnError::Columns { found });
    }
    let numbers = [
        ("melting_c", column("melting_c")),
        ("hfus_j_per_mol", column("hfus_j_per_mol")),
        ("molar_mass_g_per_mol", column("molar_mass_g_per_mol")),
    ];
    let formula = column("formula");
    let mut own = Vec::new();
    for row in reader.records() {
        let row = row?;
        let line = row.position().map_or(0, |at| at.line() as usize);
        if row.iter().skip(header.len()).any(|cell| !cell.is_empty()) {
            return Err(OwnError::Value {
                line,
                column: "the last column",
                found: format!(
                    "{} values where the header names {} columns",
                    row.len(),
                    header.len()
                ),
                expected: "decimal points in numbers, and names with commas in quotes",
            });
        }
        let text = |at: Option<usize>| {
            at.and_then(|at| row.get(at))
                .filter(|text| !text.is_empty())
                .map(ToOwned::to_owned)
        };
        let (name, cas) = (text(name), text(cas));
        if let Some(found) = cas.as_ref().filter(|cas| !cas_is_valid(cas)) {
            return Err(OwnError::Value {
                line,
                column: "cas",
                found: found.clone(),
                expected: "a CAS number such as 103-84-4, with its check digit",
            });
        }
        let Some(called) = name.or_else(|| cas.clone()) else {
            if row.iter().all(str::is_empty) {
                continue;
            }
            return Err(OwnError::Value {
                line,
                column: "name",
                found: "nothing".into(),
                expected: "a name or a CAS number",
            });
        };
        let mut values = [None; 3];
        for (value, (column, at)) in values.iter_mut().zip(numbers) {
            *value = text(at)
                .map(|text| number(&text, line, column))
                .transpose()?;
        }
        let [melting_c, hfus_j_per_mol, molar_mass_g_per_mol] = values;
        own.push(OwnSubstance {
            name: called,
            cas,
            melting_c,
            hfus_j_per_mol,
            molar_mass_g_per_mol,
            formula: text(formula),
            line,
        });
        if own.len() > MOST {
            return Err(OwnError::TooMany);
        }
    }
    if own.is_empty() {
        return Err(OwnError::Empty);
    }
    Ok(own)
}

fn number(text: &str, line: usize, column: &'static str) -> Result<f64, OwnError> {
    let melting = column == "melting_c";
    let value: Option<f64> = text.parse().ok().filter(|value: &f64| value.is_finite());
    value
        .filter(|value| {
            if melting {
                (-200.0..=1000.0).contains(value)
            } else {
                *value > 0.0
            }
        })
        .ok_or_else(|| OwnError::Value {
            line,
            column,
            found: text.to_owned(),
            expected: if melting {
                "one temperature in °C with a decimal point, -200 to 1000"
            } else {
                "a number above 0 with a decimal point"
            },
        })
}
