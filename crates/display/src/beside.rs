//! What stands beside the digits, and light that could hide something: a digit gone dark or drowned
//! must not make a shorter number.

use crate::line::{DIGIT_PX, Line};
use crate::strip::{Side, Strip, median, range};
use crate::unreadable::Unreadable;

/// What is beside the digits may stand out by this share of a stroke: dark segments that show.
const DIM: f32 = 0.21;

/// Light beside the digits may cover this share of a digit's height squared.
const COVERED: f64 = 0.05;

/// Whether light on the face could hide a stroke in a rectangle: the face is nearly saturated there, or
/// so far from its usual level that strokes lose their contrast.
pub(crate) fn glare_at(line: &Line, x: (f64, f64), y: (f64, f64), usual: f32) -> bool {
    hides(line, line.ground.greatest_in(x, y), usual)
}

fn hides(line: &Line, here: f32, usual: f32) -> bool {
    let saturated = match line.side {
        Side::Brighter => here + 0.5 * line.contrast > 250.0,
        Side::Darker => here >= 250.0,
    };
    saturated || here - usual > 0.6 * line.contrast
}

/// The strip to the left and to the right of the digits.
pub(crate) struct Beside {
    /// Left edge of the first digit or sign.
    pub left: f64,
    /// Right edge of the last digit.
    pub right: f64,
    /// Rows of the digits.
    pub rows: (f64, f64),
}

impl Beside {
    /// Pixels beside the digits for which something holds.
    fn count(&self, strip: &Strip, holds: impl Fn(usize, usize) -> bool) -> f64 {
        let slack = 0.12 * DIGIT_PX;
        let mut count = 0;
        for columns in [
            (0.0, self.left - slack),
            (self.right + slack, strip.width as f64),
        ] {
            if columns.1 <= columns.0 {
                continue;
            }
            for y in range(self.rows, strip.height) {
                count += range(columns, strip.width).filter(|&x| holds(x, y)).count();
            }
        }
        f64::from(count as u32)
    }

    /// Refuses a picture where something dim stands beside the digits, over more than `area` pixels:
    /// digits caught between two refreshes.
    pub fn refuse_dim(&self, ink: &Strip, area: f64) -> Result<(), Unreadable> {
        let soft = ink.boxed(1);
        if self.count(ink, |x, y| soft.at(x, y) > DIM) > area {
            return Err(Unreadable::DimBeside);
        }
        Ok(())
    }

    /// Refuses a picture where light beside the digits could hide more of them; `digits` were seen.
    pub fn refuse_glare(&self, line: &Line, digits: usize) -> Result<(), Unreadable> {
        let usual = median(&mut line.ground.values.clone());
        let covered = self.count(&line.ground, |x, y| {
            hides(line, line.ground.at(x, y), usual)
        });
        if covered > COVERED * DIGIT_PX * DIGIT_PX {
            return Err(Unreadable::Glare { digit: digits + 1 });
        }
        Ok(())
    }
}
