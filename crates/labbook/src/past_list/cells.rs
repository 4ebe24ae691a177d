//! What stands in a cell.

use super::Unit;
use crate::records::CorrectionMark;
use jiff::civil::Date;

/// A result out of a cell.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Range {
    pub from_c: Option<f64>,
    pub to_c: Option<f64>,
    pub above: bool,
    pub decomposed: bool,
    pub mark: CorrectionMark,
    pub as_written: String,
    pub note: Option<String>,
}

/// Read a range in the unit of its column, or in the one that is written in the cell. None where anything else is
/// written beside the numbers: what it would mean for them is not for the program to say.
pub(super) fn range(text: &str, of_column: Option<Unit>) -> Option<Range> {
    let parts = parts(text)?;
    let words = Said::of(&parts)?;
    let unit = words.unit.or(of_column).unwrap_or(Unit::Celsius);
    let celsius = |value: f64| match unit {
        Unit::Celsius => value,
        Unit::Fahrenheit => tidy((value - 32.0) / 1.8),
        Unit::Kelvin => tidy(value - 273.15),
    };
    let (from, to, abbreviated) = match words.ends.as_slice() {
        [one] => (*one, *one, false),
        [from, to] => {
            let filled = short_end(*from, *to, text);
            (*from, filled, filled != *to)
        }
        _ => return None,
    };
    let converted = match unit {
        Unit::Celsius => None,
        Unit::Fahrenheit => Some(format!("{text} was converted from °F")),
        Unit::Kelvin => Some(format!("{text} was converted from K")),
    };
    Some(Range {
        from_c: Some(celsius(from)),
        to_c: (!words.above).then(|| celsius(to)),
        above: words.above,
        decomposed: words.decomposed,
        mark: words.mark,
        as_written: text.into(),
        note: converted.or_else(|| abbreviated.then(|| format!("{text} was read as {from}–{to}"))),
    })
}

/// A number, a sign, or a word of a cell.
#[derive(Debug, Clone, PartialEq)]
enum Part {
    Number(f64),
    Dash,
    Word(String),
}

/// What a cell is made of; none where a number in it can be read in two ways.
fn parts(text: &str) -> Option<Vec<Part>> {
    let letters: Vec<char> = text.to_lowercase().chars().collect();
    let mut parts: Vec<Part> = Vec::new();
    let mut at = 0;
    while at < letters.len() {
        let letter = letters[at];
        let next_is_digit = letters.get(at + 1).is_some_and(char::is_ascii_digit);
        let dash = matches!(letter, '-' | '−' | '–' | '—');
        // A dash parts two numbers; it is a sign where it stands first, or after another.
        let sign = dash
            && next_is_digit
            && !matches!(parts.last(), Some(Part::Number(_)))
            && !matches!(parts.last(), Some(Part::Word(word)) if UNITS.iter().any(|(unit, _)| unit == word));
        if letter.is_ascii_digit() || sign {
            let mut digits = String::from(if dash { '-' } else { letter });
            at += 1;
            while let Some(&digit) = letters.get(at) {
                let point = matches!(digit, '.' | ',')
                    && letters.get(at + 1).is_some_and(char::is_ascii_digit)
                    && !digits.contains('.');
                if !digit.is_ascii_digit() && !point {
                    break;
                }
                digits.push(if point { '.' } else { digit });
                at += 1;
            }
            // Thousandths are no melting range: two numbers, or one in thousands.
            let decimals = digits.split_once('.').map_or(0, |(_, after)| after.len());
            if decimals > 2 {
                return None;
            }
            parts.push(Part::Number(digits.parse().ok()?));
            continue;
        }
        if dash {
            parts.push(Part::Dash);
        } else if letter.is_alphabetic()
            || matches!(letter, '°' | '>' | '<' | '≥' | '≤' | '±' | '~' | '≈')
        {
            let mut word = String::from(letter);
            let of_letters = letter.is_alphabetic() || letter == '°';
            while let Some(&more) = letters
                .get(at + 1)
                .filter(|more| of_letters && more.is_alphabetic())
            {
                word.push(more);
                at += 1;
            }
            parts.push(Part::Word(word));
        } else if !letter.is_whitespace()
            && !matches!(letter, '.' | ',' | '(' | ')' | '[' | ']' | ':' | ';')
        {
            parts.push(Part::Word(letter.to_string()));
        }
        at += 1;
    }
    Some(parts)
}

