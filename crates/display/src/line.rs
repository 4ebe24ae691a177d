//! Where the line of digits stands in the region: turned, slanted and cut out at a fixed height.

use crate::picture::Picture;
use crate::places::{Run, is_tall, runs};
use crate::region::Upright;
use crate::strip::{Side, Strip, level_above, median};
use crate::unreadable::Unreadable;

/// Height of a digit in the strip that everything is decided on [px].
pub(crate) const DIGIT_PX: f64 = 48.0;

/// Room above and below the digits in that strip [px].
const ROOM_PX: f64 = 16.0;

/// Reach of the structures that stand out, in the strip: strokes of up to a third of a digit's height.
const STROKE_REACH_PX: usize = 9;

/// Height of the coarse strip [px]; small regions are kept at their size.
const COARSE_PX: (f64, f64) = (24.0, 64.0);

/// How often the placement is set right; a second time moves it by less than a pixel as a rule.
const REFINEMENTS: usize = 2;

/// Widest strip looked at, in digit heights: four digits, sign and room.
const WIDEST: f64 = 16.0;

/// Least difference between digits and face [grey levels]. Noise of a cheap camera in a dim room is
/// 3 to 5 levels; a stroke must stand three times above that.
const LEAST_CONTRAST: f32 = 14.0;

/// A line of digits, upright, digits about `DIGIT_PX` high.
pub(crate) struct Line {
    /// How far pixels stand out, 1 = as a stroke.
    pub ink: Strip,
    /// The face without digits [grey levels].
    pub ground: Strip,
    /// What 1 in `ink` means [grey levels].
    pub contrast: f32,
    pub side: Side,
}

impl Line {
    /// Finds the line of digits that stand out to `side`.
    pub fn find(picture: &Picture<'_>, upright: Upright, side: Side) -> Result<Self, Unreadable> {
        let coarse_height = upright.height_px.clamp(COARSE_PX.0, COARSE_PX.1).round();
        let scale = upright.height_px / coarse_height;
        let coarse_width = (upright.width_px / scale)
            .round()
            .clamp(1.0, WIDEST * COARSE_PX.1);
        let sampling = Sampling {
            picture,
            upright,
            x_scale: upright.width_px / coarse_width,
            y_scale: scale,
        };
        let coarse = sampling.coarse(coarse_width as usize, coarse_height as usize);
        let placed = Placement::of(&coarse, side, upright.turn_bound)?;
        let mut placed = placed;
        let mut line = sampling.line(&placed, side)?;
        for _ in 0..REFINEMENTS {
            let Some(better) = placed.refined(&line) else {
                break;
            };
            placed = better;
            line = sampling.line(&placed, side)?;
        }
        Ok(line)
    }
}

/// From the picture to strips.
struct Sampling<'a> {
    picture: &'a Picture<'a>,
    upright: Upright,
    /// Upright pixels per coarse pixel.
    x_scale: f64,
    y_scale: f64,
}

impl Sampling<'_> {
    fn value(&self, coarse_x: f64, coarse_y: f64) -> f32 {
        let (x, y) = self
            .upright
            .to_picture(coarse_x * self.x_scale, coarse_y * self.y_scale);
        self.picture.sample(x, y)
    }

    fn coarse(&self, width: usize, height: usize) -> Strip {
        let samples = (self.y_scale.round() as usize).clamp(1, 6);
        Strip::sampled(width, height, samples, |x, y| self.value(x, y))
    }

    fn line(&self, placed: &Placement, side: Side) -> Result<Line, Unreadable> {
        let zoom = placed.zoom();
        let height = (DIGIT_PX + 2.0 * ROOM_PX) as usize;
        let width = (placed.length / zoom).clamp(1.0, WIDEST * DIGIT_PX) as usize;
        let samples = ((zoom * self.y_scale).round() as usize).clamp(1, 6);
        let coarse_from_line = placed.coarse_from_line();
        let strip = Strip::sampled(width, height, samples, |x, y| {
            let (x, y) = coarse_from_line(
                (x - 0.5 * width as f64) * zoom,
                placed.top + (y - ROOM_PX) * zoom,
            );
            // Outside the marked region the face goes on as at its edge.
            self.value(
                x.clamp(0.5, 2.0 * placed.middle.0 - 0.5),
                y.clamp(0.5, 2.0 * placed.middle.1 - 0.5),
            )
        });
        let out = strip.softened().standing_out(side, STROKE_REACH_PX);
        let rows = ROOM_PX as usize..(ROOM_PX + DIGIT_PX) as usize;
        let contrast =
            level_above(&out.ink.values[rows.start * out.ink.width..rows.end * out.ink.width]);
        if contrast < LEAST_CONTRAST {
            return Err(Unreadable::LowContrast {
                contrast: f64::from(contrast),
                least: f64::from(LEAST_CONTRAST),
            });
        }
        Ok(Line {
            ink: out.ink.scaled(1.0 / contrast),
            ground: out.ground,
            contrast,
            side,
        })
    }
}

