//! Finding the tubes: powder columns as stacks of rows of like width that stand out from the glass
//! above, the background beside and below; then empty tubes by the look of the glass.
//!
//! Every threshold between dark and bright is tried for both polarities (solid bright on dark, or
//! dark on bright), so that no single level has to fit lamp, powder and camera.

use crate::heap::highest_powder;
use crate::image::{Plane, quantile};

/// Most tubes in one load.
pub(crate) const MAX_TUBES: usize = 3;
/// Thresholds tried between the darkest and the brightest parts.
const LEVELS: usize = 24;
/// Narrowest and widest column, in picture widths.
const WIDTH_RANGE: (f32, f32) = (0.025, 0.36);
/// Shortest and tallest column, in column widths.
const ASPECT_RANGE: (f32, f32) = (0.45, 6.5);
/// Weakest step of brightness around a column against the strongest.
const LEAST_EVENNESS: f32 = 0.45;
/// Least empty glass above the powder that must be in the picture, in column widths.
const MIN_GLASS_ABOVE: f32 = 0.25;
/// Likeness of glass profiles (correlation) from which a place counts as an empty tube.
const GLASS_LIKENESS: f32 = 0.85;

/// How the scene is lit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Lighting {
    /// Solid bright on dark.
    Front,
    /// Solid dark on bright.
    Back,
}

/// One tube in the reference picture, delivered pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Tube {
    /// Axis at the bottom of the column.
    pub axis_x_px: f32,
    /// Change of the axis per row downwards.
    pub axis_slope: f32,
    /// Inner width of the glass as filled by powder.
    pub bore_px: f32,
    /// Top of the powder.
    pub top_y_px: f32,
    /// Inside of the sealed bottom.
    pub bottom_y_px: f32,
    /// Whether powder was found.
    pub filled: bool,
}

impl Tube {
    pub fn axis_at(&self, y: f32) -> f32 {
        self.axis_x_px + self.axis_slope * (y - self.bottom_y_px)
    }
}

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Tubes {
    pub lighting: Lighting,
    /// From left to right.
    pub tubes: Vec<Tube>,
}

#[derive(Debug, Clone)]
struct Stack {
    rows: Vec<(usize, usize, usize)>, // y, left, right (exclusive)
    score: f32,
    lighting: Lighting,
    mid_distance: f32,
}

impl Stack {
    fn width(&self) -> f32 {
        let mut widths: Vec<f32> = self.rows.iter().map(|r| (r.2 - r.1) as f32).collect();
        quantile(&mut widths, 0.6)
    }
    fn top(&self) -> f32 {
        self.rows[0].0 as f32
    }
    fn bottom(&self) -> f32 {
        self.rows[self.rows.len() - 1].0 as f32 + 1.0
    }
    fn centre(&self) -> f32 {
        let mut centres: Vec<f32> = self.rows.iter().map(|r| 0.5 * (r.1 + r.2) as f32).collect();
        quantile(&mut centres, 0.5)
    }
}

/// Find the tubes; `wanted` limits or fixes their number. `None` when no column stands out.
pub(crate) fn find_tubes(reference: &Plane, wanted: Option<usize>) -> Option<Tubes> {
    let smooth = reference.smoothed(2);
    let mut values = smooth.data.clone();
    let low = quantile(&mut values, 0.02);
    let high = quantile(&mut values, 0.998);
    if high - low < 6.0 {
        return None;
    }
    let mut stacks = Vec::new();
    for level in 1..LEVELS {
        let threshold = low + (high - low) * level as f32 / LEVELS as f32;
        for lighting in [Lighting::Front, Lighting::Back] {
            stacks.extend(stacks_at(&smooth, threshold, lighting));
        }
    }
    let chosen = choose(&mut stacks, wanted.unwrap_or(MAX_TUBES).min(MAX_TUBES))?;
    let lighting = chosen[0].lighting;
    let mut tubes: Vec<Tube> = chosen.iter().map(|s| tube_from(&smooth, s)).collect();
    if wanted.is_none_or(|n| tubes.len() < n) {
        add_empty(&smooth, &mut tubes, wanted.unwrap_or(MAX_TUBES));
    }
    tubes.sort_by(|a, b| a.axis_x_px.total_cmp(&b.axis_x_px));
    Some(Tubes { lighting, tubes })
}

