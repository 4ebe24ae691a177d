//! What a mark that is too far off was taken in by.

use super::{AnswerKey, EndMarked, FooledBy};

/// Pictures after a drop of the powder in which a mark is still put down to it: one sees it, goes back and
/// forth, and stops a little later.
const PICTURES_AFTER_A_DROP: f64 = 3.0;

/// Solid to be seen, as part of the fresh column's area, up to which the end may look reached: where the
/// last crystal is late, half a minute to a minute pass from here.
const LITTLE_SOLID_FRACTION: f64 = 0.25;

/// Why the first liquid was marked there.
pub(super) fn at_first_liquid(key: &AnswerKey, marked: &EndMarked) -> FooledBy {
    if marked.marked_s > marked.true_s {
        return FooledBy::Late;
    }
    let spacing_s = key.track.spacing_s(marked.marked_s);
    let within = |kind: &str, before_s: f64, after_s: f64| {
        key.events.iter().any(|event| {
            event.kind == kind
                && marked.marked_s >= event.from_s - before_s
                && marked.marked_s <= event.to_s.unwrap_or(event.from_s) + after_s
        })
    };
    if within("settling", spacing_s, PICTURES_AFTER_A_DROP * spacing_s) {
        FooledBy::Settling
    } else if within("glistening", spacing_s, 0.0) {
        FooledBy::Glistening
    } else if within("wetting", spacing_s, 0.0) {
        FooledBy::Wetting
    } else {
        FooledBy::Early
    }
}

/// Why the last crystal was called gone there.
pub(super) fn at_last_crystal(key: &AnswerKey, marked: &EndMarked) -> FooledBy {
    if marked.marked_s > marked.true_s {
        return if key.specks {
            FooledBy::Specks
        } else {
            FooledBy::Late
        };
    }
    match key.solid_left(marked.marked_s) {
        Some(left) if left <= LITTLE_SOLID_FRACTION => FooledBy::LateLastCrystal,
        _ => FooledBy::Early,
    }
}
