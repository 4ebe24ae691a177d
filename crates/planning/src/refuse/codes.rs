//! Hazard statements in a text.

use std::ops::RangeInclusive;

/// GHS hazard statements that are refused, that need approval, and that need a hood or a sealed tube.
///
/// # Source
/// Codes: UN GHS annex 3. What to do at a capillary: common practice, no source.
pub(super) const REFUSED_CODES: [&str; 19] = [
    "EUH001", "EUH006", "EUH044", "H200", "H201", "H202", "H203", "H204", "H205", "H209", "H210",
    "H211", "H240", "H241", "H250", "H260", "H261", "H270", "H271",
];
pub(super) const APPROVAL_CODES: [&str; 10] = [
    "EUH018", "EUH019", "H242", "H206", "H207", "H208", "H251", "H252", "H272", "H228",
];
pub(super) const VAPOUR_CODES: [&str; 14] = [
    "H300", "H310", "H330", "H301", "H311", "H331", "H334", "H340", "H350", "H360", "H341", "H351",
    "H314", "H304",
];

/// Numbers that statements have: H200 to H299 physical hazards, H300 to H399 health, from H400 the environment; and
/// those of the European Union. The last of each from memory: what is beyond is no statement.
const NUMBERS: RangeInclusive<u16> = 200..=420;
const EU_NUMBERS: RangeInclusive<u16> = 1..=451;

/// Most signs between the letters and the digits, and between the numbers of a combined statement.
const MOST_BETWEEN: usize = 3;

/// Hazard statements of a text: `H` or `EUH`, up to three signs that are no letters or digits, and three digits. Combined
/// ones (`H301/311/331`, `H300+310`) give each of theirs.
pub(super) fn codes(text: &str) -> Vec<String> {
    let signs: Vec<char> = text.to_uppercase().chars().collect();
    let mut found = Vec::new();
    for at in 0..signs.len() {
        let (prefix, numbers) = match signs[at..] {
            ['E', 'U', 'H', ..] => ("EUH", &EU_NUMBERS),
            ['H', ..] => ("H", &NUMBERS),
            _ => continue,
        };
        // The H of a word, of EUH or of 1H is none.
        if at > 0 && signs[at - 1].is_alphanumeric() {
            continue;
        }
        let mut from = at + prefix.len();
        while let Some((number, behind)) = number(&signs[from..]) {
            if numbers.contains(&number) {
                found.push(format!("{prefix}{number:03}"));
            }
            let Some(next) = combined(&signs[from + behind..]) else {
                break;
            };
            from += behind + next;
        }
    }
    found
}

/// Three digits behind few signs, and how many signs that takes in all.
fn number(signs: &[char]) -> Option<(u16, usize)> {
    let between = between(signs);
    let digits = signs.get(between..)?;
    let count = digits.iter().take_while(|sign| sign.is_ascii_digit());
    if between > MOST_BETWEEN || count.count() != 3 {
        return None;
    }
    let number: String = digits[..3].iter().collect();
    Some((number.parse().ok()?, between + 3))
}

/// Signs up to the next letter or digit.
fn between(signs: &[char]) -> usize {
    let is_between = |sign: &&char| !sign.is_alphanumeric();
    signs.iter().take_while(is_between).count()
}

/// Letters (`360FD`) before what joins the next number to this one; none where it stands for itself.
fn combined(signs: &[char]) -> Option<usize> {
    let letters = signs.iter().take_while(|sign| sign.is_alphabetic()).count();
    let behind = signs.get(letters..)?;
    let joins = behind.iter().take(between(behind));
    joins
        .into_iter()
        .any(|sign| ['/', '+', '&'].contains(sign))
        .then_some(letters)
}
