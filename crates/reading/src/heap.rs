//! The highest powder of an uneven heap.
//!
//! A column is found as rows of like width, so that a heap that stands higher on one side is cut off
//! where it grows narrow. What stands above that is powder all the same: taken for empty glass, it
//! would be what the whole column is compared with.

use crate::image::{Plane, quantile};
use crate::tubes::Tube;

/// Part of the bore that is looked at: not the walls.
const ACROSS: f32 = 0.9;
/// Where the empty glass is looked at, above the rows of like width, in bores.
const GLASS_BORES: (f32, f32) = (2.2, 1.1);
/// Rows of glass that are looked at, at least; powder that stands closer to the picture's edge than twice
/// that is left as it is, in bores.
const LEAST_GLASS_BORES: f32 = 0.2;
/// Step from glass to powder that counts as powder, and the part of a row that must show it: more
/// than one stray grain.
const LIKE_POWDER: f32 = 0.5;
/// Least step from glass to powder [grey levels] with which a heap can be told from glass.
const LEAST_STEP: f32 = 4.0;
const ROW_SHARE: f32 = 0.15;
/// Rows without powder that end the heap, in bores.
const END_BORES: f32 = 0.04;

/// Row of the highest powder: `tube.top_y_px`, or above it as far as rows go on showing powder.
pub(crate) fn highest_powder(picture: &Plane, tube: &Tube) -> f32 {
    let bore = tube.bore_px;
    let row_at = |y: f32| -> Vec<f32> {
        let n = (ACROSS * bore).ceil() as usize;
        (0..n)
            .map(|i| {
                let u = ((i as f32 + 0.5) / n as f32 - 0.5) * ACROSS * bore;
                picture.sample(tube.axis_at(y) + u, y)
            })
            .collect()
    };
    let rows = |from: f32, to: f32| -> Vec<Vec<f32>> {
        let (from, to) = (from.max(0.0) as usize, to.max(0.0) as usize);
        (from..to).map(|y| row_at(y as f32)).collect()
    };
    // Where the picture ends close above the powder, its first rows have to do.
    let glass_rows = rows(
        tube.top_y_px - GLASS_BORES.0 * bore,
        (tube.top_y_px - GLASS_BORES.1 * bore).max(LEAST_GLASS_BORES * bore + 1.0),
    );
    let height = tube.bottom_y_px - tube.top_y_px;
    let powder_rows = rows(
        tube.top_y_px + 0.2 * height,
        tube.bottom_y_px - 0.2 * height,
    );
    if tube.top_y_px < 2.0 * LEAST_GLASS_BORES * bore || powder_rows.is_empty() {
        return tube.top_y_px;
    }
    let glass: Vec<f32> = (0..glass_rows[0].len())
        .map(|i| {
            let mut column: Vec<f32> = glass_rows.iter().map(|row| row[i]).collect();
            quantile(&mut column, 0.5)
        })
        .collect();
    let mut differences: Vec<f32> = powder_rows
        .iter()
        .flat_map(|row| row.iter().zip(&glass).map(|(v, g)| v - g))
        .collect();
    let step = quantile(&mut differences, 0.5);
    if step.abs() < LEAST_STEP {
        return tube.top_y_px;
    }
    let shows_powder = |y: f32| {
        let row = row_at(y);
        let like = row
            .iter()
            .zip(&glass)
            .filter(|(v, g)| (*v - *g) / step > LIKE_POWDER)
            .count();
        like as f32 >= ROW_SHARE * row.len() as f32
    };
    let end_rows = (END_BORES * bore).max(2.0);
    let ceiling = (tube.top_y_px - GLASS_BORES.1 * bore).max(0.0);
    let (mut highest, mut y) = (tube.top_y_px, tube.top_y_px - 1.0);
    while y >= ceiling && highest - y <= end_rows {
        if shows_powder(y) {
            highest = y;
        }
        y -= 1.0;
    }
    highest
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Powder of 100 from row 60 to 150 over glass of 20, with a heap of `share` of the bore up to row 40.
    fn top_with_heap(share: f32) -> f32 {
        let (width, height, bore) = (100usize, 200usize, 40.0f32);
        let data = (0..width * height)
            .map(|i| {
                let (x, y) = ((i % width) as f32, i / width);
                let u = (x - 50.0) / bore + 0.5;
                let filled = (60..150).contains(&y) || (40..60).contains(&y) && u < share;
                if (0.0..1.0).contains(&u) && filled {
                    100.0
                } else {
                    20.0
                }
            })
            .collect();
        let tube = Tube {
            axis_x_px: 49.5,
            axis_slope: 0.0,
            bore_px: bore,
            top_y_px: 60.0,
            bottom_y_px: 150.0,
            filled: true,
        };
        highest_powder(
            &Plane {
                width,
                height,
                data,
            },
            &tube,
        )
    }

    #[test]
    fn a_heap_to_one_side_belongs_to_the_powder() {
        assert_eq!(top_with_heap(0.5), 40.0);
        assert_eq!(top_with_heap(0.0), 60.0);
    }

    #[test]
    fn a_stray_grain_does_not() {
        assert_eq!(top_with_heap(0.1), 60.0);
    }
}
