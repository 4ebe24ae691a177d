//! The two charts of a tube: liquid and solid against temperature, temperature against time.

use crate::axis::Axis;
use crate::numbers;
use crate::svg::{Anchor, Drawing};
use meltrange_physics::{LogSample, TemperatureLog};
use meltrange_reading::{Moment, TubeReading};

const WIDTH_PX: f64 = 720.0;
const HEIGHT_PX: f64 = 344.0;
const LEFT_PX: f64 = 66.0;
const RIGHT_PX: f64 = 700.0;
const TOP_PX: f64 = 58.0;
const BOTTOM_PX: f64 = 290.0;

/// Height of the line on which the numbers of remarks stand, and of the one above it.
const REMARK_ROWS_PX: [f64; 2] = [40.0, 18.0];

/// Numbers of remarks closer than this would overlap.
const REMARK_SPACING_PX: f64 = 22.0;

/// More points than this cannot be told apart at this width.
const MOST_DRAWN_POINTS: usize = 1200;

/// Rows of the table that says the same as a chart.
const MOST_TABLE_ROWS: usize = 40;

/// A drawing with the values that it shows.
pub(crate) struct Chart {
    /// Inline SVG.
    pub svg: String,
    /// Cells of a table, row by row.
    pub rows: Vec<Vec<String>>,
    /// Whether numbers of remarks stand in it.
    pub holds_remarks: bool,
}

/// Liquid and solid fraction of one tube against logged temperature around its melting; `None`
/// when the curve has no two different temperatures.
pub(crate) fn melting_chart(tube: &TubeReading, log: &TemperatureLog) -> Option<Chart> {
    let (least_c, most_c) = melting_window_c(tube)?;
    let across = Axis {
        least: least_c,
        most: most_c,
        start_px: LEFT_PX,
        end_px: RIGHT_PX,
    };
    let up = Axis {
        least: 0.0,
        most: 1.0,
        start_px: BOTTOM_PX,
        end_px: TOP_PX,
    };
    let mut drawing = Drawing::new(WIDTH_PX, HEIGHT_PX);
    draw_grid(&mut drawing, &across, "logged temperature, °C");
    for percent in [0, 25, 50, 75, 100] {
        let y_px = up.px(f64::from(percent) / 100.0);
        drawing.line("grid", (LEFT_PX, y_px), (RIGHT_PX, y_px));
        drawing.text(
            "tick",
            (LEFT_PX - 8.0, y_px + 4.5),
            Anchor::End,
            &format!("{percent}"),
        );
    }
    drawing.text(
        "axis",
        (LEFT_PX - 50.0, TOP_PX - 14.0),
        Anchor::Start,
        "% of column",
    );

    let corners = ((LEFT_PX, TOP_PX - 2.0), (RIGHT_PX, BOTTOM_PX + 2.0));
    for (marked, class, side) in marked_moments(tube) {
        let band_c = 2.0 * marked.standard_uncertainty_c;
        let edge = |temperature_c: f64| across.px(temperature_c.clamp(least_c, most_c));
        drawing.rectangle(
            &format!("band {class}"),
            (edge(marked.temperature_c - band_c), TOP_PX),
            (edge(marked.temperature_c + band_c), BOTTOM_PX),
        );
        let x_px = across.px(marked.temperature_c);
        drawing.line(
            &format!("moment {class}"),
            (x_px, TOP_PX - 6.0),
            (x_px, BOTTOM_PX),
        );
        let (dx_px, anchor) = match side {
            Side::Left => (-8.0, Anchor::End),
            Side::Right => (8.0, Anchor::Start),
        };
        let words = [moment_name(side), &numbers::moment_temperature(marked)];
        for (row, word) in words.into_iter().enumerate() {
            let y_px = match side {
                Side::Left => TOP_PX + 20.0,
                Side::Right => BOTTOM_PX - 32.0,
            } + 18.0 * row as f64;
            drawing.text(
                &format!("label {class}"),
                (x_px + dx_px, y_px),
                anchor,
                word,
            );
        }
    }
    let points = thinned(&tube.curve, MOST_DRAWN_POINTS);
    let path = |fraction: fn(&meltrange_reading::CurvePoint) -> f64| {
        points
            .iter()
            .map(|point| (across.px(point.temperature_c), up.px(fraction(point))))
            .collect::<Vec<_>>()
    };
    let clip = |what: &str| format!("clip-{what}-{}", tube.tube);
    drawing.clipped_path(
        "solid",
        &clip("solid"),
        corners,
        path(|point| point.solid_fraction),
    );
    drawing.clipped_path(
        "liquid",
        &clip("liquid"),
        corners,
        path(|point| point.liquid_fraction),
    );
    draw_levels(&mut drawing, &across, &up, tube);
    let holds_remarks = draw_remarks(&mut drawing, &across, tube, |time_s| {
        log.at(time_s).map(|point| point.temperature_c)
    });

    let inside: Vec<_> = tube
        .curve
        .iter()
        .filter(|point| across.holds(point.temperature_c))
        .collect();
    let rows = thinned(&inside, MOST_TABLE_ROWS)
        .iter()
        .map(|point| {
            vec![
                numbers::fixed(point.temperature_c, 2),
                numbers::clock(point.time_s),
                numbers::fixed(point.liquid_fraction * 100.0, 1),
                numbers::fixed(point.solid_fraction * 100.0, 1),
            ]
        })
        .collect();
    let label = format!(
        "Tube {}: liquid and solid part of the column against logged temperature from {} to {}; range {}.",
        tube.tube,
        numbers::logged_temperature(least_c),
        numbers::logged_temperature(most_c),
        numbers::range(tube)
    );
    Some(Chart {
        svg: drawing.finish(&label),
        rows,
        holds_remarks,
    })
}

