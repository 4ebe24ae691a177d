//! The line of digits parted into places: runs of columns with something in them.

use crate::line::{DIGIT_PX, Line};
use crate::strip::{Strip, median};
use crate::unreadable::Unreadable;

/// A run of columns with what stands in it, in strip pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Run {
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub bottom: f64,
}

impl Run {
    pub fn width(&self) -> f64 {
        self.right - self.left
    }

    pub fn height(&self) -> f64 {
        self.bottom - self.top
    }
}

/// A column or row is taken when its third greatest value passes this share of a stroke.
const TAKEN: f32 = 0.45;

/// Runs of columns in rows `from..to`, gaps of up to `bridged` columns closed.
pub(crate) fn runs(ink: &Strip, rows: (f64, f64), bridged: usize) -> Vec<Run> {
    let rows = crate::strip::range(rows, ink.height);
    let taken: Vec<bool> = (0..ink.width)
        .map(|x| third(rows.clone().map(|y| ink.at(x, y))) > TAKEN)
        .collect();
    let mut spans: Vec<(usize, usize)> = Vec::new();
    for (x, _) in taken.iter().enumerate().filter(|&(_, &yes)| yes) {
        match spans.last_mut() {
            Some(last) if x - last.1 <= bridged + 1 => last.1 = x,
            _ => spans.push((x, x)),
        }
    }
    spans
        .into_iter()
        .filter_map(|(left, right)| {
            let in_row = |y: usize| third((left..=right).map(|x| ink.at(x, y))) > TAKEN;
            let top = (0..ink.height).find(|&y| in_row(y))?;
            let bottom = (0..ink.height).rev().find(|&y| in_row(y))?;
            Some(Run {
                left: left as f64,
                right: right as f64 + 1.0,
                top: top as f64,
                bottom: bottom as f64 + 1.0,
            })
        })
        .collect()
}

/// Third greatest value: a single bright pixel or two decide nothing.
fn third(values: impl Iterator<Item = f32>) -> f32 {
    let mut greatest = [0.0_f32; 3];
    for value in values {
        if value > greatest[0] {
            greatest = [value, greatest[0], greatest[1]];
        } else if value > greatest[1] {
            greatest = [greatest[0], value, greatest[1]];
        } else if value > greatest[2] {
            greatest[2] = value;
        }
    }
    greatest[2]
}

/// Rows of the digits: from the highest top to the lowest bottom of tall runs.
///
/// # Errors
/// `NoDigits` without a tall run; `Uneven` when one stands off.
pub(crate) fn digit_rows(runs: &[Run]) -> Result<(f64, f64), Unreadable> {
    let tall: Vec<&Run> = runs.iter().filter(|run| is_tall(run)).collect();
    if tall.is_empty() {
        return Err(Unreadable::NoDigits);
    }
    let top = tall.iter().map(|run| run.top).fold(f64::MAX, f64::min);
    let bottom = tall.iter().map(|run| run.bottom).fold(0.0, f64::max);
    // A four or a one begins below an eight and ends above it, by an eighth where strokes are short.
    let allowed = 0.15 * DIGIT_PX;
    if tall
        .iter()
        .any(|run| run.top - top > allowed || bottom - run.bottom > allowed)
    {
        return Err(Unreadable::Uneven);
    }
    Ok((top, bottom))
}

/// Whether a run is as tall as a digit.
pub(crate) fn is_tall(run: &Run) -> bool {
    run.height() > 0.7 * DIGIT_PX
}

/// Refuses what touches the left or right edge of the strip, or its top and bottom.
pub(crate) fn refuse_cut_off(line: &Line, runs: &[Run]) -> Result<(), Unreadable> {
    let (width, height) = (line.ink.width as f64, line.ink.height as f64);
    let cut = runs.iter().any(|run| {
        run.left < 1.5 || run.right > width - 1.5 || run.top < 1.0 || run.bottom > height - 1.0
    });
    if cut { Err(Unreadable::CutOff) } else { Ok(()) }
}

/// Refuses digits that do not stand at equal places: one gone dark leaves a gap.
///
/// * `at`: the same point of every digit.
/// * `point_after`: the digit that the point follows; the step over it may be wider by a place.
/// * `width`: width of a digit; digits side by side are at most 0.9 of it apart.
pub(crate) fn refuse_uneven(
    at: &[f64],
    point_after: Option<usize>,
    width: f64,
) -> Result<(), Unreadable> {
    let steps = || at.windows(2).map(|pair| pair[1] - pair[0]).enumerate();
    let mut plain: Vec<f32> = steps()
        .filter(|(i, _)| Some(*i) != point_after)
        .map(|(_, step)| step as f32)
        .collect();
    // Two digits with the point between tell no usual step.
    let usual = if plain.is_empty() {
        1.5 * width
    } else {
        f64::from(median(&mut plain))
    };
    let sound = steps().all(|(i, step)| {
        if Some(i) == point_after {
            step > 0.7 * usual && step < 2.3 * usual
        } else {
            step > 0.83 * usual && step < 1.17 * usual
        }
    });
    if sound && usual < 1.9 * width {
        Ok(())
    } else {
        Err(Unreadable::Uneven)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_may_be_wider_over_the_point_alone() {
        assert!(refuse_uneven(&[40.0, 80.0, 120.0, 160.0], Some(2), 30.0).is_ok());
        assert!(refuse_uneven(&[40.0, 80.0, 120.0, 185.0], Some(2), 30.0).is_ok());
        assert_eq!(
            refuse_uneven(&[40.0, 80.0, 160.0, 200.0], Some(2), 30.0),
            Err(Unreadable::Uneven),
            "a dark place in the middle"
        );
        assert_eq!(
            refuse_uneven(&[40.0, 180.0], Some(0), 30.0),
            Err(Unreadable::Uneven)
        );
        assert_eq!(
            refuse_uneven(&[40.0, 118.0], None, 31.0),
            Err(Unreadable::Uneven),
            "two of three digits, the middle one dark"
        );
    }

    #[test]
    fn one_bright_pixel_makes_no_run() {
        let mut ink = Strip::sampled(30, 80, 1, |_, _| 0.0);
        ink.values[40 * 30 + 10] = 1.0;
        assert!(runs(&ink, (16.0, 64.0), 2).is_empty());
        for y in 20..60 {
            for x in [10, 11, 12, 15, 16] {
                ink.values[y * 30 + x] = 1.0;
            }
        }
        let found = runs(&ink, (16.0, 64.0), 2);
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].left, found[0].right), (10.0, 17.0));
        assert_eq!((found[0].top, found[0].bottom), (20.0, 60.0));
    }
}
