//! Dot matrix: the dots of each place are compared with the shapes that displays draw. The best shape
//! must fit well, and against every shape of another digit the dots that differ must speak for it.

use crate::beside::{Beside, glare_at};
use crate::glyph::{Glyph, Glyphs};
use crate::line::{DIGIT_PX, Line};
use crate::places::{Run, digit_rows, is_tall, refuse_cut_off, refuse_uneven, runs};
use crate::shapes::{Shape, shapes};
use crate::strip::{Strip, level_above, median};
use crate::unreadable::Unreadable;

const ROWS: usize = 7;
const COLUMNS: usize = 5;

/// Mean difference between dots and shape up to which a shape fits.
const FITS: f32 = 0.2;
/// Share of the evidence in the dots that differ between two shapes which must be for the better one.
const FOR_BEST: f32 = 0.68;
/// Levels of digits may differ by this factor.
const EVEN: f32 = 0.65;

/// Seven by five shares of a full dot.
type Dots = [[f32; COLUMNS]; ROWS];

/// Reads a line of dot-matrix digits.
pub(crate) fn read(line: &Line, decimals: usize) -> Result<Glyphs, Unreadable> {
    let soft = line.ink.boxed(2).boxed(1);
    let rows = (0.25 * line.ink.height as f64, 0.75 * line.ink.height as f64);
    let level = level_above(&within_rows(&soft, rows));
    if level <= 0.0 {
        return Err(Unreadable::NoDigits);
    }
    let soft = soft.scaled(1.0 / level);
    let found = runs(&soft, (0.0, soft.height as f64), 1);
    refuse_cut_off(line, &found)?;
    let (top, bottom) = digit_rows(&found)?;
    let parted = parted(&found, top, bottom)?;
    let width = place_width(&parted.digits, bottom - top)?;
    let mut grounds = line.ground.values.clone();
    let ground = median(&mut grounds);
    let all = shapes();
    let mut margin: f32 = 1.0;
    let mut digits = Vec::new();
    let mut levels: Vec<f32> = Vec::new();
    for (i, run) in parted.digits.iter().enumerate() {
        let place = Run {
            top,
            bottom,
            ..*run
        };
        if glare_at(line, (run.left, run.right), (top, bottom), ground) {
            return Err(Unreadable::Glare { digit: i + 1 });
        }
        let (dots, level) = dots(&soft, &place, width);
        levels.push(level);
        let (digit, certain) = decide(&dots, &all, i + 1)?;
        margin = margin.min(certain);
        digits.push(Glyph { digit });
    }
    let strongest = levels.iter().copied().fold(0.0, f32::max);
    if let Some(i) = levels.iter().position(|&level| level < EVEN * strongest) {
        return Err(Unreadable::PartlyRefreshed { digit: i + 1 });
    }
    let centres: Vec<f64> = parted
        .digits
        .iter()
        .map(|run| 0.5 * (run.left + run.right))
        .collect();
    refuse_uneven(&centres, parted.point_after, width)?;
    let outer = |edge: fn(&Run) -> f64, pick: fn(f64, f64) -> f64, from: f64| {
        found.iter().map(edge).fold(from, pick)
    };
    let beside = Beside {
        left: outer(|run| run.left, f64::min, f64::MAX),
        right: outer(|run| run.right, f64::max, 0.0),
        rows: (top, bottom),
    };
    beside.refuse_dim(&soft, 0.02 * DIGIT_PX * DIGIT_PX)?;
    beside.refuse_glare(line, digits.len())?;
    let glyphs = Glyphs {
        digits,
        point_after: parted.point_after,
        minus: parted.minus,
        margin,
    };
    let expected = if decimals == 0 {
        None
    } else {
        glyphs.digits.len().checked_sub(decimals + 1)
    };
    if glyphs.point_after != expected || (decimals > 0 && expected.is_none()) {
        return Err(Unreadable::Format {
            found: glyphs.text(),
            digits_before: glyphs.digits.len().saturating_sub(decimals),
            decimals,
        });
    }
    Ok(glyphs)
}

fn within_rows(strip: &Strip, rows: (f64, f64)) -> Vec<f32> {
    let rows = crate::strip::range(rows, strip.height);
    strip.values[rows.start * strip.width..rows.end * strip.width].to_vec()
}

/// Runs told apart.
struct Parted {
    digits: Vec<Run>,
    point_after: Option<usize>,
    minus: bool,
}

fn parted(found: &[Run], top: f64, bottom: f64) -> Result<Parted, Unreadable> {
    let height = bottom - top;
    let mut parted = Parted {
        digits: Vec::new(),
        point_after: None,
        minus: false,
    };
    for run in found {
        let middle = 0.5 * (run.top + run.bottom);
        if is_tall(run) {
            parted.digits.push(*run);
        } else if parted.digits.is_empty()
            && !parted.minus
            && (middle - top - 0.5 * height).abs() < 0.13 * height
            && run.height() < 0.32 * height
            && run.width() > 1.4 * run.height()
        {
            parted.minus = true;
        } else if !parted.digits.is_empty()
            && parted.point_after.is_none()
            && run.top > top + 0.6 * height
            && run.height() < 0.62 * height
            && run.width() < 0.62 * height
            // Farther off there is a place between, gone dark.
            && parted.digits.last().is_some_and(|digit| {
                0.5 * (run.left + run.right) - digit.right < 0.8 * height
            })
        {
            parted.point_after = Some(parted.digits.len() - 1);
        } else {
            return Err(Unreadable::Unexplained);
        }
    }
    Ok(parted)
}