/// Units as they are written.
const UNITS: [(&str, Option<Unit>); 8] = [
    ("°c", Some(Unit::Celsius)),
    ("c", Some(Unit::Celsius)),
    ("°f", Some(Unit::Fahrenheit)),
    ("f", Some(Unit::Fahrenheit)),
    ("k", Some(Unit::Kelvin)),
    ("°k", Some(Unit::Kelvin)),
    ("°", None),
    ("deg", None),
];

/// Words between the two numbers of a range.
const TO: [&str; 6] = ["to", "bis", "à", "a", "hasta", "and"];

/// Words that say nothing of the numbers.
const EMPTY: [&str; 14] = [
    "ca", "circa", "approx", "about", "etwa", "env", "environ", "aprox", "~", "≈", "mp", "schmp",
    "pf", "fp",
];

const ABOVE: [&str; 8] = [
    ">",
    "≥",
    "above",
    "over",
    "über",
    "oberhalb",
    "supérieur",
    "encima",
];

const NOT: [&str; 9] = [
    "not", "no", "without", "nicht", "ohne", "non", "sans", "sin", "kein",
];

/// What the words of a cell say.
struct Said {
    ends: Vec<f64>,
    unit: Option<Unit>,
    above: bool,
    decomposed: bool,
    mark: CorrectionMark,
}

impl Said {
    fn of(parts: &[Part]) -> Option<Self> {
        let mut said = Self {
            ends: Vec::new(),
            unit: None,
            above: false,
            decomposed: false,
            mark: CorrectionMark::NotStated,
        };
        let mut negated = false;
        // What stood since the last number: a dash or a word that means one.
        let mut parted = false;
        for part in parts {
            match part {
                Part::Number(value) => {
                    if said.ends.len() == 1 && !parted || said.ends.len() == 2 {
                        return None;
                    }
                    said.ends.push(*value);
                    parted = false;
                }
                Part::Dash => parted |= !said.ends.is_empty(),
                Part::Word(word) => {
                    let word = word.as_str();
                    if let Some((_, unit)) = UNITS.iter().find(|(known, _)| *known == word) {
                        // A unit stands behind a number; elsewhere it is something else.
                        if said.ends.is_empty() {
                            return None;
                        }
                        said.unit = unit.or(said.unit);
                    } else if TO.contains(&word) {
                        parted = !said.ends.is_empty();
                    } else if ABOVE.contains(&word) {
                        said.above = true;
                    } else if NOT.contains(&word) {
                        negated = true;
                    } else if let Some(mark) = mark_of(word) {
                        said.mark = if negated {
                            CorrectionMark::Uncorrected
                        } else {
                            mark
                        };
                        negated = false;
                    } else if decomposes(word) {
                        said.decomposed = !negated;
                        negated = false;
                    } else if !EMPTY.contains(&word) {
                        return None;
                    }
                }
            }
        }
        (!negated && !said.ends.is_empty()).then_some(said)
    }
}

fn decomposes(word: &str) -> bool {
    [
        "dec",
        "decomp",
        "decomposed",
        "decomposes",
        "decomposition",
        "zers",
        "zersetzung",
        "zersetzt",
        "déc",
        "décomp",
        "décomposition",
        "desc",
        "descomp",
        "descomposición",
    ]
    .contains(&word)
}

/// Corrected or not, in one word.
fn mark_of(word: &str) -> Option<CorrectionMark> {
    if ["uncorr", "uncorrected", "unkorr", "unkorrigiert"].contains(&word) {
        return Some(CorrectionMark::Uncorrected);
    }
    [
        "corr",
        "corrected",
        "correction",
        "korr",
        "korrigiert",
        "korrektur",
        "corrigé",
        "corrigée",
        "correction",
        "corregido",
        "corregida",
        "corrección",
    ]
    .contains(&word)
    .then_some(CorrectionMark::Corrected)
}

