//! Which column of a table is what.

use super::PastHeading;

/// What a column can be taken for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum PastColumn {
    /// What stands on the vial.
    Label,
    /// What it was thought to be.
    Substance,
    /// The result in one cell.
    Range,
    /// Where it begins.
    From,
    /// Where it ends.
    To,
    /// Whether it decomposed.
    Decomposed,
    /// Corrected or not.
    Mark,
    /// Heating rate.
    Rate,
    /// On which day.
    Day,
    /// By whom.
    By,
    /// Where it was written down.
    Source,
    /// Anything else.
    Remarks,
}

impl PastColumn {
    /// As it is called in answers.
    pub fn name(self) -> &'static str {
        match self {
            Self::Label => "label",
            Self::Substance => "substance",
            Self::Range => "range",
            Self::From => "from",
            Self::To => "to",
            Self::Decomposed => "decomposed",
            Self::Mark => "mark",
            Self::Rate => "heating_rate",
            Self::Day => "day",
            Self::By => "by",
            Self::Source => "source",
            Self::Remarks => "remarks",
        }
    }
}

/// In what temperatures were written down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// °C.
    Celsius,
    /// °F.
    Fahrenheit,
    /// K.
    Kelvin,
}

/// Headings in English, German, French and Spanish, without accents. The longest that fits counts.
const KNOWN: [(PastColumn, &[&str]); 12] = [
    (
        PastColumn::Label,
        &[
            "sample",
            "label",
            "sample no",
            "sample id",
            "sample number",
            "vial",
            "unknown",
            "lot",
            "batch",
            "probe",
            "proben-nr",
            "probennummer",
            "etikett",
            "charge",
            "echantillon",
            "etiquette",
            "lote",
            "muestra",
            "etiqueta",
            "id",
            "no",
            "nr",
        ],
    ),
    (
        PastColumn::Substance,
        &[
            "substance",
            "compound",
            "name",
            "expected",
            "substanz",
            "verbindung",
            "stoff",
            "compose",
            "produit",
            "nom",
            "sustancia",
            "compuesto",
            "nombre",
        ],
    ),
    (
        PastColumn::Range,
        &[
            "range",
            "melting range",
            "melting point",
            "mp",
            "m.p.",
            "m p",
            "result",
            "schmelzbereich",
            "schmelzpunkt",
            "schmp",
            "schmp.",
            "fp",
            "ergebnis",
            "intervalle de fusion",
            "point de fusion",
            "pf",
            "resultat",
            "intervalo de fusion",
            "punto de fusion",
            "pf.",
            "resultado",
        ],
    ),
    (
        PastColumn::From,
        &[
            "from",
            "start",
            "onset",
            "first liquid",
            "low",
            "lower",
            "begin",
            "von",
            "beginn",
            "anfang",
            "erste flussigkeit",
            "de",
            "debut",
            "premier liquide",
            "desde",
            "inicio",
            "primer liquido",
        ],
    ),
    (
        PastColumn::To,
        &[
            "to",
            "end",
            "clear",
            "clear point",
            "last crystal",
            "high",
            "upper",
            "bis",
            "ende",
            "klarpunkt",
            "letzter kristall",
            "a",
            "fin",
            "dernier cristal",
            "hasta",
            "final",
            "ultimo cristal",
        ],
    ),
    (
        PastColumn::Decomposed,
        &[
            "decomposed",
            "decomposition",
            "dec",
            "dec.",
            "zersetzt",
            "zersetzung",
            "zers",
            "decompose",
            "descompuesto",
            "descomposicion",
        ],
    ),
    (
        PastColumn::Mark,
        &[
            "corrected",
            "correction",
            "corr",
            "mark",
            "korrigiert",
            "korrektur",
            "korr",
            "corrige",
            "corregido",
            "correccion",
        ],
    ),
    (
        PastColumn::Rate,
        &[
            "rate",
            "heating rate",
            "ramp",
            "heizrate",
            "aufheizrate",
            "rate of heating",
            "vitesse",
            "vitesse de chauffe",
            "velocidad",
            "velocidad de calentamiento",
        ],
    ),
    (
        PastColumn::Day,
        &[
            "date",
            "day",
            "measured on",
            "datum",
            "tag",
            "gemessen am",
            "jour",
            "fecha",
            "dia",
        ],
    ),
    (
        PastColumn::By,
        &[
            "by",
            "person",
            "operator",
            "analyst",
            "student",
            "who",
            "person in charge",
            "bearbeiter",
            "gemessen von",
            "par",
            "operateur",
            "por",
            "operador",
            "analista",
        ],
    ),
    (
        PastColumn::Source,
        &[
            "source",
            "notebook",
            "page",
            "reference",
            "quelle",
            "laborjournal",
            "journal",
            "seite",
            "cahier",
            "cuaderno",
            "fuente",
            "pagina",
        ],
    ),
    (
        PastColumn::Remarks,
        &[
            "remarks",
            "remark",
            "note",
            "notes",
            "comment",
            "comments",
            "bemerkung",
            "bemerkungen",
            "notiz",
            "remarque",
            "remarques",
            "observaciones",
            "nota",
            "notas",
        ],
    ),
];

