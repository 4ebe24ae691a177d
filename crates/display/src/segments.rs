//! Seven segments: each is measured as lit or dark along its whole length, and the digit is what the
//! seven say together. A segment that does not decide makes the picture unreadable.

use crate::beside::{Beside, glare_at};
use crate::glyph::{Glyph, Glyphs};
use crate::line::{DIGIT_PX, Line};
use crate::places::{Run, digit_rows, is_tall, refuse_cut_off, refuse_uneven, runs};
use crate::point::point_after;
use crate::strip::median;
use crate::strokes::{A, B, C, D, E, F, G, Place, look, probes, refuse_unexplained, stroke_px};
use crate::unreadable::Unreadable;

/// A segment counts as lit when three quarters of it are above this share of a full stroke...
const LIT: f32 = 0.6;
/// ...and all of it is above this.
const THROUGHOUT: f32 = 0.42;
/// A segment counts as dark when it stays below this share all along. Faces that show their dark
/// segments show them at 5 to 20 %.
const DARK: f32 = 0.32;
/// Levels of lit segments within one picture may differ by this factor.
const EVEN: f32 = 0.6;

/// The digit of a pattern; six, seven and nine with and without their tails.
fn digit_of(pattern: u8) -> Option<char> {
    const NINE_WITHOUT_TAIL: u8 = A | B | C | F | G;
    const SIX_WITHOUT_TAIL: u8 = C | D | E | F | G;
    Some(match pattern {
        p if p == A | B | C | D | E | F => '0',
        p if p == B | C => '1',
        p if p == A | B | D | E | G => '2',
        p if p == A | B | C | D | G => '3',
        p if p == B | C | F | G => '4',
        p if p == A | C | D | F | G => '5',
        SIX_WITHOUT_TAIL => '6',
        p if p == SIX_WITHOUT_TAIL | A => '6',
        p if p == A | B | C || p == A | B | C | F => '7',
        p if p == A | B | C | D | E | F | G => '8',
        NINE_WITHOUT_TAIL => '9',
        p if p == NINE_WITHOUT_TAIL | D => '9',
        _ => return None,
    })
}

/// Reads a line of seven-segment digits.
pub(crate) fn read(line: &Line, decimals: usize) -> Result<Glyphs, Unreadable> {
    // Strokes of one digit leave gaps of a column or two where they are short.
    let bridged = 2;
    let whole = runs(&line.ink, (0.0, line.ink.height as f64), bridged);
    refuse_cut_off(line, &whole)?;
    let (top, bottom) = digit_rows(&whole)?;
    // The point stands in the gap between two digits: columns are told apart above it.
    let upper = runs(&line.ink, (top - 2.0, top + 0.74 * (bottom - top)), bridged);
    let (places, minus) = places(line, &upper, top, bottom)?;
    let (patterns, margin) = patterns(line, &places)?;
    let text: Vec<char> = patterns
        .iter()
        .enumerate()
        .map(|(i, &pattern)| digit_of(pattern).ok_or(Unreadable::NoSuchDigit { digit: i + 1 }))
        .collect::<Result<_, _>>()?;
    let (point_after, point_margin) = point_after(line, &places, decimals)?;
    let rights: Vec<f64> = places.iter().map(|place| place.right).collect();
    refuse_uneven(&rights, point_after, places[0].right - places[0].left)?;
    refuse_unexplained(line, &places, &patterns, point_after, minus)?;
    let first_left = minus.map_or(places[0].left, |run| run.left);
    let last_right = rights.last().map_or(0.0, |right| right + 0.3 * DIGIT_PX);
    let area = places[0].stroke * 0.25 * DIGIT_PX;
    let beside = Beside {
        left: first_left,
        right: last_right,
        rows: (top, bottom),
    };
    beside.refuse_dim(&line.ink, area)?;
    beside.refuse_glare(line, patterns.len())?;
    Ok(Glyphs {
        digits: text.into_iter().map(|digit| Glyph { digit }).collect(),
        point_after,
        minus: minus.is_some(),
        margin: margin.min(point_margin),
    })
}