fn is_in(value: f32, threshold: f32, lighting: Lighting) -> bool {
    match lighting {
        Lighting::Front => value > threshold,
        Lighting::Back => value < threshold,
    }
}

/// Runs of one row, short gaps bridged.
fn runs(row: &[f32], threshold: f32, lighting: Lighting, bridge: usize) -> Vec<(usize, usize)> {
    let mut out: Vec<(usize, usize)> = Vec::new();
    let mut x = 0;
    while x < row.len() {
        if is_in(row[x], threshold, lighting) {
            let start = x;
            while x < row.len() && is_in(row[x], threshold, lighting) {
                x += 1;
            }
            match out.last_mut() {
                Some(last) if start - last.1 <= bridge => last.1 = x,
                _ => out.push((start, x)),
            }
        }
        x += 1;
    }
    out
}

fn stacks_at(picture: &Plane, threshold: f32, lighting: Lighting) -> Vec<Stack> {
    let w = picture.width as f32;
    let bridge = (0.004 * w).max(1.0) as usize;
    let mut open: Vec<Stack> = Vec::new();
    let mut done: Vec<Stack> = Vec::new();
    for y in 0..picture.height {
        let row = &picture.data[y * picture.width..(y + 1) * picture.width];
        let mut found: Vec<(usize, usize)> = runs(row, threshold, lighting, bridge);
        found.retain(|r| {
            (r.1 - r.0) as f32 >= 0.5 * WIDTH_RANGE.0 * w && (r.1 - r.0) as f32 <= WIDTH_RANGE.1 * w
        });
        for stack in &mut open {
            let width = stack.width();
            let last = stack.rows[stack.rows.len() - 1];
            let last_centre = 0.5 * (last.1 + last.2) as f32;
            let fit = found.iter().position(|r| {
                let (run, centre) = ((r.1 - r.0) as f32, 0.5 * (r.0 + r.1) as f32);
                (centre - last_centre).abs() < 0.25 * width
                    && run < 1.5 * width
                    && run > 0.35 * width
            });
            if let Some(index) = fit {
                let r = found.remove(index);
                stack.rows.push((y, r.0, r.1));
            }
        }
        let (still, closed): (Vec<Stack>, Vec<Stack>) = open
            .into_iter()
            .partition(|s| y - s.rows[s.rows.len() - 1].0 <= 3);
        done.extend(closed);
        open = still;
        open.extend(found.into_iter().map(|r| Stack {
            rows: vec![(y, r.0, r.1)],
            score: 0.0,
            lighting,
            mid_distance: 0.0,
        }));
    }
    done.extend(open);
    done.retain_mut(|s| judge(picture, threshold, s));
    done
}