/// Width of a full digit: the median of the wide ones.
fn place_width(digits: &[Run], height: f64) -> Result<f64, Unreadable> {
    let widest = digits.iter().map(Run::width).fold(0.0, f64::max);
    if widest > 1.25 * height {
        return Err(Unreadable::Blurred);
    }
    if widest < 0.42 * height {
        return Ok(0.68 * height);
    }
    let mut wide: Vec<f32> = digits
        .iter()
        .filter(|run| run.width() > 0.8 * widest)
        .map(|run| run.width() as f32)
        .collect();
    Ok(f64::from(median(&mut wide)))
}

/// Dots of a place about the middle of its run, as shares of its own full dot, and that level.
fn dots(soft: &Strip, run: &Run, width: f64) -> (Dots, f32) {
    let (pitch_x, pitch_y) = (width / COLUMNS as f64, (run.bottom - run.top) / ROWS as f64);
    let left = 0.5 * (run.left + run.right) - 0.5 * width;
    let mut dots = [[0.0; COLUMNS]; ROWS];
    for (j, row) in dots.iter_mut().enumerate() {
        for (i, dot) in row.iter_mut().enumerate() {
            let x = left + (i as f64 + 0.5) * pitch_x;
            let y = run.top + (j as f64 + 0.5) * pitch_y;
            *dot = soft.mean_in(
                (x - 0.3 * pitch_x, x + 0.3 * pitch_x),
                (y - 0.3 * pitch_y, y + 0.3 * pitch_y),
            );
        }
    }
    let mut sorted: Vec<f32> = dots.iter().flatten().copied().collect();
    sorted.sort_by(|a, b| b.total_cmp(a));
    // The leanest digit has seven dots: the fifth strongest is a lit one in every shape.
    let level = sorted.get(4).copied().unwrap_or(0.0).max(1e-3);
    for dot in dots.iter_mut().flatten() {
        *dot = (*dot / level).clamp(0.0, 1.0);
    }
    (dots, level)
}

/// Mean difference between dots and a shape.
fn misfit(dots: &Dots, shape: &Shape) -> f32 {
    let sum: f32 = dots
        .iter()
        .flatten()
        .zip(shape.dots.iter().flatten())
        .map(|(&found, &lit)| if lit { 1.0 - found } else { found })
        .sum();
    sum / (ROWS * COLUMNS) as f32
}

/// The digit and how certain it is, 0..=1.
fn decide(dots: &Dots, all: &[Shape], digit: usize) -> Result<(char, f32), Unreadable> {
    let best = all
        .iter()
        .min_by(|a, b| misfit(dots, a).total_cmp(&misfit(dots, b)))
        .ok_or(Unreadable::NoDigits)?;
    let fit = misfit(dots, best);
    if fit > FITS {
        return Err(Unreadable::NoSuchDigit { digit });
    }
    let mut certain: f32 = (FITS - fit) / FITS;
    for rival in all.iter().filter(|shape| shape.digit != best.digit) {
        let (mut sum, mut count) = (0.0, 0.0);
        for ((&found, &lit), &rival_lit) in dots
            .iter()
            .flatten()
            .zip(best.dots.iter().flatten())
            .zip(rival.dots.iter().flatten())
        {
            if lit != rival_lit {
                sum += if lit { found } else { 1.0 - found };
                count += 1.0;
            }
        }
        let share = sum / f32::max(count, 1.0);
        if share < FOR_BEST {
            return Err(Unreadable::Ambiguous {
                digit,
                first: best.digit,
                second: rival.digit,
            });
        }
        certain = certain.min((share - FOR_BEST) / (1.0 - FOR_BEST));
    }
    Ok((best.digit, certain))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_shape_decides_for_its_own_digit() {
        let all = shapes();
        for shape in &all {
            let dots = shape
                .dots
                .map(|row| row.map(|lit| if lit { 1.0 } else { 0.0 }));
            let (digit, certain) = decide(&dots, &all, 1).expect("a shape as drawn");
            assert_eq!(digit, shape.digit);
            assert!(certain > 0.9);
        }
    }

    #[test]
    fn a_shape_between_two_digits_is_refused() {
        let all = shapes();
        let of = |digit| {
            all.iter()
                .find(|shape| shape.digit == digit)
                .expect("drawn")
        };
        let mut dots = [[0.0; COLUMNS]; ROWS];
        for (j, row) in dots.iter_mut().enumerate() {
            for (i, dot) in row.iter_mut().enumerate() {
                let lit = [of('8'), of('6')].map(|shape| f32::from(u8::from(shape.dots[j][i])));
                *dot = 0.5 * (lit[0] + lit[1]);
            }
        }
        assert!(decide(&dots, &all, 1).is_err());
    }
}