/// "114-5" and "113-14" leave out what is the same; only where both are written as whole numbers.
fn short_end(from: f64, to: f64, text: &str) -> f64 {
    let whole = from.fract() == 0.0 && to.fract() == 0.0 && !text.contains(['.', ',']);
    if !whole || to >= from || to < 0.0 || from < 0.0 {
        return to;
    }
    let step = match (from, to) {
        (10.0.., ..10.0) => 10.0,
        (100.0.., ..100.0) => 100.0,
        _ => return to,
    };
    let filled = (from / step).floor() * step + to;
    if filled > from { filled } else { to }
}

/// Without the digits that a conversion makes up.
fn tidy(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

/// A number with a decimal point or comma; a unit may follow.
pub(super) fn number(text: &str) -> Option<f64> {
    let plain: String = text
        .trim()
        .chars()
        .map(|letter| if letter == ',' { '.' } else { letter })
        .collect();
    let end = plain
        .find(|letter: char| !(letter.is_ascii_digit() || matches!(letter, '.' | '-' | '+')))
        .unwrap_or(plain.len());
    let (digits, rest) = plain.split_at(end);
    let unit = rest.trim().to_lowercase();
    let known = [
        "",
        "°c/min",
        "c/min",
        "k/min",
        "°c",
        "°/min",
        "°c·min-1",
        "°c min-1",
    ];
    let value: f64 = digits.parse().ok()?;
    (known.contains(&unit.as_str()) && value.is_finite()).then_some(value)
}

/// Yes or no in four languages.
pub(super) fn yes(text: &str) -> Option<bool> {
    match text.to_lowercase().as_str() {
        "yes" | "y" | "x" | "true" | "1" | "ja" | "j" | "oui" | "o" | "sí" | "si" | "s" => {
            Some(true)
        }
        "no" | "n" | "false" | "0" | "nein" | "non" | "-" => Some(false),
        _ => None,
    }
}

/// Corrected or not, in four languages; yes and no are answers to "corrected?".
pub(super) fn mark(text: &str) -> Option<CorrectionMark> {
    let words = parts(text)?;
    let mut negated = false;
    let mut found = None;
    for part in &words {
        match part {
            Part::Word(word) if NOT.contains(&word.as_str()) => negated = true,
            Part::Word(word) => found = mark_of(word).or(found),
            Part::Dash => {}
            Part::Number(_) => return None,
        }
    }
    match (found, negated) {
        (Some(_), true) => Some(CorrectionMark::Uncorrected),
        (Some(mark), false) => Some(mark),
        (None, _) => match text.to_lowercase().as_str() {
            "yes" | "y" | "x" | "ja" | "j" | "oui" | "sí" | "si" => {
                Some(CorrectionMark::Corrected)
            }
            "no" | "n" | "nein" | "non" => Some(CorrectionMark::Uncorrected),
            _ => None,
        },
    }
}

/// A date, and whether it can be read in one way only.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Day {
    Sure(Date),
    TwoWays(Date),
}

pub(super) fn day(text: &str) -> Option<Day> {
    let text = text.split(['T', ' ']).next().unwrap_or(text);
    if let Ok(date) = text.parse::<Date>() {
        return Some(Day::Sure(date));
    }
    let sign = ['.', '/', '-']
        .into_iter()
        .find(|&sign| text.contains(sign))?;
    let parts: Vec<i16> = text
        .trim_end_matches(sign)
        .split(sign)
        .map(|part| part.trim().parse().ok())
        .collect::<Option<_>>()?;
    let [one, two, year] = parts.as_slice() else {
        return None;
    };
    let year = match *year {
        year @ 0..=69 => year + 2000,
        year @ 70..=99 => year + 1900,
        year => year,
    };
    let of = |day: i16, month: i16| {
        Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
    };
    let (day_first, month_first) = (of(*one, *two), of(*two, *one));
    match (day_first, month_first) {
        // Points are written day first wherever they are written.
        (Some(date), _) if sign == '.' => Some(Day::Sure(date)),
        (Some(date), Some(other)) if date != other => Some(Day::TwoWays(date)),
        (Some(date), _) | (None, Some(date)) => Some(Day::Sure(date)),
        (None, None) => None,
    }
}