/// Whether a stack looks like powder in a tube; sets its score.
fn judge(picture: &Plane, threshold: f32, stack: &mut Stack) -> bool {
    let width = stack.width();
    let height = stack.rows.len() as f32;
    if width < WIDTH_RANGE.0 * picture.width as f32
        || height < ASPECT_RANGE.0 * width
        || height > ASPECT_RANGE.1 * width
    {
        return false;
    }
    let (top, bottom, centre) = (stack.top(), stack.bottom(), stack.centre());
    let like = stack
        .rows
        .iter()
        .filter(|r| ((r.2 - r.1) as f32 / width - 1.0).abs() < 0.2)
        .count() as f32;
    if like < 0.55 * height || height < 0.8 * (bottom - top) {
        return false;
    }
    let inside = region(
        picture,
        centre - 0.35 * width,
        top + 0.15 * height,
        centre + 0.35 * width,
        bottom - 0.15 * height,
    );
    let left = region(
        picture,
        centre - 1.0 * width,
        top,
        centre - 0.72 * width,
        bottom,
    );
    let right = region(
        picture,
        centre + 0.72 * width,
        top,
        centre + 1.0 * width,
        bottom,
    );
    let above = region(
        picture,
        centre - 0.25 * width,
        top - 0.6 * width,
        centre + 0.25 * width,
        top - 0.15 * width,
    );
    let below = region(
        picture,
        centre - 0.2 * width,
        bottom + 0.25 * width,
        centre + 0.2 * width,
        bottom + 0.5 * width,
    );
    let outside = |part: &[f32], share: f32| {
        let opposite = part
            .iter()
            .filter(|&&v| !is_in(v, threshold, stack.lighting))
            .count();
        part.is_empty() || opposite as f32 >= share * part.len() as f32
    };
    // A tube cut off by the picture's edge cannot be read, and dark margins or a bright window must
    // not pass for one: there is no glass to be seen above them.
    if top < MIN_GLASS_ABOVE * width
        || centre - 0.85 * width < 0.0
        || centre + 0.85 * width > picture.width as f32
        || inside.is_empty()
    {
        return false;
    }
    if !(outside(&left, 0.75)
        && outside(&right, 0.75)
        && outside(&above, 0.7)
        && outside(&below, 0.7))
    {
        return false;
    }
    let filled = inside
        .iter()
        .filter(|&&v| is_in(v, threshold, stack.lighting))
        .count() as f32
        / inside.len() as f32;
    if filled < 0.75 {
        return false;
    }
    // Powder stands out on every side alike; a bright field beside a tube does not stand out from
    // its own continuation above.
    let mean = |part: &[f32]| part.iter().sum::<f32>() / part.len().max(1) as f32;
    let inner = mean(&inside);
    let steps: Vec<f32> = [&left, &right, &above, &below]
        .iter()
        .filter(|part| !part.is_empty())
        .map(|part| (inner - mean(part)).abs())
        .collect();
    let contrast = steps.iter().copied().fold(f32::MAX, f32::min);
    let strongest = steps.iter().copied().fold(0.0, f32::max);
    if contrast < LEAST_EVENNESS * strongest {
        return false;
    }
    let mut around = left;
    around.extend(right);
    around.extend(above);
    let outer = mean(&around);
    stack.mid_distance = (threshold - 0.5 * (inner + outer)).abs() / contrast.max(1.0);
    stack.score = contrast * width * height * like / height;
    true
}

fn region(picture: &Plane, x0: f32, y0: f32, x1: f32, y1: f32) -> Vec<f32> {
    let (w, h) = (picture.width as f32, picture.height as f32);
    let (xa, xb) = (x0.max(0.0) as usize, x1.clamp(0.0, w) as usize);
    let (ya, yb) = (y0.max(0.0) as usize, y1.clamp(0.0, h) as usize);
    let mut out = Vec::new();
    for y in ya..yb {
        out.extend_from_slice(
            picture.data[y * picture.width..]
                .get(xa..xb.max(xa))
                .unwrap_or(&[]),
        );
    }
    out
}

/// One stack per place, all of one lighting, alike in width and bottom: the set with most weight.
fn choose(stacks: &mut Vec<Stack>, most: usize) -> Option<Vec<Stack>> {
    // Of overlapping stacks of like weight keep the one thresholded nearest the middle between powder and background.
    stacks.sort_by(|a, b| {
        b.score
            .total_cmp(&a.score)
            .then(a.mid_distance.total_cmp(&b.mid_distance))
    });
    let mut places: Vec<(f32, Stack)> = Vec::new();
    for stack in stacks.drain(..) {
        let place = places.iter_mut().find(|(_, p)| {
            p.lighting == stack.lighting
                && (p.centre() - stack.centre()).abs() < 0.6 * p.width().max(stack.width())
                && p.top() < stack.bottom()
                && stack.top() < p.bottom()
        });
        match place {
            None => places.push((stack.score, stack)),
            Some((heaviest, kept)) => {
                if stack.score > 0.6 * *heaviest && stack.mid_distance < kept.mid_distance {
                    *kept = stack;
                }
            }
        }
    }
    let places: Vec<Stack> = places.into_iter().map(|p| p.1).collect();
    let mut best: Option<(f32, Vec<Stack>)> = None;
    for leader in &places {
        let mut group: Vec<Stack> = places
            .iter()
            .filter(|s| {
                s.lighting == leader.lighting
                    && (s.width() / leader.width() - 1.0).abs() < 0.3
                    && (s.bottom() - leader.bottom()).abs() < 0.9 * leader.width()
                    && s.score > 0.08 * leader.score
            })
            .cloned()
            .collect();
        group.sort_by(|a, b| b.score.total_cmp(&a.score));
        group.truncate(most);
        let total: f32 = group.iter().map(|s| s.score).sum();
        if best.as_ref().is_none_or(|b| total > b.0) {
            best = Some((total, group));
        }
    }
    best.map(|b| b.1)
}

