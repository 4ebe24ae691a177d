//! The library that the program carries, read from its packed tables.

use super::own::OwnSubstance;
use super::record::{
    Enthalpy, EnthalpySource, LiteratureValue, Mark, PairRemark, Remark, Substance, USUAL_SPREAD,
};
use std::collections::HashMap;
use std::sync::OnceLock;

/// Why a table of the library cannot be read.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LibraryError {
    /// The packed bytes are damaged.
    #[error("the packed table {0} cannot be unpacked")]
    Packed(&'static str),
    /// A line is not as it should be.
    #[error("{table}, line {line}: {found}; expected {expected}")]
    Line {
        /// Which table.
        table: &'static str,
        /// From 1.
        line: usize,
        /// What stands there.
        found: String,
        /// What should.
        expected: &'static str,
    },
}

/// Substances and what is known of pairs.
#[derive(Debug, Clone, Default)]
pub struct Library {
    substances: Vec<Substance>,
    by_cas: HashMap<String, usize>,
    pairs: HashMap<(String, String), Vec<PairRemark>>,
}

macro_rules! packed {
    ($table:literal) => {
        (
            $table,
            include_bytes!(concat!(env!("OUT_DIR"), "/", $table)).as_slice(),
        )
    };
}

impl Library {
    /// The one that the program carries; read once.
    ///
    /// # Panics
    /// Where the program itself is damaged: its tables are tested when it is built.
    pub fn shipped() -> &'static Self {
        static SHIPPED: OnceLock<Library> = OnceLock::new();
        SHIPPED.get_or_init(|| match Self::unpacked() {
            Ok(library) => library,
            Err(error) => panic!("the compound library of this program is damaged: {error}"),
        })
    }

    fn unpacked() -> Result<Self, LibraryError> {
        Self::from_tables(
            &unpacked(packed!("substances.tsv"))?,
            &unpacked(packed!("enthalpies_of_fusion.tsv"))?,
            &unpacked(packed!("remarks.tsv"))?,
            &unpacked(packed!("pairs.tsv"))?,
        )
    }

    fn from_tables(
        substances: &str,
        enthalpies: &str,
        remarks: &str,
        pairs: &str,
    ) -> Result<Self, LibraryError> {
        let mut library = Self::default();
        for row in rows("substances.tsv", 10, substances) {
            library.add(substance(&row?)?);
        }
        for row in rows("enthalpies_of_fusion.tsv", 7, enthalpies) {
            let row = row?;
            let value = row.number(2)?;
            let enthalpy = Enthalpy {
                value,
                standard_uncertainty: match row.fields[3] {
                    "" => USUAL_SPREAD * value,
                    _ => row.number(3)?,
                },
                source: row.fields[5].to_owned(),
                kind: EnthalpySource::Measured,
            };
            if let Some(substance) = library.of_cas_mut(row.fields[0]) {
                substance.enthalpies.push(enthalpy);
            }
        }
        // Of several measurements the middle one is used.
        for substance in &mut library.substances {
            let enthalpies = &mut substance.enthalpies;
            enthalpies.sort_by(|a, b| a.value.total_cmp(&b.value));
            if !enthalpies.is_empty() {
                let middle = enthalpies.remove(enthalpies.len() / 2);
                enthalpies.insert(0, middle);
            }
        }
        for row in rows("remarks.tsv", 4, remarks) {
            let row = row?;
            let [cas, kind, text, source] = [0, 1, 2, 3].map(|at| row.fields[at].to_owned());
            if let Some(substance) = library.of_cas_mut(&cas) {
                substance.remarks.push(Remark { kind, text, source });
            }
        }
        for row in rows("pairs.tsv", 5, pairs) {
            let row = row?;
            let [a, b, kind, text, source] = [0, 1, 2, 3, 4].map(|at| row.fields[at].to_owned());
            let known = library.pairs.entry(ordered(a, b)).or_default();
            known.push(PairRemark { kind, text, source });
        }
        Ok(library)
    }

    fn add(&mut self, substance: Substance) {
        if !substance.cas.is_empty() {
            self.by_cas
                .insert(substance.cas.clone(), self.substances.len());
        }
        self.substances.push(substance);
    }

    fn of_cas_mut(&mut self, cas: &str) -> Option<&mut Substance> {
        let at = *self.by_cas.get(cas)?;
        self.substances.get_mut(at)
    }

    /// All substances.
    pub fn substances(&self) -> &[Substance] {
        &self.substances
    }

    /// The one with a CAS number.
    pub fn of_cas(&self, cas: &str) -> Option<&Substance> {
        self.by_cas.get(cas).map(|&at| &self.substances[at])
    }

    /// What is known of two substances together, whichever is first.
    pub fn known_of_pair(&self, a: &str, b: &str) -> &[PairRemark] {
        self.pairs
            .get(&ordered(a.to_owned(), b.to_owned()))
            .map_or(&[], Vec::as_slice)
    }

    /// With a person's own substances, which take priority: what they say of a substance that is known already stands in the
    /// place of the library's melting temperatures.
    #[must_use]
    pub fn with_own(&self, own: &[OwnSubstance]) -> Self {
        let mut library = self.clone();
        for one in own {
            let (at, mut substance) = match library.find_exactly(one) {
                Some(at) => (Some(at), library.substances[at].clone()),
                None => (None, one.unknown_to_the_library()),
            };
            one.write_over(&mut substance);
            match at {
                Some(at) => library.substances[at] = substance,
                None => library.add(substance),
            }
        }
        library
    }

    fn find_exactly(&self, own: &OwnSubstance) -> Option<usize> {
        let same: *const Substance = self.named(own.cas.as_deref().unwrap_or(&own.name)).ok()?;
        self.substances
            .iter()
            .position(|one| std::ptr::eq(one, same))
    }

    /// Those within `within_c` of a temperature by any value that is not doubted, nearest first.
    pub fn near(&self, at_c: f64, within_c: f64) -> Vec<&Substance> {
        let mut found: Vec<(f64, &Substance)> = self
            .substances
            .iter()
            .filter_map(|one| {
                let sound = one.melting_c.iter().filter(|value| value.mark.is_none());
                let nearest = sound
                    .map(|value| (value.value_c - at_c).abs())
                    .min_by(f64::total_cmp)?;
                (nearest <= within_c).then_some((nearest, one))
            })
            .collect();
        found.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.name.cmp(&b.1.name)));
        found.into_iter().map(|(_, one)| one).collect()
    }
}

