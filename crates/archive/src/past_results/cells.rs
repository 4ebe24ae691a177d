//! What stands in the cells: ranges, dates, rates, marks.

use super::Mark;
use jiff::civil::Date as Day;
use regex::Regex;
use serde::Serialize;
use std::sync::LazyLock;

/// A unit of temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Unit {
    /// °C.
    Celsius,
    /// °F.
    Fahrenheit,
    /// K.
    Kelvin,
}

/// No melting point that capillaries are used for lies outside [°C].
const BELIEVED_C: std::ops::RangeInclusive<f64> = -120.0..=600.0;

impl Unit {
    /// In °C, to a thousandth: more is not in what people write.
    fn to_c(self, value: f64) -> f64 {
        let celsius = match self {
            Self::Celsius => return value,
            Self::Fahrenheit => (value - 32.0) / 1.8,
            Self::Kelvin => value - 273.15,
        };
        (celsius * 1000.0).round() / 1000.0
    }

    fn of(text: &str) -> Option<Self> {
        match text {
            "c" => Some(Self::Celsius),
            "f" => Some(Self::Fahrenheit),
            "k" => Some(Self::Kelvin),
            _ => None,
        }
    }
}

/// A melting point or range as written.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Range {
    pub from_c: f64,
    pub to_c: Option<f64>,
    pub above: bool,
    pub approximate: bool,
    pub decomposed: bool,
    pub mark: Mark,
    /// How it was taken, where that is not plain.
    pub said: Option<String>,
}

fn pattern(text: &str) -> Regex {
    Regex::new(text).expect("a pattern of our own")
}

static RANGE: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"^(-?\d+(?:[.,]\d+)?)\s*(?:°?\s*([cfk])\b)?\s*(?:(?:-|–|—|−|to|bis|à|a|hasta|\.\.\.?|…)\s*(-?\d+(?:[.,]\d+)?)\s*(?:°?\s*([cfk])\b)?)?\s*°?$",
    )
});

static MARKS: LazyLock<[(Regex, What); 6]> = LazyLock::new(|| {
    [
        (
            pattern(
                r"\(?\b(?:uncorrected|uncorr|unkorrigiert|unkorr|non corrigé|non corr|sin corregir|no corr)\b\.?\)?",
            ),
            What::Uncorrected,
        ),
        (
            pattern(r"\(?\b(?:corrected|corr|korrigiert|korr|corrigé|corregido)\b\.?\)?"),
            What::Corrected,
        ),
        (
            pattern(
                r"\(?\b(?:with decomposition|decomposition|decomposes|decomp|dec|zersetzung|zers|z|décomposition|décomp|déc|descomposición|descomp|desc|d)\b\.?\)?",
            ),
            What::Decomposed,
        ),
        (
            pattern(
                r"(?:\b(?:ca|circa|approximately|approx|about|around|etwa|ungefähr|environ|env|aprox|unos)\b\.?|~|≈)",
            ),
            What::Approximate,
        ),
        (
            pattern(r"(?:>=|≥|>|\b(?:above|over|über|oberhalb|supérieur à|más de|sobre)\b)"),
            What::Above,
        ),
        (
            pattern(r"(?:<=|≤|<|\b(?:below|under|unter|moins de|menos de)\b)"),
            What::Below,
        ),
    ]
});

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum What {
    Uncorrected,
    Corrected,
    Decomposed,
    Approximate,
    Above,
    Below,
}

/// A number with a decimal point or comma.
fn number(text: &str) -> Option<f64> {
    text.replace(',', ".").parse().ok()
}

/// Understand a cell of temperatures; else what was expected.
pub(super) fn range(cell: &str, column: Unit) -> Result<Range, &'static str> {
    let mut text = cell.to_lowercase();
    let mut range = Range {
        from_c: 0.0,
        to_c: None,
        above: false,
        approximate: false,
        decomposed: false,
        mark: Mark::NotStated,
        said: None,
    };
    for (mark, what) in MARKS.iter() {
        if !mark.is_match(&text) {
            continue;
        }
        text = mark.replace_all(&text, " ").into_owned();
        match what {
            What::Uncorrected => range.mark = Mark::Uncorrected,
            What::Corrected => range.mark = Mark::Corrected,
            What::Decomposed => range.decomposed = true,
            What::Approximate => range.approximate = true,
            What::Above => range.above = true,
            What::Below => {
                return Err("a value or a range: an upper limit alone is no melting point");
            }
        }
    }
    let text = text.trim().trim_matches([',', ';', '(', ')']).trim();
    let found = RANGE
        .captures(text)
        .ok_or("a temperature or a range, e.g. 114.0-115.5, ca. 115 or > 300 dec.")?;
    let group = |at: usize| found.get(at).map(|found| found.as_str());
    let unit = group(4).or(group(2)).and_then(Unit::of);
    if let Some(unit) = unit
        && unit != column
    {
        range.said = Some(match unit {
            Unit::Celsius => "taken as °C, as the cell says".to_owned(),
            Unit::Fahrenheit => "converted from °F, as the cell says".to_owned(),
            Unit::Kelvin => "converted from K, as the cell says".to_owned(),
        });
    }
    let unit = unit.unwrap_or(column);
    let value = |at: usize| group(at).and_then(number).map(|value| unit.to_c(value));
    range.from_c = value(1).ok_or("a number")?;
    range.to_c = value(3);
    if let Some(to_c) = range.to_c {
        if to_c < range.from_c {
            return Err("a rising range with both ends in full, e.g. 114-115");
        }
        if range.above {
            return Err("one value after \"above\", or a range");
        }
    }
    let believed = [Some(range.from_c), range.to_c]
        .into_iter()
        .flatten()
        .all(|value| BELIEVED_C.contains(&value));
    if !believed {
        return Err("a temperature from -120 to 600 °C; is the unit another one?");
    }
    Ok(range)
}