/// The temperature log over the recording with the moments of one tube; `None` when the log has
/// no two samples there.
pub(crate) fn temperature_chart(tube: &TubeReading, log: &TemperatureLog) -> Option<Chart> {
    let (from_s, to_s) = match (tube.curve.first(), tube.curve.last()) {
        (Some(first), Some(last)) if last.time_s > first.time_s => (first.time_s, last.time_s),
        _ => log.span_s(),
    };
    let inside: Vec<LogSample> = log
        .samples()
        .iter()
        .copied()
        .filter(|sample| sample.time_s >= from_s && sample.time_s <= to_s)
        .collect();
    if inside.len() < 2 {
        return None;
    }
    let (least_c, most_c) = span(inside.iter().map(|sample| sample.temperature_c))?;
    let margin_c = 0.05 * (most_c - least_c).max(0.2);
    let across = Axis {
        least: from_s / 60.0,
        most: to_s / 60.0,
        start_px: LEFT_PX,
        end_px: RIGHT_PX,
    };
    let up = Axis {
        least: least_c - margin_c,
        most: most_c + margin_c,
        start_px: BOTTOM_PX,
        end_px: TOP_PX,
    };
    let mut drawing = Drawing::new(WIDTH_PX, HEIGHT_PX);
    draw_grid(&mut drawing, &across, "log time, min");
    let (ticks, decimals) = up.ticks(5);
    for tick in ticks {
        let y_px = up.px(tick);
        drawing.line("grid", (LEFT_PX, y_px), (RIGHT_PX, y_px));
        drawing.text(
            "tick",
            (LEFT_PX - 8.0, y_px + 4.5),
            Anchor::End,
            &numbers::fixed(tick, decimals),
        );
    }
    drawing.text(
        "axis",
        (LEFT_PX - 50.0, TOP_PX - 14.0),
        Anchor::Start,
        "°C as logged",
    );
    let points = thinned(&inside, MOST_DRAWN_POINTS);
    drawing.clipped_path(
        "log",
        &format!("clip-log-{}", tube.tube),
        ((LEFT_PX, TOP_PX), (RIGHT_PX, BOTTOM_PX)),
        points
            .iter()
            .map(|sample| (across.px(sample.time_s / 60.0), up.px(sample.temperature_c))),
    );
    for (marked, class, side) in marked_moments(tube) {
        let at = (across.px(marked.time_s / 60.0), up.px(marked.temperature_c));
        drawing.line(&format!("moment {class}"), (at.0, at.1), (at.0, BOTTOM_PX));
        drawing.circle(&format!("spot {class}"), at, 5.0);
        let (dx_px, dy_px, anchor) = label_place(side, at.0);
        let words = format!(
            "{} {}",
            moment_name(side),
            numbers::moment_temperature(marked)
        );
        drawing.text(
            &format!("label {class}"),
            (at.0 + dx_px, at.1 + dy_px),
            anchor,
            &words,
        );
    }
    let holds_remarks = draw_remarks(&mut drawing, &across, tube, |time_s| Some(time_s / 60.0));

    let rows = thinned(&inside, MOST_TABLE_ROWS)
        .iter()
        .map(|sample| {
            vec![
                numbers::clock(sample.time_s),
                numbers::fixed(sample.temperature_c, 2),
            ]
        })
        .collect();
    let label = format!(
        "Tube {}: temperature as logged from {} at {} to {} at {}, with the moments of this tube.",
        tube.tube,
        numbers::logged_temperature(inside[0].temperature_c),
        numbers::clock(from_s),
        numbers::logged_temperature(inside[inside.len() - 1].temperature_c),
        numbers::clock(to_s)
    );
    Some(Chart {
        svg: drawing.finish(&label),
        rows,
        holds_remarks,
    })
}

