//! The melting curve of a run as one SVG for paper, pages and files.

use crate::axis::Axis;
use crate::language::{Dates, Language, Locale, fill};
use crate::model::{CurvePoint, Run};
use crate::svg::{Anchor, Drawing};
use std::fmt::Write as _;

const WIDTH_PX: f64 = 310.0;
const LEFT_PX: f64 = 36.0;
const RIGHT_PX: f64 = 302.0;
/// Room above the curves for the words of both moments.
const TOP_PX: f64 = 30.0;
/// Room below for temperatures and what they are.
const FOOT_PX: f64 = 38.0;
/// Between two curves.
const GAP_PX: f64 = 8.0;
/// A value beside its line needs this much.
const VALUE_PX: f64 = 72.0;

/// More points than this cannot be told apart at this width.
const MOST_DRAWN_POINTS: usize = 600;

/// Least that is shown on either side of the melting [°C].
const LEAST_MARGIN_C: f64 = 0.6;

/// Colours for white paper; a page may put its own in their place by the same classes.
const STYLE: &str = "\
.melting-curve text{fill:#20231f;font-family:'Libertinus Serif',serif;font-size:14px}\
.melting-curve .tick,.melting-curve .axis{fill:#565b52}\
.melting-curve .grid{stroke:#d9d5c9;stroke-width:1}\
.melting-curve .melted{fill:none;stroke:#20231f;stroke-width:2;stroke-linejoin:round}\
.melting-curve .moment,.melting-curve .sign{stroke-width:2}\
.melting-curve .first{stroke:#0f6b5c}\
.melting-curve .last{stroke:#9c3d1e;stroke-dasharray:6 4}\
.melting-curve text.first{fill:#0f6b5c;stroke:none}\
.melting-curve text.last{fill:#9c3d1e;stroke:none}";

/// A drawing and what it shows in a sentence.
pub(crate) struct CurveChart {
    pub svg: String,
    pub label: String,
}

/// The melting curve of a tube as a stand-alone SVG: melted part of the column [%] against the temperature
/// as logged [°C], with both moments. Its words and numbers are those of `language`; texts name a font
/// family only. `None` without two different temperatures.
pub fn curve_svg(run: &Run, number: usize, language: Language) -> Option<String> {
    let locale = Locale::new(language, Dates::Iso);
    curve_chart(&[run], number, "curve-clip", &locale).map(|chart| chart.svg)
}

/// The melting curves of several tubes, one above the other over the same temperatures, as a stand-alone SVG.
/// `None` where none of them has two different temperatures.
pub fn curves_svg(runs: &[&Run], language: Language) -> Option<String> {
    let locale = Locale::new(language, Dates::Iso);
    curve_chart(runs, 1, "curve-clip", &locale).map(|chart| chart.svg)
}

/// The same as a PNG, `width_px` wide on white.
pub fn curves_png(runs: &[&Run], language: Language, width_px: u32) -> Option<Vec<u8>> {
    drawn_png(&curves_svg(runs, language)?, width_px)
}

/// The curves as CSV: `run,tube,time_s,temperature_c,liquid_fraction`; temperatures as logged [°C], fractions of
/// the original column 0..=1. Runs are counted from 1 in the order given.
pub fn curves_csv(runs: &[&Run]) -> String {
    let mut text = String::from(
        "# temperatures as logged, not corrected; no convention applied\n\
         run,tube,time_s,temperature_c,liquid_fraction\n",
    );
    for (run, number) in runs.iter().zip(numbers(runs)) {
        for point in &run.curve {
            // Writing to a String cannot fail.
            let _ = writeln!(
                text,
                "{number},{},{},{},{}",
                run.place, point.time_s, point.temperature_c, point.melted_fraction
            );
        }
    }
    text
}

/// Number of the run of each tube, from 1: tubes of one run have its name.
fn numbers(runs: &[&Run]) -> Vec<usize> {
    let mut names: Vec<&Option<String>> = Vec::new();
    runs.iter()
        .map(|run| {
            let known = names.iter().position(|name| **name == run.name);
            match known.filter(|_| run.name.is_some()) {
                Some(at) => at + 1,
                None => {
                    names.push(&run.name);
                    names.len()
                }
            }
        })
        .collect()
}

/// The same as a PNG, `width_px` wide on white; `None` where there is no curve or no such picture.
///
/// Its texts are set in the fonts that reports carry.
pub fn curve_png(run: &Run, number: usize, language: Language, width_px: u32) -> Option<Vec<u8>> {
    drawn_png(&curve_svg(run, number, language)?, width_px)
}

