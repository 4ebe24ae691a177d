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

/// Read a range in the unit of its column, or in the one that is written in the cell.
pub(super) fn range(text: &str, of_column: Option<Unit>) -> Option<Range> {
    let lower = text.to_lowercase();
    let decomposed = ["dec", "zers", "déc", "desc"]
        .iter()
        .any(|word| lower.contains(word));
    let mark = mark_within(&lower);
    let above = lower.trim_start().starts_with(['>', '≥'])
        || ["above", "über", "supérieur", "superior"]
            .iter()
            .any(|word| lower.starts_with(word));
    let unit = unit_within(&lower).or(of_column).unwrap_or(Unit::Celsius);
    let ends = numbers(&lower)?;
    let celsius = |value: f64| match unit {
        Unit::Celsius => value,
        Unit::Fahrenheit => tidy((value - 32.0) / 1.8),
        Unit::Kelvin => tidy(value - 273.15),
    };
    let (from, to) = match ends.as_slice() {
        [one] => (*one, *one),
        [from, to] => (*from, short_end(*from, *to, &lower)),
        _ => return None,
    };
    let note = match unit {
        Unit::Celsius => None,
        Unit::Fahrenheit => Some(format!("{text} was converted from °F")),
        Unit::Kelvin => Some(format!("{text} was converted from K")),
    };
    let abbreviated = ends.len() == 2 && to != ends[1];
    let note = note.or_else(|| abbreviated.then(|| format!("{text} was read as {from}–{to}")));
    Some(Range {
        from_c: Some(celsius(from)),
        to_c: (!above).then(|| celsius(to)),
        above,
        decomposed,
        mark,
        as_written: text.into(),
        note,
    })
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

fn unit_within(lower: &str) -> Option<Unit> {
    let lone = |letter: char| {
        let mut before = ' ';
        let mut found = false;
        let mut letters = lower.chars().peekable();
        while let Some(one) = letters.next() {
            let after = letters.peek().copied().unwrap_or(' ');
            found |= one == letter
                && (before.is_ascii_digit() || before == ' ')
                && !after.is_alphabetic();
            before = one;
        }
        found
    };
    if lower.contains("°f") || lone('f') {
        Some(Unit::Fahrenheit)
    } else if lower.contains("°c") || lone('c') {
        Some(Unit::Celsius)
    } else if lone('k') {
        Some(Unit::Kelvin)
    } else {
        None
    }
}

/// The one or two numbers of a range; none where something else stands there that matters.
fn numbers(lower: &str) -> Option<Vec<f64>> {
    let mut found: Vec<f64> = Vec::new();
    let mut digits = String::new();
    let mut after_dash = false;
    for letter in lower.chars().chain([' ']) {
        let goes_on = letter.is_ascii_digit()
            || (matches!(letter, '.' | ',') && !digits.is_empty() && !digits.contains('.'));
        if goes_on {
            digits.push(if letter == ',' { '.' } else { letter });
            after_dash = false;
            continue;
        }
        if digits == "-" {
            digits.clear();
        }
        if !digits.is_empty() {
            let value: f64 = digits.trim_end_matches('.').parse().ok()?;
            found.push(value);
            digits.clear();
        }
        // A dash parts two numbers; it is a sign where it stands first, or after another.
        let dash = matches!(letter, '-' | '−' | '–');
        if dash && (found.is_empty() || after_dash) {
            digits.push('-');
        }
        if !letter.is_whitespace() {
            after_dash = dash;
        }
    }
    found.retain(|value| value.is_finite());
    (1..=2).contains(&found.len()).then_some(found)
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

/// Corrected or not, in four languages.
pub(super) fn mark(text: &str) -> Option<CorrectionMark> {
    match mark_within(&text.to_lowercase()) {
        CorrectionMark::NotStated => yes(text).map(|said| {
            if said {
                CorrectionMark::Corrected
            } else {
                CorrectionMark::Uncorrected
            }
        }),
        found => Some(found),
    }
}

fn mark_within(lower: &str) -> CorrectionMark {
    let not = [
        "uncorr", "unkorr", "non corr", "sin corr", "no corr", "not corr",
    ];
    let is = ["corr", "korr"];
    if not.iter().any(|word| lower.contains(word)) {
        CorrectionMark::Uncorrected
    } else if is.iter().any(|word| lower.contains(word)) {
        CorrectionMark::Corrected
    } else {
        CorrectionMark::NotStated
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