/// How the line lies in the coarse strip. Line coordinates: x along the line from the middle of the
/// strip, y downwards, in coarse pixels.
#[derive(Debug, Clone, Copy)]
struct Placement {
    /// Turn of the line [rad], clockwise.
    turn: f64,
    /// Shift to the right per pixel upwards.
    slant: f64,
    /// First and last row of the digits.
    top: f64,
    bottom: f64,
    /// Length of the strip along the line [px].
    length: f64,
    /// Middle of the coarse strip.
    middle: (f64, f64),
}

/// A pixel that stands out: position from the middle of the strip, and how much, up to 1.
type Spot = (f64, f64, f64);

impl Placement {
    fn of(coarse: &Strip, side: Side, turn_bound: f64) -> Result<Self, Unreadable> {
        let reach = (0.15 * coarse.height as f64).round().max(2.0) as usize;
        let ink = coarse.standing_out(side, reach).ink;
        let level = level_above(&ink.values);
        if level < 0.5 * LEAST_CONTRAST {
            return Err(Unreadable::LowContrast {
                contrast: f64::from(level),
                least: f64::from(LEAST_CONTRAST),
            });
        }
        let middle = (0.5 * coarse.width as f64, 0.5 * coarse.height as f64);
        let spots = spots(&ink, level, middle);
        // A turn moves the ends of the line by this many rows; more places than that tell nothing.
        let turn = best(turn_bound, 0.0125, 0.003, |turn| {
            let (sin, cos) = turn.sin_cos();
            gathered(&spots, |x, y| y * cos - x * sin)
        });
        let (sin, cos) = turn.sin_cos();
        let turned: Vec<Spot> = spots
            .iter()
            .map(|&(x, y, value)| (x * cos + y * sin, y * cos - x * sin, value))
            .collect();
        let slant = best(0.3, 0.05, 0.0125, |slant| {
            gathered(&turned, |x, y| x + slant * y)
        });
        let (top, bottom) = band(&turned, coarse.height)?;
        Ok(Self {
            turn,
            slant,
            top,
            bottom,
            length: coarse.width as f64,
            middle,
        })
    }

    /// Coarse pixels per pixel of the line's strip.
    fn zoom(&self) -> f64 {
        (self.bottom - self.top) / DIGIT_PX
    }

    /// The same placement set right by what its strip shows; `None` where that shows no digits.
    fn refined(&self, line: &Line) -> Option<Self> {
        let (width, height) = (line.ink.width as f64, line.ink.height as f64);
        let tall: Vec<Run> = runs(&line.ink, (0.0, height), 3)
            .into_iter()
            .filter(is_tall)
            .collect();
        let count = tall.len() as f64;
        if tall.is_empty() {
            return None;
        }
        let centre = |run: &Run| 0.5 * (run.left + run.right) - 0.5 * width;
        let level = |run: &Run| 0.5 * (run.top + run.bottom);
        let mean_x = tall.iter().map(centre).sum::<f64>() / count;
        let mean_y = tall.iter().map(level).sum::<f64>() / count;
        let spread: f64 = tall.iter().map(|run| (centre(run) - mean_x).powi(2)).sum();
        let rise: f64 = tall
            .iter()
            .map(|run| (centre(run) - mean_x) * (level(run) - mean_y))
            .sum();
        // One digit, or two that stand close, tell no slope.
        let slope = if spread > DIGIT_PX * DIGIT_PX / 4.0 {
            (rise / spread).clamp(-0.2, 0.2)
        } else {
            0.0
        };
        let mut heights: Vec<f32> = tall.iter().map(|run| run.height() as f32).collect();
        let digit = f64::from(median(&mut heights));
        // In the strip, spots of the digits alone: the slant shows better than in the coarse one.
        let rows = (mean_y - 0.5 * digit, mean_y + 0.5 * digit);
        let ink = &line.ink;
        let spots: Vec<Spot> = spots(ink, 1.0, (0.5 * width, 0.0))
            .into_iter()
            .filter(|&(_, y, _)| y > rows.0 && y < rows.1)
            .map(|(x, y, value)| (x, y - mean_y - slope * (x - mean_x), value))
            .collect();
        let more = best(0.15, 0.03, 0.006, |slant| {
            gathered(&spots, |x, y| x + slant * y)
        });
        let middle = mean_y - slope * mean_x - ROOM_PX;
        let zoom = self.zoom();
        Some(Self {
            turn: self.turn + slope,
            slant: self.slant + more + slope,
            top: self.top + (middle - 0.5 * digit) * zoom,
            bottom: self.top + (middle + 0.5 * digit) * zoom,
            ..*self
        })
    }

