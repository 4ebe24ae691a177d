//! Characters: which a document uses, which no font has, and where a long word may break.

use crate::warnings::code_point;
use serde_json::Value;
use std::collections::BTreeSet;
use typst::layout::{Frame, FrameItem};
use typst_layout::PagedDocument;

/// Letters in a row without a place to break after which one is made.
const LONGEST_UNBROKEN: usize = 16;

const BREAK_HERE: char = '\u{200b}';

/// Fit all texts for the typesetter: no control characters, and a place to break in every long word.
pub(super) fn prepare(value: &mut Value) {
    each_text(value, &mut |text| *text = prepared(text));
}

fn prepared(text: &str) -> String {
    let mut fit = String::with_capacity(text.len());
    let mut unbroken = 0;
    for character in text.chars() {
        if is_dropped(character) {
            continue;
        }
        if character.is_whitespace() || character == BREAK_HERE {
            unbroken = 0;
        } else {
            unbroken += 1;
            if unbroken > LONGEST_UNBROKEN && !joins(character) {
                fit.push(BREAK_HERE);
                unbroken = 1;
            }
        }
        fit.push(character);
    }
    fit
}

/// Control characters, byte order marks and non-characters: nothing to be seen of them.
fn is_dropped(character: char) -> bool {
    let number = u32::from(character);
    (character.is_control() && !matches!(character, '\n' | '\t'))
        || character == '\u{feff}'
        || (0xfdd0..=0xfdef).contains(&number)
        || number & 0xfffe == 0xfffe
}

/// Whether it belongs to the character before it.
fn joins(character: char) -> bool {
    matches!(u32::from(character),
        0x300..=0x36f | 0x200c..=0x200f | 0x202a..=0x202e | 0x2060..=0x206f | 0xfe00..=0xfe0f
        | 0xfe20..=0xfe2f | 0x1f3fb..=0x1f3ff | 0xe0100..=0xe01ef)
}

/// Whether its meaning is a private agreement; the strictest archives do not take it.
pub(super) fn is_private(character: char) -> bool {
    matches!(u32::from(character), 0xe000..=0xf8ff | 0xf_0000..=0x10_fffd)
}

/// All characters that need a glyph.
pub(super) fn collect(value: &Value, used: &mut BTreeSet<char>) {
    match value {
        Value::String(text) => used.extend(
            text.chars()
                .filter(|&one| !one.is_whitespace() && !joins(one) && one != BREAK_HERE),
        ),
        Value::Array(items) => items.iter().for_each(|item| collect(item, used)),
        Value::Object(fields) => fields.values().for_each(|field| collect(field, used)),
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

/// Numbers in the place of characters.
pub(super) fn replace(value: &mut Value, missing: &BTreeSet<char>) {
    each_text(value, &mut |text| {
        if text.chars().any(|one| missing.contains(&one)) {
            let mut shown = String::new();
            for character in text.chars() {
                if missing.contains(&character) {
                    shown.push_str(&format!("[{}]{BREAK_HERE}", code_point(character)));
                } else {
                    shown.push(character);
                }
            }
            *text = shown;
        }
    });
}

fn each_text(value: &mut Value, change: &mut impl FnMut(&mut String)) {
    match value {
        Value::String(text) => change(text),
        Value::Array(items) => items.iter_mut().for_each(|item| each_text(item, change)),
        Value::Object(fields) => fields
            .iter_mut()
            .for_each(|(_, field)| each_text(field, change)),
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

/// Characters that came out without a glyph, although a font claimed to have them.
pub(super) fn unset(document: &PagedDocument) -> BTreeSet<char> {
    let mut found = BTreeSet::new();
    for page in document.pages() {
        unset_in(&page.frame, &mut found);
    }
    found
}

fn unset_in(frame: &Frame, found: &mut BTreeSet<char>) {
    for (_, item) in frame.items() {
        match item {
            FrameItem::Group(group) => unset_in(&group.frame, found),
            FrameItem::Text(text) => {
                for glyph in text.glyphs.iter().filter(|glyph| glyph.id == 0) {
                    let range = glyph.range();
                    found.extend(text.text.get(range).unwrap_or_default().chars());
                }
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_words_may_break_and_short_ones_stay() {
        let long = "a".repeat(50);
        assert_eq!(prepared(&long).matches(BREAK_HERE).count(), 3);
        assert_eq!(prepared("trans-cinnamic acid"), "trans-cinnamic acid");
        assert_eq!(
            prepared("0198e000-1111-7222").matches(BREAK_HERE).count(),
            1
        );
        assert_eq!(prepared("a\u{0}b\u{feff}c\u{1b}"), "abc");
    }
}