/// The places of the digits, all of one width, and the run of a minus sign before them.
fn places(
    line: &Line,
    upper: &[Run],
    top: f64,
    bottom: f64,
) -> Result<(Vec<Place>, Option<Run>), Unreadable> {
    let height = bottom - top;
    let stroke = stroke_px(line, top, bottom);
    let (mut digits, mut minus) = (Vec::new(), None);
    for run in upper {
        if is_tall(run) {
            digits.push(*run);
        } else if digits.is_empty() && minus.is_none() && is_minus(run, top, height) {
            minus = Some(*run);
        } else {
            return Err(Unreadable::Unexplained);
        }
    }
    if digits.is_empty() {
        return Err(Unreadable::NoDigits);
    }
    let wide_from = (0.36 * height).max(2.2 * stroke);
    let narrow_to = (stroke * 1.5).max(stroke + 0.06 * height);
    if digits
        .iter()
        .any(|run| run.width() > narrow_to && run.width() < wide_from)
        || digits.iter().any(|run| run.width() > 0.95 * height)
    {
        return Err(Unreadable::Blurred);
    }
    let wide = digits
        .iter()
        .map(Run::width)
        .filter(|&width| width >= wide_from);
    let widest = wide.clone().fold(0.0, f64::max);
    // A three without left strokes is narrower than an eight, by a fifth where strokes are short.
    if wide.clone().any(|width| width < 0.74 * widest) {
        return Err(Unreadable::Uneven);
    }
    let width = if widest > 0.0 { widest } else { 0.58 * height };
    let befores = std::iter::once(0.0).chain(digits.iter().map(|run| run.right));
    let places = digits
        .iter()
        .zip(befores)
        .map(|(run, before)| {
            // Every digit has a stroke on the right; not every digit has one on the left.
            let left = run.right - width;
            Place {
                left,
                right: run.right,
                top,
                bottom,
                stroke,
                before,
            }
        })
        .collect();
    Ok((places, minus))
}

fn is_minus(run: &Run, top: f64, height: f64) -> bool {
    let middle = 0.5 * (run.top + run.bottom);
    (middle - top - 0.5 * height).abs() < 0.1 * height
        && run.height() < 0.3 * height
        && run.width() > 1.5 * run.height()
        && run.width() < 0.8 * height
}

/// Lit segments of every place, and the least margin.
fn patterns(line: &Line, places: &[Place]) -> Result<(Vec<u8>, f32), Unreadable> {
    let mut grounds: Vec<f32> = line.ground.values.clone();
    let ground = median(&mut grounds);
    let mut margin: f32 = 1.0;
    let mut patterns = Vec::new();
    let mut levels: Vec<(usize, f32)> = Vec::new();
    for (i, place) in places.iter().enumerate() {
        let digit = i + 1;
        let mut pattern = 0;
        for probe in probes(place) {
            let seen = look(line, &probe);
            if seen.quarter > LIT && seen.weakest > THROUGHOUT {
                pattern |= probe.segment;
                margin = margin.min(((seen.quarter - LIT) / (1.0 - LIT)).min(1.0));
                levels.push((digit, 0.5 * (seen.quarter + seen.strongest)));
            } else if seen.strongest < DARK {
                if glare_at(line, probe.x, probe.y, ground) {
                    return Err(Unreadable::Glare { digit });
                }
                margin = margin.min((DARK - seen.strongest) / DARK);
            } else if glare_at(line, probe.x, probe.y, ground) {
                return Err(Unreadable::Glare { digit });
            } else {
                return Err(Unreadable::PartlyRefreshed { digit });
            }
        }
        // Between the lying segments there is nothing in any digit.
        for rows in [(0.26, 0.36), (0.64, 0.74)] {
            let inside = line.ink.greatest_in(
                (place.x(0.44), place.x(0.56)),
                (place.y(rows.0), place.y(rows.1)),
            );
            if inside > 0.5 {
                return Err(Unreadable::Blurred);
            }
        }
        patterns.push(pattern);
    }
    let strongest = levels.iter().map(|&(_, level)| level).fold(0.0, f32::max);
    match levels.iter().find(|&&(_, level)| level < EVEN * strongest) {
        Some(&(digit, _)) => Err(Unreadable::PartlyRefreshed { digit }),
        None => Ok((patterns, margin)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_digit_has_a_pattern_and_few_patterns_are_digits() {
        let digits: Vec<char> = (0..128).filter_map(digit_of).collect();
        assert_eq!(digits.len(), 13, "ten digits, and 6, 7, 9 in two shapes");
        for digit in '0'..='9' {
            assert!(digits.contains(&digit));
        }
    }
}
