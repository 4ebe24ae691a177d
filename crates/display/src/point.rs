//! The decimal point of a seven-segment display: in the gap behind a digit, on its baseline.

use crate::line::{DIGIT_PX, Line};
use crate::strip::range;
use crate::strokes::Place;
use crate::unreadable::Unreadable;

/// A point is smaller than a stroke is long and loses more to blur. Its place is known beforehand and
/// it decides no digit, so that half a stroke's level is enough.
const POINT_LIT: f32 = 0.42;
/// No point where there is less than this.
const POINT_DARK: f32 = 0.3;

/// The place that the point follows. Exactly one where there are decimals, none otherwise.
pub(crate) fn point_after(
    line: &Line,
    places: &[Place],
    decimals: usize,
) -> Result<(Option<usize>, f32), Unreadable> {
    let mut margin: f32 = 1.0;
    let mut found = None;
    for (i, place) in places.iter().enumerate() {
        // A point stands close to its digit; farther off there is a place between, gone dark.
        let next = places
            .get(i + 1)
            .map_or(line.ink.width as f64, |next| next.left)
            .min(place.right + 0.34 * DIGIT_PX);
        let level = point_level(line, place, next);
        if level > POINT_LIT {
            if found.replace(i).is_some() {
                return Err(Unreadable::Unexplained);
            }
            margin = margin.min(((level - POINT_LIT) / (1.0 - POINT_LIT)).min(1.0));
        } else if level < POINT_DARK {
            margin = margin.min((POINT_DARK - level) / POINT_DARK);
        } else {
            return Err(Unreadable::PartlyRefreshed { digit: i + 1 });
        }
    }
    let expected = places.len().checked_sub(decimals + 1);
    match (found, decimals) {
        (None, 0) => Ok((None, margin)),
        (Some(_), 0) => Err(Unreadable::Unexplained),
        (Some(i), _) if Some(i) == expected => Ok((Some(i), margin)),
        _ => {
            let mut seen = "#".repeat(places.len());
            if let Some(i) = found {
                seen.insert(i + 1, '.');
            }
            Err(Unreadable::Format {
                found: seen,
                digits_before: places.len().saturating_sub(decimals),
                decimals,
            })
        }
    }
}

/// How much a point stands out between two places, beyond what the digits beside it shed there.
fn point_level(line: &Line, place: &Place, next: f64) -> f32 {
    let size = place.stroke.max(0.06 * DIGIT_PX);
    let slack = 0.02 * DIGIT_PX;
    let from = place.right + slack;
    let to = (next - slack).max(from + 1.0);
    let mut strongest: f32 = 0.0;
    let half = 0.4 * size;
    for x in range((from, to), line.ink.width) {
        let x = x as f64 + 0.5;
        for y in range(
            (
                place.bottom - 0.22 * DIGIT_PX,
                place.bottom + 0.06 * DIGIT_PX,
            ),
            line.ink.height,
        ) {
            let y = y as f64 + 0.5;
            let here = line.ink.mean_in((x - half, x + half), (y - half, y + half));
            let shed = line.ink.mean_in(
                (x - half, x + half),
                (place.bottom - 0.5 * DIGIT_PX, place.bottom - 0.3 * DIGIT_PX),
            );
            strongest = strongest.max(here - shed);
        }
    }
    strongest
}