    fn coarse_from_line(&self) -> impl Fn(f64, f64) -> (f64, f64) + use<> {
        let Self { slant, middle, .. } = *self;
        let (sin, cos) = self.turn.sin_cos();
        move |x, y| {
            let x = x - slant * y;
            (middle.0 + x * cos - y * sin, middle.1 + x * sin + y * cos)
        }
    }
}

/// Pixels that stand out by more than 40 % of `level`.
fn spots(ink: &Strip, level: f32, middle: (f64, f64)) -> Vec<Spot> {
    let mut spots = Vec::new();
    for y in 0..ink.height {
        for x in 0..ink.width {
            let share = ink.at(x, y) / level;
            if share > 0.4 {
                spots.push((
                    x as f64 + 0.5 - middle.0,
                    y as f64 + 0.5 - middle.1,
                    f64::from(share.min(1.0)),
                ));
            }
        }
    }
    spots
}

/// How well spots gather in few places of a coordinate: the sum of squares of the profile.
fn gathered(spots: &[Spot], coordinate: impl Fn(f64, f64) -> f64) -> f64 {
    const PLACES: usize = 4096;
    let mut profile = vec![0.0; PLACES];
    for &(x, y, value) in spots {
        let place = (coordinate(x, y) + 0.5 * PLACES as f64).clamp(0.0, (PLACES - 2) as f64);
        let below = place as usize;
        let fraction = place - below as f64;
        profile[below] += value * (1.0 - fraction);
        profile[below + 1] += value * fraction;
    }
    // Neighbouring places together: how a spot falls on two places must not decide.
    profile
        .windows(2)
        .map(|pair| (pair[0] + pair[1]).powi(2))
        .sum()
}

/// The value within `bound` of nought with the highest score, in steps of `wide` and then of
/// `narrow`; nought wins unless another is better by one percent.
fn best(bound: f64, wide: f64, narrow: f64, score: impl Fn(f64) -> f64) -> f64 {
    let mut winner = (0.0, 1.01 * score(0.0));
    for (around, bound, step) in [(None, bound, wide), (Some(()), wide, narrow)] {
        let around = around.map_or(0.0, |()| winner.0);
        let steps = (bound / step).round() as i32;
        for i in -steps..=steps {
            let value = around + f64::from(i) * step;
            let found = score(value);
            if found > winner.1 {
                winner = (value, found);
            }
        }
    }
    winner.0
}

/// First and last row of the heaviest band of rows, from the middle of the strip.
fn band(spots: &[Spot], height: usize) -> Result<(f64, f64), Unreadable> {
    let half = height as isize;
    let mut rows = vec![0.0; 2 * height + 1];
    for &(_, y, value) in spots {
        let row = (y.floor() as isize + half).clamp(0, 2 * half) as usize;
        rows[row] += value;
    }
    let most = rows.iter().copied().fold(0.0, f64::max);
    // A row counts when as much stands out as a stroke is wide; a tenth of the fullest row is less
    // than one vertical stroke among four digits.
    let counts: Vec<bool> = rows.iter().map(|&v| v > 0.06 * most && v >= 1.0).collect();
    let gap = (height / 8).max(2);
    let mut bands: Vec<(usize, usize, f64)> = Vec::new();
    for (row, _) in counts.iter().enumerate().filter(|&(_, &yes)| yes) {
        match bands.last_mut() {
            Some(last) if row - last.1 <= gap => {
                last.1 = row;
                last.2 += rows[row];
            }
            _ => bands.push((row, row, rows[row])),
        }
    }
    let heaviest = bands
        .into_iter()
        .max_by(|a, b| a.2.total_cmp(&b.2))
        .ok_or(Unreadable::NoDigits)?;
    let (top, bottom) = (heaviest.0 as f64, heaviest.1 as f64 + 1.0);
    if bottom - top < 6.0 {
        return Err(Unreadable::NoDigits);
    }
    Ok((top - half as f64, bottom - half as f64))
}
