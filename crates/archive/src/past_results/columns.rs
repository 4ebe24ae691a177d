//! What the columns of a spreadsheet mean, by their headers.

use super::cells::Unit;
use serde::Serialize;

/// What a column means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Meaning {
    /// What stands on the vial.
    Label,
    /// The substance.
    Substance,
    /// A melting point or range in one cell.
    Range,
    /// Its lower end.
    From,
    /// Its upper end.
    To,
    /// Whether it was corrected.
    Mark,
    /// Heating rate.
    Rate,
    /// The day.
    On,
    /// The person.
    By,
    /// Where it stands.
    Source,
    /// Anything else.
    Remarks,
}

/// How a column was understood.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ColumnUnderstood {
    /// As the file has it.
    pub header: String,
    /// What it means; none where that cannot be told.
    pub meaning: Option<Meaning>,
    /// Unit of its temperatures.
    pub unit: Option<Unit>,
    /// In words.
    pub how: String,
}

/// Words of headers in English, German, French and Spanish, accents and dots left out.
const WORDS: [(Meaning, &[&str]); 11] = [
    (
        Meaning::Label,
        &[
            "label",
            "sample",
            "sample id",
            "sample no",
            "sample label",
            "vial",
            "probe",
            "probennummer",
            "probenbezeichnung",
            "bezeichnung",
            "echantillon",
            "etiquette",
            "muestra",
            "etiqueta",
        ],
    ),
    (
        Meaning::Substance,
        &[
            "substance",
            "compound",
            "substanz",
            "verbindung",
            "stoff",
            "compose",
            "produit",
            "sustancia",
            "compuesto",
        ],
    ),
    (
        Meaning::Range,
        &[
            "mp",
            "m p",
            "melting point",
            "melting range",
            "range",
            "melting",
            "schmelzpunkt",
            "schmelzbereich",
            "schmp",
            "smp",
            "fp",
            "point de fusion",
            "intervalle de fusion",
            "plage de fusion",
            "pf",
            "p f",
            "punto de fusion",
            "intervalo de fusion",
            "rango de fusion",
        ],
    ),
    (
        Meaning::From,
        &[
            "from",
            "start",
            "lower",
            "first liquid",
            "mp from",
            "range from",
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
        Meaning::To,
        &[
            "to",
            "end",
            "upper",
            "last crystal",
            "clear point",
            "mp to",
            "range to",
            "bis",
            "ende",
            "klarpunkt",
            "letzter kristall",
            "jusqu a",
            "a",
            "fin",
            "dernier cristal",
            "hasta",
            "final",
            "ultimo cristal",
        ],
    ),
    (
        Meaning::Mark,
        &[
            "corrected",
            "corr",
            "correction",
            "korrigiert",
            "korr",
            "korrektur",
            "corrige",
            "corregido",
        ],
    ),
    (
        Meaning::Rate,
        &[
            "rate",
            "heating rate",
            "heizrate",
            "aufheizrate",
            "vitesse de chauffe",
            "vitesse",
            "rampe",
            "velocidad de calentamiento",
            "velocidad",
            "rampa",
        ],
    ),
    (
        Meaning::On,
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
        Meaning::By,
        &[
            "by",
            "person",
            "operator",
            "analyst",
            "measured by",
            "student",
            "bearbeiter",
            "gemessen von",
            "durchgefuhrt von",
            "par",
            "operateur",
            "analyste",
            "mesure par",
            "por",
            "operador",
            "analista",
            "medido por",
        ],
    ),
    (
        Meaning::Source,
        &[
            "source",
            "reference",
            "notebook",
            "quelle",
            "heft",
            "laborbuch",
            "literatur",
            "cahier",
            "fuente",
            "cuaderno",
            "referencia",
        ],
    ),
    (
        Meaning::Remarks,
        &[
            "notes",
            "note",
            "remarks",
            "remark",
            "comment",
            "comments",
            "bemerkung",
            "bemerkungen",
            "anmerkung",
            "anmerkungen",
            "notiz",
            "notizen",
            "remarque",
            "remarques",
            "commentaire",
            "commentaires",
            "nota",
            "notas",
            "observaciones",
            "comentario",
            "comentarios",
        ],
    ),
];

/// What separates the columns of the first line with content, and the number of that line.
pub(super) fn separator(text: &str) -> Option<(char, u64)> {
    let (number, line) = (1_u64..)
        .zip(text.lines())
        .find(|(_, line)| !line.trim().is_empty() && !line.starts_with('#'))?;
    let mut quoted = false;
    let mut counts = [(';', 0), ('\t', 0), (',', 0)];
    for letter in line.chars() {
        quoted ^= letter == '"';
        for (separator, count) in &mut counts {
            *count += u32::from(!quoted && letter == *separator);
        }
    }
    // A comma stands in headers, too; whoever separates by one has neither of the others.
    let found = counts.iter().find(|(_, count)| *count > 0);
    Some((found.map_or(',', |(separator, _)| *separator), number))
}

/// What each column means.
pub(super) fn understand(header: &[String]) -> Vec<ColumnUnderstood> {
    let mut columns: Vec<ColumnUnderstood> = header.iter().map(|cell| one(cell)).collect();
    for at in 1..columns.len() {
        let Some((column, before)) = columns.get(..=at).and_then(<[_]>::split_last) else {
            continue;
        };
        let twice = column.meaning.is_some()
            && column.meaning != Some(Meaning::Remarks)
            && before.iter().any(|other| other.meaning == column.meaning);
        if twice && let Some(column) = columns.get_mut(at) {
            column.how = "means the same as a column before it".into();
            column.meaning = None;
        }
    }
    columns
}

fn one(header: &str) -> ColumnUnderstood {
    let unit = unit_of(header);
    let plain = plain(header);
    let meaning = WORDS
        .iter()
        .find(|(_, words)| words.contains(&plain.as_str()))
        .map(|(meaning, _)| *meaning);
    let mut how = match meaning {
        Some(_) => format!("by the word \"{plain}\""),
        None if plain.is_empty() => "has no header".to_owned(),
        None => "is no word that is known".to_owned(),
    };
    let unit = match meaning {
        Some(Meaning::Range | Meaning::From | Meaning::To | Meaning::Rate) => {
            how.push_str(match unit {
                Some(Unit::Celsius) => ", in °C",
                Some(Unit::Fahrenheit) => ", converted from °F",
                Some(Unit::Kelvin) => ", converted from K",
                None => ", no unit stated: taken as °C unless a cell says otherwise",
            });
            Some(unit.unwrap_or(Unit::Celsius))
        }
        _ => None,
    };
    ColumnUnderstood {
        header: header.into(),
        meaning,
        unit,
        how,
    }
}

/// A header in small letters without accents, brackets, units and signs.
fn plain(header: &str) -> String {
    let mut text = String::new();
    let mut depth = 0_u32;
    for letter in header.to_lowercase().chars() {
        match letter {
            '(' | '[' => depth += 1,
            ')' | ']' => depth = depth.saturating_sub(1),
            _ if depth > 0 => {}
            'à' | 'á' | 'â' | 'ä' => text.push('a'),
            'è' | 'é' | 'ê' | 'ë' => text.push('e'),
            'ì' | 'í' | 'î' | 'ï' => text.push('i'),
            'ò' | 'ó' | 'ô' | 'ö' => text.push('o'),
            'ù' | 'ú' | 'û' | 'ü' => text.push('u'),
            'ç' => text.push('c'),
            'ñ' => text.push('n'),
            letter if letter.is_alphanumeric() => text.push(letter),
            '°' => text.push_str(" °"),
            _ => text.push(' '),
        }
    }
    let mut words: Vec<&str> = text
        .split_whitespace()
        .filter(|word| !word.starts_with('°') && *word != "min")
        .collect();
    // from_c, mp_f: the unit as a last word of one letter, but not the whole header.
    if words.len() > 1 && matches!(words.last(), Some(&"c" | &"f" | &"k")) && header.contains('_') {
        words.pop();
    }
    words.retain(|word| !matches!(*word, "in" | "celsius" | "fahrenheit" | "kelvin"));
    words.join(" ")
}

fn unit_of(header: &str) -> Option<Unit> {
    let text = header.to_lowercase();
    let has = |marks: &[&str]| marks.iter().any(|mark| text.contains(mark));
    if has(&["°f", "° f", "(f)", "[f]", "fahrenheit"]) || text.ends_with("_f") {
        Some(Unit::Fahrenheit)
    } else if has(&["(k)", "[k]", "kelvin"]) || text.ends_with("_k") || text.ends_with(" in k") {
        Some(Unit::Kelvin)
    } else if has(&["°c", "° c", "(c)", "[c]", "celsius"])
        || text.ends_with("_c")
        || text.contains("_c_per_min")
    {
        Some(Unit::Celsius)
    } else {
        None
    }
}
