//! The strokes of a seven-segment digit: where each is looked for, what is seen there, and whether
//! they account for all that stands out.

use crate::line::{DIGIT_PX, Line};
use crate::places::Run;
use crate::strip::{median, range};
use crate::unreadable::Unreadable;

/// Share of what stands out near a digit that its strokes need not explain.
const UNEXPLAINED: f32 = 0.10;

/// Segments in the usual order: a top, b and c right, d bottom, e and f left, g middle.
pub(crate) const A: u8 = 1;
pub(crate) const B: u8 = 2;
pub(crate) const C: u8 = 4;
pub(crate) const D: u8 = 8;
pub(crate) const E: u8 = 16;
pub(crate) const F: u8 = 32;
pub(crate) const G: u8 = 64;

/// One place: where it stands and how thick its strokes are, in strip pixels.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Place {
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub bottom: f64,
    pub stroke: f64,
    /// Right edge of the digit before.
    pub before: f64,
}

impl Place {
    pub fn x(&self, fraction: f64) -> f64 {
        self.left + fraction * (self.right - self.left)
    }

    pub fn y(&self, fraction: f64) -> f64 {
        self.top + fraction * (self.bottom - self.top)
    }
}

/// Where a segment is looked for: across its stroke and along it.
pub(crate) struct Probe {
    pub segment: u8,
    pub x: (f64, f64),
    pub y: (f64, f64),
    pub lies: bool,
}

pub(crate) fn probes(place: &Place) -> [Probe; 7] {
    let slack = 0.045 * DIGIT_PX;
    let stroke = place.stroke;
    let middle = place.y(0.5);
    let along_x = (place.x(0.36), place.x(0.64));
    let top = (place.top - slack, place.top + stroke + slack);
    let bottom = (place.bottom - stroke - slack, place.bottom + slack);
    let centre = (middle - 0.5 * stroke - slack, middle + 0.5 * stroke + slack);
    // Never so far left that the digit before shines in.
    let left = (
        (place.left - slack).max(place.before + 0.07 * DIGIT_PX),
        place.left + stroke + slack,
    );
    let right = (place.right - stroke - slack, place.right + slack);
    let upper = (place.y(0.24), place.y(0.38));
    let lower = (place.y(0.62), place.y(0.76));
    let lying = |segment, y| Probe {
        segment,
        x: along_x,
        y,
        lies: true,
    };
    let standing = |segment, x, y| Probe {
        segment,
        x,
        y,
        lies: false,
    };
    [
        lying(A, top),
        standing(B, right, upper),
        standing(C, right, lower),
        lying(D, bottom),
        standing(E, left, lower),
        standing(F, left, upper),
        lying(G, centre),
    ]
}

/// What one probe saw along the segment, each place the best across.
pub(crate) struct Seen {
    pub weakest: f32,
    /// A quarter of the places are weaker.
    pub quarter: f32,
    pub strongest: f32,
}

pub(crate) fn look(line: &Line, probe: &Probe) -> Seen {
    let columns = range(probe.x, line.ink.width);
    let rows = range(probe.y, line.ink.height);
    let mut along: Vec<f32> = if probe.lies {
        columns
            .map(|x| rows.clone().map(|y| line.ink.at(x, y)).fold(0.0, f32::max))
            .collect()
    } else {
        rows.map(|y| {
            columns
                .clone()
                .map(|x| line.ink.at(x, y))
                .fold(0.0, f32::max)
        })
        .collect()
    };
    along.sort_by(f32::total_cmp);
    Seen {
        weakest: along.first().copied().unwrap_or(0.0),
        quarter: along.get(along.len() / 4).copied().unwrap_or(0.0),
        strongest: along.last().copied().unwrap_or(0.0),
    }
}

/// Thickness of upright strokes: the middle of the lengths of short runs in rows through them.
pub(crate) fn stroke_px(line: &Line, top: f64, bottom: f64) -> f64 {
    let height = bottom - top;
    let mut lengths: Vec<f32> = Vec::new();
    for (from, to) in [(0.24, 0.38), (0.62, 0.76)] {
        for y in range((top + from * height, top + to * height), line.ink.height) {
            let mut length = 0.0_f32;
            for x in 0..line.ink.width {
                let value = line.ink.at(x, y);
                if value > 0.5 {
                    length += 1.0;
                } else if length > 0.0 {
                    lengths.push(length);
                    length = 0.0;
                }
            }
        }
    }
    lengths.retain(|&length| f64::from(length) < 0.4 * DIGIT_PX);
    f64::from(median(&mut lengths)).clamp(0.04 * DIGIT_PX, 0.24 * DIGIT_PX)
}

/// Refuses a picture with more in it than the decided strokes account for.
pub(crate) fn refuse_unexplained(
    line: &Line,
    places: &[Place],
    patterns: &[u8],
    point_after: Option<usize>,
    minus: Option<Run>,
) -> Result<(), Unreadable> {
    let slack = 0.09 * DIGIT_PX;
    let mut explained: Vec<[f64; 4]> = Vec::new();
    for (place, pattern) in places.iter().zip(patterns) {
        let Place {
            left,
            right,
            top,
            bottom,
            stroke,
            ..
        } = *place;
        let middle = place.y(0.5);
        for (segment, box_) in [
            (A, [left, top, right, top + stroke]),
            (B, [right - stroke, top, right, middle]),
            (C, [right - stroke, middle, right, bottom]),
            (D, [left, bottom - stroke, right, bottom]),
            (E, [left, middle, left + stroke, bottom]),
            (F, [left, top, left + stroke, middle]),
            (
                G,
                [left, middle - 0.5 * stroke, right, middle + 0.5 * stroke],
            ),
        ] {
            if pattern & segment != 0 {
                explained.push(box_);
            }
        }
    }
    if let Some(place) = point_after.and_then(|i| places.get(i)) {
        explained.push([
            place.right,
            place.bottom - 0.22 * DIGIT_PX,
            place.right + 0.3 * DIGIT_PX,
            place.bottom + 0.06 * DIGIT_PX,
        ]);
    }
    explained.extend(minus.map(|run| [run.left, run.top, run.right, run.bottom]));
    let (Some(first), Some(last)) = (places.first(), places.last()) else {
        return Err(Unreadable::NoDigits);
    };
    let (mut within, mut outside) = (vec![0.0_f32; places.len()], vec![0.0_f32; places.len()]);
    for y in range(
        (first.top - 0.2 * DIGIT_PX, last.bottom + 0.2 * DIGIT_PX),
        line.ink.height,
    ) {
        for x in 0..line.ink.width {
            let value = line.ink.at(x, y);
            if value < 0.4 {
                continue;
            }
            let (px, py) = (x as f64 + 0.5, y as f64 + 0.5);
            let accounted = explained.iter().any(|&[left, top, right, bottom]| {
                px > left - slack && px < right + slack && py > top - slack && py < bottom + slack
            });
            let nearest = places
                .iter()
                .position(|place| px < place.right + 0.1 * DIGIT_PX)
                .unwrap_or(places.len() - 1);
            if accounted {
                within[nearest] += value;
            } else {
                outside[nearest] += value;
            }
        }
    }
    let stroke_area = (first.stroke * 0.4 * DIGIT_PX) as f32;
    let sound = within
        .iter()
        .zip(&outside)
        .all(|(&within, &outside)| outside < UNEXPLAINED * within.max(stroke_area));
    if sound {
        Ok(())
    } else {
        Err(Unreadable::Unexplained)
    }
}
