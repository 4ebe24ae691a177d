//! A small upright grey picture, and what stands out on it.

/// Values in floating point, `height × width`, row-major.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Strip {
    pub width: usize,
    pub height: usize,
    pub values: Vec<f32>,
}

/// What stands out from its surroundings, and the surroundings.
#[derive(Debug, Clone)]
pub(crate) struct Ink {
    /// How far a pixel stands out towards the side the digits are on [grey levels], 0 or more.
    pub ink: Strip,
    /// The face without digits [grey levels, 0..=255].
    pub ground: Strip,
}

/// Which side of the face the digits are on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
    Brighter,
    Darker,
}

impl Strip {
    /// A strip of `width × height` from a function of pixel centres, each pixel the mean of
    /// `samples × samples` points.
    pub fn sampled(
        width: usize,
        height: usize,
        samples: usize,
        value: impl Fn(f64, f64) -> f32,
    ) -> Self {
        let step = 1.0 / samples as f64;
        let share = 1.0 / (samples * samples) as f32;
        let mut values = Vec::with_capacity(width * height);
        for y in 0..height {
            for x in 0..width {
                let mut sum = 0.0;
                for j in 0..samples {
                    for i in 0..samples {
                        sum += value(
                            x as f64 + (i as f64 + 0.5) * step,
                            y as f64 + (j as f64 + 0.5) * step,
                        );
                    }
                }
                values.push(sum * share);
            }
        }
        Self {
            width,
            height,
            values,
        }
    }

    pub fn at(&self, x: usize, y: usize) -> f32 {
        self.values[y * self.width + x]
    }

    fn mapped(&self, change: impl Fn(f32) -> f32) -> Self {
        Self {
            values: self.values.iter().map(|&v| change(v)).collect(),
            ..*self
        }
    }

    pub fn scaled(&self, factor: f32) -> Self {
        self.mapped(|v| v * factor)
    }

    fn transposed(&self) -> Self {
        let mut values = Vec::with_capacity(self.values.len());
        for x in 0..self.width {
            values.extend((0..self.height).map(|y| self.at(x, y)));
        }
        Self {
            width: self.height,
            height: self.width,
            values,
        }
    }

    /// The value picked of each pixel and those up to `reach` before and after it in its row.
    fn extreme_in_rows(&self, reach: usize, pick: impl Fn(f32, f32) -> f32) -> Self {
        let mut out = self.clone();
        // Edges repeated: a repeated value changes no extreme.
        let mut row = vec![0.0; self.width + 2 * reach];
        for (source, target) in self
            .values
            .chunks_exact(self.width)
            .zip(out.values.chunks_exact_mut(self.width))
        {
            row[..reach].fill(source[0]);
            row[reach..reach + self.width].copy_from_slice(source);
            row[reach + self.width..].fill(source[self.width - 1]);
            // Windows that begin at each pixel, doubled: the work grows with the logarithm of reach.
            let mut covered = 1;
            while covered < 2 * reach + 1 {
                let further = covered.min(2 * reach + 1 - covered);
                for i in 0..row.len() - further {
                    row[i] = pick(row[i], row[i + further]);
                }
                covered += further;
            }
            target.copy_from_slice(&row[..self.width]);
        }
        out
    }

    fn extreme(&self, reach: usize, pick: impl Fn(f32, f32) -> f32 + Copy) -> Self {
        self.extreme_in_rows(reach, pick)
            .transposed()
            .extreme_in_rows(reach, pick)
            .transposed()
    }

    fn mean_along(&self, reach: usize) -> Self {
        let mut out = self.clone();
        for (row, target) in self
            .values
            .chunks_exact(self.width)
            .zip(out.values.chunks_exact_mut(self.width))
        {
            let last = row.len() - 1;
            let inside = |x: isize| row[x.clamp(0, last as isize) as usize];
            let reach = reach as isize;
            let mut sum: f32 = (-reach..=reach).map(inside).sum();
            for (x, value) in target.iter_mut().enumerate() {
                let x = x as isize;
                *value = sum / (2 * reach + 1) as f32;
                sum += inside(x + reach + 1) - inside(x - reach);
            }
        }
        out
    }