fn tube_from(picture: &Plane, stack: &Stack) -> Tube {
    let width = stack.width();
    let bottom = stack.bottom();
    let mut axis: Vec<f32> = stack
        .rows
        .iter()
        .filter(|r| ((r.2 - r.1) as f32 / width - 1.0).abs() < 0.15)
        .map(|r| 0.5 * (r.1 + r.2) as f32)
        .collect();
    let mut tube = Tube {
        axis_x_px: quantile(&mut axis, 0.5) - 0.5,
        axis_slope: 0.0,
        bore_px: width,
        top_y_px: stack.top(),
        bottom_y_px: bottom,
        filled: true,
    };
    tube.top_y_px = highest_powder(picture, &tube);
    lean(picture, &mut tube, 0.5 * (stack.top() + bottom));
    if stack.lighting == Lighting::Back {
        narrow_to_bore(picture, &mut tube);
    }
    tube
}

/// Slope of the axis at which the glass walls look sharpest, turned about row `pivot_y`.
fn lean(picture: &Plane, tube: &mut Tube, pivot_y: f32) {
    let (ya, yb) = (
        (tube.top_y_px - 1.6 * tube.bore_px).max(0.0),
        tube.bottom_y_px - 0.5 * tube.bore_px,
    );
    let axis_mid = tube.axis_x_px;
    let mut best = (f32::MIN, 0.0);
    for step in -24..=24 {
        let slope = step as f32 * 0.004;
        let trial = Tube {
            axis_slope: slope,
            axis_x_px: axis_mid + slope * (tube.bottom_y_px - pivot_y),
            ..*tube
        };
        let line = profile(picture, &trial, trial.axis_x_px, ya, yb);
        // Walls only: the powder's own texture would vote for nothing in particular.
        let sharpness: f32 = line
            .windows(2)
            .enumerate()
            .filter(|(i, _)| (*i as f32 / 60.0 - 0.5).abs() * 1.5 > 0.42)
            .map(|(_, p)| (p[1] - p[0]).powi(2))
            .sum();
        if sharpness > best.0 {
            best = (sharpness, slope);
        }
    }
    tube.axis_slope = best.1;
    tube.axis_x_px = axis_mid + best.1 * (tube.bottom_y_px - pivot_y);
}

/// Back-lit walls are dark like powder: take the bright view through the empty glass as the bore.
fn narrow_to_bore(picture: &Plane, tube: &mut Tube) {
    let (ya, yb) = (
        (tube.top_y_px - 1.2 * tube.bore_px).max(0.0),
        tube.top_y_px - 0.25 * tube.bore_px,
    );
    if yb - ya < 3.0 {
        return;
    }
    let line = profile(picture, tube, tube.axis_x_px, ya, yb);
    let mut inner = line[20..41].to_vec();
    let bright = quantile(&mut inner, 0.6);
    let wall = |range: std::ops::Range<usize>| line[range].iter().copied().fold(f32::MAX, f32::min);
    let (left_middle, right_middle) = (0.5 * (bright + wall(4..24)), 0.5 * (bright + wall(37..57)));
    let left = (4..30).rev().find(|&i| line[i] < left_middle);
    let right = (31..57).find(|&i| line[i] < right_middle);
    if let (Some(left), Some(right)) = (left, right) {
        let per_sample = 1.5 * tube.bore_px / 60.0;
        let inner_px = (right - left - 1) as f32 * per_sample;
        if (0.55..0.99).contains(&(inner_px / tube.bore_px)) {
            tube.bottom_y_px -= 0.5 * (tube.bore_px - inner_px);
            tube.axis_x_px += (0.5 * (left + right) as f32 - 30.0) * per_sample;
            tube.bore_px = inner_px;
        }
    }
}