/// On which side of its line the name of a moment stands.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Side {
    /// First liquid: powder still to come lies to the right.
    Left,
    /// Last crystal.
    Right,
}

fn moment_name(side: Side) -> &'static str {
    match side {
        Side::Left => "first liquid",
        Side::Right => "last crystal",
    }
}

fn marked_moments(tube: &TubeReading) -> impl Iterator<Item = (&Moment, &'static str, Side)> {
    let first = tube
        .first_liquid
        .iter()
        .map(|moment| (moment, "first", Side::Left));
    let last = tube
        .last_crystal
        .iter()
        .map(|moment| (moment, "last", Side::Right));
    first.chain(last)
}

/// Offset and anchor of a label beside a point of the rising log: first liquid above left, last
/// crystal below right, turned inwards near the edges.
fn label_place(side: Side, x_px: f64) -> (f64, f64, Anchor) {
    const ROOM_PX: f64 = 180.0;
    match side {
        Side::Left if x_px - ROOM_PX > LEFT_PX => (-10.0, -10.0, Anchor::End),
        Side::Left => (12.0, 48.0, Anchor::Start),
        Side::Right if x_px + ROOM_PX < RIGHT_PX => (12.0, 22.0, Anchor::Start),
        Side::Right => (-10.0, -14.0, Anchor::End),
    }
}

/// Part of the temperature axis worth showing: the melting with room on both sides for the
/// labels, or the whole curve where nothing melted.
fn melting_window_c(tube: &TubeReading) -> Option<(f64, f64)> {
    let (least_c, most_c) = span(tube.curve.iter().map(|point| point.temperature_c))?;
    let window = match (&tube.first_liquid, &tube.last_crystal) {
        (Some(first), Some(last)) => {
            let widest_u_c = first
                .standard_uncertainty_c
                .max(last.standard_uncertainty_c);
            let width_c = last.temperature_c - first.temperature_c;
            let margin_c = (0.6 * width_c).max(3.0 * widest_u_c).max(0.4);
            (
                first.temperature_c - margin_c,
                last.temperature_c + margin_c,
            )
        }
        (Some(only), None) => (
            only.temperature_c - 1.0,
            most_c.max(only.temperature_c + 1.0),
        ),
        (None, Some(only)) => (
            least_c.min(only.temperature_c - 1.0),
            only.temperature_c + 1.0,
        ),
        (None, None) => (least_c, most_c),
    };
    (window.1 > window.0).then_some(window)
}

fn draw_grid(drawing: &mut Drawing, across: &Axis, name: &str) {
    let (ticks, decimals) = across.ticks(7);
    for tick in ticks {
        let x_px = across.px(tick);
        drawing.line("grid", (x_px, TOP_PX), (x_px, BOTTOM_PX));
        drawing.text(
            "tick",
            (x_px, BOTTOM_PX + 20.0),
            Anchor::Middle,
            &numbers::fixed(tick, decimals),
        );
    }
    drawing.text("axis", (RIGHT_PX, BOTTOM_PX + 42.0), Anchor::End, name);
}

/// Where each level of the table was reached, with a bar of 2u to either side.
fn draw_levels(drawing: &mut Drawing, across: &Axis, up: &Axis, tube: &TubeReading) {
    for level in &tube.levels {
        let moment = &level.moment;
        if !across.holds(moment.temperature_c) {
            continue;
        }
        let y_px = up.px(level.liquid_fraction);
        let edge_px = |offset_c: f64| {
            across.px((moment.temperature_c + offset_c).clamp(across.least, across.most))
        };
        let reach_c = 2.0 * moment.standard_uncertainty_c;
        drawing.line("reach", (edge_px(-reach_c), y_px), (edge_px(reach_c), y_px));
        drawing.circle("level", (edge_px(0.0), y_px), 4.0);
    }
}