    /// Mean over a square of `reach` pixels to each side, edges repeated.
    pub fn boxed(&self, reach: usize) -> Self {
        self.mean_along(reach)
            .transposed()
            .mean_along(reach)
            .transposed()
    }

    /// Smoothed by (1 2 1)/4 both ways.
    pub fn softened(&self) -> Self {
        let once = |strip: &Self| {
            let mut out = strip.clone();
            for (row, target) in strip
                .values
                .chunks_exact(strip.width)
                .zip(out.values.chunks_exact_mut(strip.width))
            {
                for (x, value) in target.iter_mut().enumerate() {
                    let (left, right) = (x.saturating_sub(1), (x + 1).min(row.len() - 1));
                    *value = 0.25 * (row[left] + 2.0 * row[x] + row[right]);
                }
            }
            out
        };
        once(&once(self).transposed()).transposed()
    }

    /// What stands out by structures narrower than `2 reach + 1` pixels: the top hat of mathematical
    /// morphology, its opening smoothed so that gradients leave no steps.
    pub fn standing_out(&self, side: Side, reach: usize) -> Ink {
        let turned = match side {
            Side::Brighter => self.clone(),
            Side::Darker => self.mapped(|v| 255.0 - v),
        };
        let opened = turned
            .extreme(reach, |a, b| if a < b { a } else { b })
            .extreme(reach, |a, b| if a > b { a } else { b })
            .boxed(reach / 2);
        let ink = Self {
            values: turned
                .values
                .iter()
                .zip(&opened.values)
                .map(|(&v, &ground)| (v - ground).max(0.0))
                .collect(),
            ..turned
        };
        let ground = match side {
            Side::Brighter => opened,
            Side::Darker => opened.mapped(|v| 255.0 - v),
        };
        Ink { ink, ground }
    }

    /// Mean over a rectangle in pixels, cut at the edges; nought where nothing is left.
    pub fn mean_in(&self, x: (f64, f64), y: (f64, f64)) -> f32 {
        let mut sum = 0.0;
        let mut count = 0;
        for row in range(y, self.height) {
            for column in range(x, self.width) {
                sum += self.at(column, row);
                count += 1;
            }
        }
        if count == 0 { 0.0 } else { sum / count as f32 }
    }

    /// Greatest value in a rectangle; nought where nothing is left of it.
    pub fn greatest_in(&self, x: (f64, f64), y: (f64, f64)) -> f32 {
        let mut greatest: f32 = 0.0;
        for row in range(y, self.height) {
            for column in range(x, self.width) {
                greatest = greatest.max(self.at(column, row));
            }
        }
        greatest
    }
}

/// Whole pixels whose centres lie between two coordinates; at least the one in the middle when that
/// is inside.
pub(crate) fn range((from, to): (f64, f64), count: usize) -> std::ops::Range<usize> {
    let middle = 0.5 * (from + to);
    let (mut low, mut high) = ((from - 0.5).ceil(), (to - 0.5).floor() + 1.0);
    if high <= low {
        (low, high) = (middle.floor(), middle.floor() + 1.0);
    }
    let inside = |v: f64| v.clamp(0.0, count as f64) as usize;
    inside(low)..inside(high)
}