/// Places that show the same glass as the tubes found, but no powder.
fn add_empty(picture: &Plane, tubes: &mut Vec<Tube>, most: usize) {
    let model = tubes[0];
    let bore = model.bore_px;
    let top = tubes.iter().map(|t| t.top_y_px).fold(f32::MAX, f32::min);
    let bottom = tubes.iter().map(|t| t.bottom_y_px).fold(f32::MIN, f32::max);
    let (ya, yb) = ((top - 1.6 * bore).max(0.0), top - 0.3 * bore);
    if yb - ya < 0.3 * bore {
        return;
    }
    let templates: Vec<Vec<f32>> = tubes
        .iter()
        .map(|t| profile(picture, t, t.axis_x_px, ya, yb))
        .collect();
    let glass = |x: f32, tubes: &[Tube]| -> f32 {
        if tubes.iter().any(|t| (t.axis_x_px - x).abs() < 1.25 * bore) {
            return 0.0;
        }
        let upper = profile(picture, &model, x, ya, yb);
        let lower = profile(picture, &model, x, top, bottom - 0.5 * bore);
        templates
            .iter()
            .map(|t| likeness(t, &upper).min(likeness(t, &lower)))
            .fold(0.0, f32::max)
    };
    while tubes.len() < most {
        let mut best = (0.0f32, 0.0f32);
        let mut x = 0.65 * bore;
        while x < picture.width as f32 - 0.65 * bore {
            let likeness = glass(x, tubes);
            if likeness > best.0 {
                best = (likeness, x);
            }
            x += 1.0;
        }
        if best.0 < GLASS_LIKENESS {
            return;
        }
        let mut heights: Vec<f32> = tubes.iter().map(|t| t.top_y_px).collect();
        tubes.push(Tube {
            axis_x_px: best.1,
            top_y_px: quantile(&mut heights, 0.5),
            filled: false,
            ..model
        });
    }
}

/// Mean over rows `ya..yb` along a tube's axis direction, across ±0.75 bore about `axis_x` at the bottom.
fn profile(picture: &Plane, tube: &Tube, axis_x: f32, ya: f32, yb: f32) -> Vec<f32> {
    let n = 61;
    let shift = axis_x - tube.axis_x_px;
    let mut out = vec![0.0; n];
    let rows = ((yb - ya) as usize).max(1);
    for r in 0..rows {
        let y = ya + r as f32;
        let axis = tube.axis_at(y) + shift;
        for (i, value) in out.iter_mut().enumerate() {
            let u = (i as f32 / (n - 1) as f32 - 0.5) * 1.5 * tube.bore_px;
            *value += picture.sample(axis + u, y) / rows as f32;
        }
    }
    out
}

/// Correlation coefficient of two profiles.
fn likeness(a: &[f32], b: &[f32]) -> f32 {
    let n = a.len() as f32;
    let (ma, mb) = (a.iter().sum::<f32>() / n, b.iter().sum::<f32>() / n);
    let (mut saa, mut sbb, mut sab) = (0.0, 0.0, 0.0);
    for (x, y) in a.iter().zip(b) {
        saa += (x - ma).powi(2);
        sbb += (y - mb).powi(2);
        sab += (x - ma) * (y - mb);
    }
    // A profile without structure is like nothing.
    if saa < n || sbb < 0.1 * saa {
        return 0.0;
    }
    sab / (saa * sbb).sqrt()
}