fn drawn_png(svg: &str, width_px: u32) -> Option<Vec<u8>> {
    use resvg::{tiny_skia, usvg};
    let mut fonts = usvg::fontdb::Database::new();
    for font in typst_assets::fonts().take(6) {
        fonts.load_font_data(font.to_vec());
    }
    let options = usvg::Options {
        font_family: "Libertinus Serif".to_owned(),
        fontdb: std::sync::Arc::new(fonts),
        ..usvg::Options::default()
    };
    let tree = usvg::Tree::from_str(svg, &options).ok()?;
    let scale = width_px as f32 / WIDTH_PX as f32;
    let height_px = (tree.size().height() * scale).round() as u32;
    let mut pixels = tiny_skia::Pixmap::new(width_px, height_px)?;
    pixels.fill(tiny_skia::Color::WHITE);
    let transform = tiny_skia::Transform::from_scale(scale, scale);
    resvg::render(&tree, transform, &mut pixels.as_mut());
    pixels.encode_png().ok()
}

/// The curves of tubes that were heated together, one above the other over the same temperatures, so that
/// curves that lie close stay apart. Tubes without a curve keep their place where another has one.
pub(crate) fn curve_chart(
    tubes: &[&Run],
    number: usize,
    id: &str,
    locale: &Locale,
) -> Option<CurveChart> {
    let curves: Vec<Vec<CurvePoint>> = tubes.iter().map(|run| drawable(run)).collect();
    let windows = tubes.iter().zip(&curves);
    let (least, most) = windows
        .filter_map(|(run, points)| window_c(run, points))
        .reduce(|one, other| (one.0.min(other.0), one.1.max(other.1)))?;
    let across = Axis {
        least,
        most,
        start_px: LEFT_PX,
        end_px: RIGHT_PX,
    };
    let row_px = row_height_px(tubes.len());
    let bottom_px = TOP_PX + tubes.len() as f64 * (row_px + GAP_PX) - GAP_PX;
    let mut drawing = Drawing::new(WIDTH_PX, bottom_px + FOOT_PX);
    draw_words(&mut drawing, bottom_px, locale);
    draw_temperatures(&mut drawing, &across, bottom_px, locale);
    let numbers = numbers(tubes);
    let several_runs = numbers.last().is_some_and(|&last| last > 1);
    for (row, (run, points)) in tubes.iter().zip(&curves).enumerate() {
        let top_px = TOP_PX + row as f64 * (row_px + GAP_PX);
        let up = Axis {
            least: 0.0,
            most: 1.0,
            start_px: top_px + row_px,
            end_px: top_px,
        };
        draw_shares(&mut drawing, &up, tubes.len() == 1);
        if tubes.len() > 1 {
            let mut tube = fill(locale.words.tube, &[("n", &run.place.to_string())]);
            if several_runs {
                let of = fill(locale.words.run, &[("n", &numbers[row].to_string())]);
                tube = format!("{of}, {tube}");
            }
            let at = (LEFT_PX + 4.0, up.start_px - 5.0);
            drawing.text("tick", at, Anchor::Start, &tube);
        }
        draw_curve(&mut drawing, &across, &up, points, &format!("{id}-{row}"));
        draw_moments(&mut drawing, &across, &up, run, locale);
    }
    let run_name = fill(locale.words.run, &[("n", &number.to_string())]);
    let label = fill(
        locale.words.curve_label,
        &[
            ("run", &run_name),
            ("from", &locale.plain_celsius(least)),
            ("to", &locale.plain_celsius(most)),
        ],
    );
    Some(CurveChart {
        svg: drawing.stand_alone("melting-curve", STYLE, &label),
        label,
    })
}

fn drawable(run: &Run) -> Vec<CurvePoint> {
    run.curve
        .iter()
        .filter(|point| point.temperature_c.is_finite() && point.melted_fraction.is_finite())
        .copied()
        .collect()
}

/// Two values have room above each other in every row.
fn row_height_px(tubes: usize) -> f64 {
    match tubes {
        1 => 108.0,
        2 => 66.0,
        _ => 40.0,
    }
}

/// What the lines are, and what stands along both sides.
fn draw_words(drawing: &mut Drawing, bottom_px: f64, locale: &Locale) {
    let words = locale.words;
    let middle_px = WIDTH_PX / 2.0;
    let signs = [
        ("first", words.first_liquid, 4.0),
        ("last", words.last_crystal, middle_px + 4.0),
    ];
    for (class, name, x_px) in signs {
        let sign = format!("sign {class}");
        drawing.line(&sign, (x_px, 12.0), (x_px + 20.0, 12.0));
        drawing.text(class, (x_px + 25.0, 17.0), Anchor::Start, name);
    }
    let (left, right) = ((4.0, bottom_px + 33.0), (RIGHT_PX, bottom_px + 33.0));
    let up = format!("↑ {}", words.curve_y);
    drawing.text("axis", left, Anchor::Start, &up);
    drawing.text("axis", right, Anchor::End, words.curve_x);
}

fn draw_temperatures(drawing: &mut Drawing, across: &Axis, bottom_px: f64, locale: &Locale) {
    let (ticks, decimals) = across.ticks(5);
    for tick in ticks {
        let x_px = across.px(tick);
        drawing.line("grid", (x_px, TOP_PX), (x_px, bottom_px));
        drawing.text(
            "tick",
            (x_px, bottom_px + 16.0),
            Anchor::Middle,
            &locale.number(tick, decimals),
        );
    }
}