static RATE: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"^(\d+(?:[.,]\d+)?)\s*(?:(?:°?\s*[ck]|grad|deg|degrés|grados)\s*(?:/|per|pro|par|por)?\s*min\.?(?:-1|⁻¹)?)?$",
    )
});

/// A heating rate [°C/min].
pub(super) fn rate(cell: &str, column: Unit) -> Option<f64> {
    let text = cell.to_lowercase();
    let found = RATE.captures(text.trim())?;
    let value = number(found.get(1)?.as_str())?;
    let value = if column == Unit::Fahrenheit {
        (value / 1.8 * 1000.0).round() / 1000.0
    } else {
        value
    };
    (value > 0.0 && value <= 200.0).then_some(value)
}

/// Whether a result was corrected.
pub(super) fn mark(cell: &str) -> Option<Mark> {
    match cell.to_lowercase().trim_matches(['.', '(', ')']) {
        "yes" | "y" | "ja" | "j" | "oui" | "si" | "sí" | "x" | "1" | "true" | "corrected"
        | "corr" | "korrigiert" | "korr" | "corrigé" | "corregido" => Some(Mark::Corrected),
        "no" | "n" | "nein" | "non" | "0" | "false" | "uncorrected" | "uncorr" | "unkorrigiert"
        | "unkorr" | "non corrigé" | "non corr" | "sin corregir" => Some(Mark::Uncorrected),
        _ => None,
    }
}

/// Which of day and month comes first where they are parted by strokes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum DateOrder {
    DayFirst,
    MonthFirst,
    Unknown,
}

impl DateOrder {
    pub fn words(self) -> &'static str {
        match self {
            Self::DayFirst => "the day comes first",
            Self::MonthFirst => "the month comes first",
            Self::Unknown => "not known which of day and month comes first",
        }
    }
}

/// A day as written.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Date {
    Day(Day),
    /// With how it was taken.
    Said(Day, String),
    Ambiguous(Day, Day),
    None,
}

static ISO: LazyLock<Regex> = LazyLock::new(|| pattern(r"^(\d{4})-(\d{1,2})-(\d{1,2})$"));
static DOTS: LazyLock<Regex> =
    LazyLock::new(|| pattern(r"^(\d{1,2})\.\s*(\d{1,2})\.\s*(\d{4}|\d{2})$"));
static STROKES: LazyLock<Regex> =
    LazyLock::new(|| pattern(r"^(\d{1,2})[/-](\d{1,2})[/-](\d{4}|\d{2})$"));

fn parts(pattern: &Regex, cell: &str) -> Option<[i16; 3]> {
    let found = pattern.captures(cell.trim())?;
    let part = |at: usize| found.get(at)?.as_str().parse().ok();
    Some([part(1)?, part(2)?, part(3)?])
}

fn day(year: i16, month: i16, day: i16) -> Option<Day> {
    Day::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
}

/// Which order a date shows that can only be read one way.
pub(super) fn order_shown(cell: &str) -> Option<DateOrder> {
    let [one, two, _] = parts(&STROKES, cell)?;
    match (one > 12, two > 12) {
        (true, false) => Some(DateOrder::DayFirst),
        (false, true) => Some(DateOrder::MonthFirst),
        _ => None,
    }
}

/// Understand a date.
pub(super) fn date(cell: &str, order: DateOrder) -> Date {
    if let Some([year, month, of_month]) = parts(&ISO, cell) {
        return day(year, month, of_month).map_or(Date::None, Date::Day);
    }
    let full = |year: i16| if year < 100 { 2000 + year } else { year };
    let taken = |found: Option<Day>, year: i16| match found {
        None => Date::None,
        Some(found) if year < 100 => {
            Date::Said(found, format!("taken as {found}: the year has two digits"))
        }
        Some(found) => Date::Day(found),
    };
    if let Some([of_month, month, year]) = parts(&DOTS, cell) {
        return taken(day(full(year), month, of_month), year);
    }
    let Some([one, two, year]) = parts(&STROKES, cell) else {
        return Date::None;
    };
    let day_first = day(full(year), two, one);
    let month_first = day(full(year), one, two);
    match (day_first, month_first, order) {
        (Some(found), None, _) | (None, Some(found), _) => taken(Some(found), year),
        (Some(found), Some(_), DateOrder::DayFirst) => taken(Some(found), year),
        (Some(_), Some(found), DateOrder::MonthFirst) => taken(Some(found), year),
        (Some(found), Some(other), _) if found == other => taken(Some(found), year),
        (Some(found), Some(other), _) => Date::Ambiguous(found, other),
        (None, None, _) => Date::None,
    }
}