/// Numbers of the tube's remarks along the top, where `value_at` puts their times on the axis;
/// whether there were any on it.
fn draw_remarks(
    drawing: &mut Drawing,
    across: &Axis,
    tube: &TubeReading,
    value_at: impl Fn(f64) -> Option<f64>,
) -> bool {
    let mut ends_px = [f64::NEG_INFINITY; 2];
    for (index, remark) in tube.remarks.iter().enumerate() {
        let Some(value) = value_at(remark.time_s).filter(|value| across.holds(*value)) else {
            continue;
        };
        let x_px = across.px(value);
        // The first row with room; without any, the least full one, pushed to the right.
        let row = (0..REMARK_ROWS_PX.len())
            .find(|row| x_px - ends_px[*row] >= REMARK_SPACING_PX)
            .unwrap_or_else(|| usize::from(ends_px[1] < ends_px[0]));
        let number_px = x_px.max(ends_px[row] + REMARK_SPACING_PX);
        ends_px[row] = number_px;
        let y_px = REMARK_ROWS_PX[row];
        drawing.line("remark", (number_px, y_px), (x_px, TOP_PX));
        drawing.circle("remark", (number_px, y_px), 9.0);
        drawing.text(
            "remark",
            (number_px, y_px + 4.5),
            Anchor::Middle,
            &format!("{}", index + 1),
        );
    }
    ends_px.iter().any(|end_px| end_px.is_finite())
}

fn span(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    let (least, most) = values.filter(|value| value.is_finite()).fold(
        (f64::INFINITY, f64::NEG_INFINITY),
        |(least, most), value| (least.min(value), most.max(value)),
    );
    (most > least).then_some((least, most))
}

/// At most `most` of the items, evenly spread, the last one always among them.
fn thinned<T: Clone>(items: &[T], most: usize) -> Vec<T> {
    if items.len() <= most {
        return items.to_vec();
    }
    (0..most)
        .map(|index| items[index * (items.len() - 1) / (most - 1)].clone())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thinning_keeps_both_ends() {
        let items: Vec<usize> = (0..1000).collect();
        let kept = thinned(&items, 40);
        assert_eq!(kept.len(), 40);
        assert_eq!((kept[0], kept[39]), (0, 999));
    }

    #[test]
    fn numbers_of_remarks_at_one_moment_do_not_cover_each_other() {
        let axis = Axis {
            least: 0.0,
            most: 10.0,
            start_px: LEFT_PX,
            end_px: RIGHT_PX,
        };
        let tube = TubeReading {
            tube: 1,
            x_px: 0.0,
            frame: meltrange_reading::TubeFrame {
                left_px: 0.0,
                right_px: 1.0,
                column_top_px: 0.0,
                bottom_px: 1.0,
            },
            outcome: meltrange_reading::Outcome::Unmelted,
            first_liquid: None,
            last_crystal: None,
            levels: Vec::new(),
            heating_rate_c_per_min: None,
            remarks: vec![
                meltrange_reading::Remark {
                    kind: meltrange_reading::RemarkKind::Settling,
                    time_s: 5.0,
                    text: String::new(),
                };
                5
            ],
            curve: Vec::new(),
        };
        let mut drawing = Drawing::new(WIDTH_PX, HEIGHT_PX);
        assert!(draw_remarks(&mut drawing, &axis, &tube, Some));
        let svg = drawing.finish("");
        let number = |text: &str, name: &str| -> f64 {
            let rest = text.split(name).nth(1).expect("the circle has it");
            let digits = rest.split('"').next().expect("split gives one part");
            digits.parse().expect("a number")
        };
        let centres: Vec<(f64, f64)> = svg
            .split("<circle")
            .skip(1)
            .map(|circle| (number(circle, "cx=\""), number(circle, "cy=\"")))
            .collect();
        assert_eq!(centres.len(), 5);
        for (index, one) in centres.iter().enumerate() {
            for other in &centres[..index] {
                let apart_px = (one.0 - other.0).hypot(one.1 - other.1);
                assert!(apart_px >= 18.0, "{one:?} covers {other:?}");
            }
        }
    }
}