/// The level that parts values into two classes best, and the median of the class above.
///
/// # Source
/// N. Otsu, IEEE Trans. Syst. Man Cybern. 9 (1979) 62.
pub(crate) fn level_above(values: &[f32]) -> f32 {
    const BINS: usize = 128;
    let greatest = values.iter().copied().fold(0.0, f32::max);
    if greatest <= 0.0 {
        return 0.0;
    }
    let bin = |v: f32| ((v / greatest * BINS as f32) as usize).min(BINS - 1);
    let mut counts = [0_usize; BINS];
    for &value in values {
        counts[bin(value)] += 1;
    }
    let total: usize = counts.iter().sum();
    let total_sum: f64 = counts
        .iter()
        .enumerate()
        .map(|(i, &n)| i as f64 * n as f64)
        .sum();
    let (mut below, mut below_sum, mut best, mut split) = (0, 0.0, -1.0, 0);
    for (i, &n) in counts.iter().enumerate() {
        below += n;
        below_sum += i as f64 * n as f64;
        let above = total - below;
        if below == 0 || above == 0 {
            continue;
        }
        let apart = below_sum / below as f64 - (total_sum - below_sum) / above as f64;
        let between = below as f64 * above as f64 * apart * apart;
        if between > best {
            (best, split) = (between, i);
        }
    }
    let mut upper: Vec<f32> = values.iter().copied().filter(|&v| bin(v) > split).collect();
    median(&mut upper)
}

/// Median; nought of nothing.
pub(crate) fn median(values: &mut [f32]) -> f32 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f32::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two strokes three pixels wide on a ramp, 40 levels above or below it.
    fn strokes(sign: f32) -> Strip {
        Strip::sampled(60, 30, 1, |x, y| {
            let stroke = (20.0..23.0).contains(&x) || (8.0..11.0).contains(&y);
            100.0 + x as f32 + if stroke { sign * 40.0 } else { 0.0 }
        })
    }

    #[test]
    fn strokes_stand_out_of_a_ramp_whichever_side_they_are_on() {
        for (sign, side) in [(1.0, Side::Brighter), (-1.0, Side::Darker)] {
            let found = strokes(sign).standing_out(side, 5);
            assert!((found.ink.at(21, 25) - 40.0).abs() < 8.0);
            assert!(found.ink.at(40, 25) < 8.0);
            assert!((found.ground.at(40, 9) - 140.0).abs() < 8.0);
        }
    }

    #[test]
    fn the_level_of_the_upper_class_is_its_median() {
        let mut values = vec![2.0; 900];
        values.extend(vec![80.0; 60]);
        values.extend(vec![100.0; 80]);
        assert_eq!(level_above(&values), 100.0);
        assert_eq!(level_above(&[0.0; 4]), 0.0);
        assert_eq!(level_above(&[]), 0.0);
    }

    #[test]
    fn extremes_are_those_of_the_window_also_at_the_edges() {
        let strip = Strip::sampled(11, 7, 1, |x, y| ((x * 7.3 + y * 3.1).sin() * 100.0) as f32);
        for reach in [1, 2, 3, 5, 20] {
            let found = strip.extreme(reach, |a, b| if a > b { a } else { b });
            for y in 0..strip.height {
                for x in 0..strip.width {
                    let rows = y.saturating_sub(reach)..(y + reach + 1).min(strip.height);
                    let expected = rows
                        .flat_map(|j| {
                            let columns = x.saturating_sub(reach)..(x + reach + 1).min(strip.width);
                            columns.map(move |i| (i, j))
                        })
                        .map(|(i, j)| strip.at(i, j))
                        .fold(f32::MIN, f32::max);
                    assert_eq!(found.at(x, y), expected, "reach {reach} at {x}, {y}");
                }
            }
        }
    }

    #[test]
    fn ranges_hold_at_least_the_middle() {
        assert_eq!(range((1.0, 3.0), 10), 1..3);
        assert_eq!(range((4.1, 4.2), 10), 4..5);
        assert!(range((-9.0, -5.0), 10).is_empty());
        assert!(range((50.0, 60.0), 10).is_empty());
    }

    #[test]
    fn a_box_mean_keeps_the_level() {
        let flat = Strip::sampled(9, 5, 1, |_, _| 7.0);
        assert!(flat.boxed(3).values.iter().all(|&v| (v - 7.0).abs() < 1e-4));
        assert!(
            flat.softened()
                .values
                .iter()
                .all(|&v| (v - 7.0).abs() < 1e-4)
        );
    }
}