/// What stands between the cells of this line: the sign that parts it into most.
pub(super) fn separator(line: &str) -> char {
    let parts = |sign: char| line.matches(sign).count();
    let best = [';', '\t', ','].into_iter().max_by_key(|&sign| parts(sign));
    match best {
        Some(sign) if parts(sign) > 0 => sign,
        _ => ',',
    }
}

/// Each heading; of two of the same kind the first counts.
pub(super) fn columns(header: &csv::StringRecord) -> Vec<PastHeading> {
    let mut taken: Vec<PastColumn> = Vec::new();
    let named_otherwise = header.iter().any(|heading| {
        let (plain, _) = plain(heading);
        let label = KNOWN.iter().find(|(kind, _)| *kind == PastColumn::Label);
        label.is_some_and(|(_, names)| names.contains(&plain.as_str()))
            && !["id", "no", "nr"].contains(&plain.as_str())
    });
    header
        .iter()
        .map(|heading| {
            let (plain, unit) = plain(heading);
            // Numbers of rows name samples only where nothing else does.
            let number_of_row = ["id", "no", "nr"].contains(&plain.as_str());
            let kind = KNOWN
                .iter()
                .find(|(_, names)| names.contains(&plain.as_str()))
                .map(|(kind, _)| *kind)
                .filter(|kind| !(taken.contains(kind) || number_of_row && named_otherwise));
            taken.extend(kind);
            let of_temperature = matches!(
                kind,
                Some(PastColumn::Range | PastColumn::From | PastColumn::To)
            );
            PastHeading {
                heading: heading.into(),
                taken_for: kind,
                unit: unit.filter(|_| of_temperature),
            }
        })
        .collect()
}

/// In small letters without accents, and without the unit, which is told apart.
fn plain(heading: &str) -> (String, Option<Unit>) {
    let mut text: String = heading.to_lowercase().chars().map(without_accent).collect();
    let mut unit = None;
    for (written, meant) in [
        ("°c/min", None),
        ("c/min", None),
        ("k/min", None),
        ("°c", Some(Unit::Celsius)),
        ("°f", Some(Unit::Fahrenheit)),
        ("(c)", Some(Unit::Celsius)),
        ("(f)", Some(Unit::Fahrenheit)),
        ("(k)", Some(Unit::Kelvin)),
        ("[c]", Some(Unit::Celsius)),
        ("[f]", Some(Unit::Fahrenheit)),
        ("[k]", Some(Unit::Kelvin)),
        (" in k", Some(Unit::Kelvin)),
        ("_c", Some(Unit::Celsius)),
        ("_f", Some(Unit::Fahrenheit)),
        ("_k", Some(Unit::Kelvin)),
    ] {
        let at_end = written.starts_with('_');
        if (at_end && text.ends_with(written)) || (!at_end && text.contains(written)) {
            text = text.replacen(written, " ", 1);
            unit = meant;
            break;
        }
    }
    let words: Vec<&str> = text
        .split(|letter: char| {
            letter.is_whitespace()
                || matches!(letter, '_' | '(' | ')' | '[' | ']' | '/' | ':' | '#')
        })
        .filter(|word| !word.is_empty() && !matches!(*word, "in" | "per" | "min" | "deg"))
        .collect();
    (words.join(" "), unit)
}

fn without_accent(letter: char) -> char {
    match letter {
        'á' | 'à' | 'â' | 'ä' => 'a',
        'é' | 'è' | 'ê' | 'ë' => 'e',
        'í' | 'ì' | 'î' | 'ï' => 'i',
        'ó' | 'ò' | 'ô' | 'ö' => 'o',
        'ú' | 'ù' | 'û' | 'ü' => 'u',
        'ç' => 'c',
        'ñ' => 'n',
        other => other,
    }
}