fn draw_shares(drawing: &mut Drawing, up: &Axis, tall: bool) {
    for percent in [0_u8, 50, 100] {
        let y_px = up.px(f64::from(percent) / 100.0);
        drawing.line("grid", (LEFT_PX, y_px), (RIGHT_PX, y_px));
        // In low rows the ends are named from within, so that they keep clear of the next row's.
        let down_px = match (tall, percent) {
            (true, _) => 4.5,
            (false, 0) => 0.0,
            (false, 100) => 10.0,
            (false, _) => continue,
        };
        let at = (LEFT_PX - 6.0, y_px + down_px);
        drawing.text("tick", at, Anchor::End, &percent.to_string());
    }
}

fn draw_curve(drawing: &mut Drawing, across: &Axis, up: &Axis, points: &[CurvePoint], id: &str) {
    if points.is_empty() {
        return;
    }
    let inside = inside_with_neighbours(points, across);
    let thinned: Vec<(f64, f64)> = thinned(inside, MOST_DRAWN_POINTS)
        .map(|point| {
            let fraction = point.melted_fraction.clamp(0.0, 1.0);
            (across.px(point.temperature_c), up.px(fraction))
        })
        .collect();
    let corners = ((LEFT_PX, up.end_px - 1.0), (RIGHT_PX, up.start_px + 1.0));
    drawing.clipped_path("melted", id, corners, thinned);
}

/// Both moments with their values: the first liquid high on the left of its line, the last crystal low on
/// the right of its, unless there is no room.
fn draw_moments(drawing: &mut Drawing, across: &Axis, up: &Axis, run: &Run, locale: &Locale) {
    let ends = [(&run.first_liquid, "first"), (&run.last_crystal, "last")];
    for (moment, class) in ends {
        let Some(moment) = moment else { continue };
        if !across.holds(moment.logged_c) {
            continue;
        }
        let x_px = across.px(moment.logged_c);
        drawing.line(
            &format!("moment {class}"),
            (x_px, up.end_px),
            (x_px, up.start_px),
        );
        let (value, _) = locale.rounded(moment.logged_c, moment.standard_uncertainty_c);
        let (leftwards, y_px) = if class == "first" {
            (x_px - LEFT_PX > VALUE_PX, up.end_px + 14.0)
        } else {
            (RIGHT_PX - x_px < VALUE_PX, up.start_px - 5.0)
        };
        let (dx_px, anchor) = if leftwards {
            (-5.0, Anchor::End)
        } else {
            (5.0, Anchor::Start)
        };
        let text = locale.with_unit(&value, "°C");
        drawing.text(class, (x_px + dx_px, y_px), anchor, &text);
    }
}

/// Temperatures between which the melting is drawn.
fn window_c(run: &Run, points: &[CurvePoint]) -> Option<(f64, f64)> {
    let (least, most) = span(points.iter().map(|point| point.temperature_c))?;
    let melting = points
        .iter()
        .filter(|point| point.melted_fraction > 0.005 && point.melted_fraction < 0.995)
        .map(|point| point.temperature_c);
    let moments = [&run.first_liquid, &run.last_crystal]
        .into_iter()
        .flatten()
        .map(|moment| moment.logged_c)
        .filter(|value| value.is_finite() && *value >= least && *value <= most);
    let (from, to) = match span_or_point(moments.clone()) {
        // With both moments, they say where the melting is; a single one leaves the rest to the curve.
        Some((from, to)) if to > from => (from, to),
        _ => span_or_point(melting.chain(moments)).unwrap_or((least, most)),
    };
    let margin_c = (0.6 * (to - from)).max(LEAST_MARGIN_C);
    let window = ((from - margin_c).max(least), (to + margin_c).min(most));
    (window.1 > window.0).then_some(window)
}

fn span(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    span_or_point(values).filter(|(least, most)| most > least)
}

fn span_or_point(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    values.fold(None, |found, value| match found {
        None => Some((value, value)),
        Some((least, most)) => Some((f64::min(least, value), f64::max(most, value))),
    })
}

/// The points on the axis and the one before and after them, so that the line reaches the edges.
fn inside_with_neighbours<'a>(points: &'a [CurvePoint], across: &Axis) -> &'a [CurvePoint] {
    let holds = |point: &CurvePoint| across.holds(point.temperature_c);
    let first = points.iter().position(holds).unwrap_or(0);
    let last = points
        .iter()
        .rposition(holds)
        .unwrap_or(points.len().saturating_sub(1));
    points
        .get(first.saturating_sub(1)..(last + 2).min(points.len()))
        .unwrap_or(points)
}

fn thinned(points: &[CurvePoint], most: usize) -> impl Iterator<Item = &CurvePoint> {
    let step = points.len().div_ceil(most).max(1);
    points.iter().step_by(step).chain(
        points
            .last()
            .filter(|_| step > 1 && !(points.len() - 1).is_multiple_of(step)),
    )
}