fn ordered(a: String, b: String) -> (String, String) {
    if a <= b { (a, b) } else { (b, a) }
}

fn unpacked((table, bytes): (&'static str, &[u8])) -> Result<String, LibraryError> {
    let bytes = miniz_oxide::inflate::decompress_to_vec_zlib(bytes)
        .map_err(|_| LibraryError::Packed(table))?;
    String::from_utf8(bytes).map_err(|_| LibraryError::Packed(table))
}

/// A line of a table.
struct Row<'a> {
    table: &'static str,
    line: usize,
    fields: Vec<&'a str>,
}

impl Row<'_> {
    fn wrong(&self, found: &str, expected: &'static str) -> LibraryError {
        LibraryError::Line {
            table: self.table,
            line: self.line,
            found: found.to_owned(),
            expected,
        }
    }

    fn number(&self, at: usize) -> Result<f64, LibraryError> {
        let text = self.fields[at];
        text.parse()
            .ok()
            .filter(|value: &f64| value.is_finite())
            .ok_or_else(|| self.wrong(text, "a number"))
    }

    fn list(&self, at: usize) -> Vec<String> {
        let parts = self.fields[at].split('|');
        parts
            .filter(|part| !part.is_empty())
            .map(ToOwned::to_owned)
            .collect()
    }
}

/// Lines after the header.
fn rows<'a>(
    table: &'static str,
    columns: usize,
    text: &'a str,
) -> impl Iterator<Item = Result<Row<'a>, LibraryError>> {
    let lines = text.lines().enumerate().skip(1);
    lines
        .filter(|(_, line)| !line.is_empty() && !line.starts_with('#'))
        .map(move |(at, line)| {
            let row = Row {
                table,
                line: at + 1,
                fields: line.split('\t').collect(),
            };
            if row.fields.len() == columns {
                Ok(row)
            } else {
                Err(row.wrong(
                    &format!("{} columns", row.fields.len()),
                    "the columns of the header",
                ))
            }
        })
}

fn substance(row: &Row<'_>) -> Result<Substance, LibraryError> {
    let count = |at: usize| -> Result<u32, LibraryError> {
        let text = row.fields[at];
        text.parse().map_err(|_| row.wrong(text, "a count"))
    };
    let values = row.fields[6].split(' ').filter(|part| !part.is_empty());
    Ok(Substance {
        cas: row.fields[0].to_owned(),
        name: row.fields[1].to_owned(),
        synonyms: row.list(2),
        formula: row.fields[3].to_owned(),
        molar_mass_g_per_mol: Some(row.number(4)?),
        smiles: row.fields[5].to_owned(),
        melting_c: values
            .map(|text| value(row, text))
            .collect::<Result<_, _>>()?,
        enthalpies: Vec::new(),
        donors: count(7)?,
        acceptors: count(8)?,
        classes: row.list(9),
        remarks: Vec::new(),
        own: false,
    })
}

/// `VALUE@SOURCE` or `VALUE@SOURCE!MARK`.
fn value(row: &Row<'_>, text: &str) -> Result<LiteratureValue, LibraryError> {
    const FORM: &str = "VALUE@SOURCE or VALUE@SOURCE!MARK";
    let wrong = || row.wrong(text, FORM);
    let (number, rest) = text.split_once('@').ok_or_else(wrong)?;
    let (source, mark) = match rest.split_once('!') {
        Some((source, mark)) => (source, Some(Mark::named(mark).ok_or_else(wrong)?)),
        None => (rest, None),
    };
    Ok(LiteratureValue {
        value_c: number
            .parse()
            .ok()
            .filter(|value: &f64| value.is_finite())
            .ok_or_else(wrong)?,
        source: source_title(source),
        mark,
    })
}

fn source_title(code: &str) -> String {
    match code {
        "on" => "Open notebook melting points (CC0)".to_owned(),
        "wd" => "Wikidata (CC0)".to_owned(),
        other => match other.strip_prefix("on:") {
            Some(from) => format!(
                "Open notebook melting points (CC0), from {}",
                from.replace('_', " ")
            ),
            None => other.to_owned(),
        },
    }
}
