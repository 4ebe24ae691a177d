//! The melting curve of a run as one SVG for paper, pages and files.

use crate::axis::Axis;
use crate::language::{Dates, Language, Locale, fill};
use crate::model::{CurvePoint, Moment, Run};
use crate::svg::{Anchor, Drawing};

const WIDTH_PX: f64 = 380.0;
const HEIGHT_PX: f64 = 210.0;
const LEFT_PX: f64 = 44.0;
const RIGHT_PX: f64 = 370.0;
const TOP_PX: f64 = 30.0;
const BOTTOM_PX: f64 = 166.0;

/// More points than this cannot be told apart at this width.
const MOST_DRAWN_POINTS: usize = 600;

/// Least that is shown on either side of the melting [°C].
const LEAST_MARGIN_C: f64 = 0.6;

/// Colours for white paper; a page may put its own in their place by the same classes.
const STYLE: &str = "\
.melting-curve text{fill:#20231f;font-family:'Libertinus Serif',serif;font-size:13px}\
.melting-curve .tick,.melting-curve .axis{fill:#565b52}\
.melting-curve .grid{stroke:#d9d5c9;stroke-width:1}\
.melting-curve .melted{fill:none;stroke:#20231f;stroke-width:2;stroke-linejoin:round}\
.melting-curve .moment{stroke-width:2}\
.melting-curve .first{stroke:#0f6b5c}\
.melting-curve .last{stroke:#9c3d1e;stroke-dasharray:6 4}\
.melting-curve text.first{fill:#0f6b5c;stroke:none}\
.melting-curve text.last{fill:#9c3d1e;stroke:none}";

/// A drawing and what it shows in a sentence.
pub(crate) struct CurveChart {
    pub svg: String,
    pub label: String,
}

/// The melting curve of a run as a stand-alone SVG: melted part of the column [%] against the temperature
/// as logged [°C], with both moments. Its words and numbers are those of `language`; texts name a font
/// family only. `None` without two different temperatures.
pub fn curve_svg(run: &Run, number: usize, language: Language) -> Option<String> {
    let locale = Locale::new(language, Dates::Iso);
    curve_chart(run, number, "curve-clip", &locale).map(|chart| chart.svg)
}

/// The same as a PNG, `width_px` wide on white; `None` where there is no curve or no such picture.
///
/// Its texts are set in the fonts that reports carry.
pub fn curve_png(run: &Run, number: usize, language: Language, width_px: u32) -> Option<Vec<u8>> {
    use resvg::{tiny_skia, usvg};
    let svg = curve_svg(run, number, language)?;
    let mut fonts = usvg::fontdb::Database::new();
    for font in typst_assets::fonts().take(6) {
        fonts.load_font_data(font.to_vec());
    }
    let options = usvg::Options {
        font_family: "Libertinus Serif".to_owned(),
        fontdb: std::sync::Arc::new(fonts),
        ..usvg::Options::default()
    };
    let tree = usvg::Tree::from_str(&svg, &options).ok()?;
    let scale = width_px as f32 / WIDTH_PX as f32;
    let height_px = (HEIGHT_PX as f32 * scale).round() as u32;
    let mut pixels = tiny_skia::Pixmap::new(width_px, height_px)?;
    pixels.fill(tiny_skia::Color::WHITE);
    let transform = tiny_skia::Transform::from_scale(scale, scale);
    resvg::render(&tree, transform, &mut pixels.as_mut());
    pixels.encode_png().ok()
}

pub(crate) fn curve_chart(
    run: &Run,
    number: usize,
    id: &str,
    locale: &Locale,
) -> Option<CurveChart> {
    let points: Vec<CurvePoint> = run
        .curve
        .iter()
        .filter(|point| point.temperature_c.is_finite() && point.melted_fraction.is_finite())
        .copied()
        .collect();
    let (least, most) = window_c(run, &points)?;
    let across = Axis {
        least,
        most,
        start_px: LEFT_PX,
        end_px: RIGHT_PX,
    };
    let up = Axis {
        least: 0.0,
        most: 1.0,
        start_px: BOTTOM_PX,
        end_px: TOP_PX,
    };
    let words = locale.words;
    let mut drawing = Drawing::new(WIDTH_PX, HEIGHT_PX);
    draw_axes(&mut drawing, &across, &up, locale);
    let inside = inside_with_neighbours(&points, &across);
    let thinned: Vec<(f64, f64)> = thinned(inside, MOST_DRAWN_POINTS)
        .map(|point| {
            let fraction = point.melted_fraction.clamp(0.0, 1.0);
            (across.px(point.temperature_c), up.px(fraction))
        })
        .collect();
    drawing.clipped_path(
        "melted",
        id,
        ((LEFT_PX, TOP_PX - 1.0), (RIGHT_PX, BOTTOM_PX + 1.0)),
        thinned,
    );
    let ends = [
        (&run.first_liquid, "first", words.first_liquid),
        (&run.last_crystal, "last", words.last_crystal),
    ];
    for (row, (moment, class, name)) in ends.into_iter().enumerate() {
        let Some(moment) = moment else { continue };
        if across.holds(moment.logged_c) {
            draw_moment(&mut drawing, &across, moment, (row, class, name), locale);
        }
    }
    let run_name = fill(words.run, &[("n", &number.to_string())]);
    let label = fill(
        words.curve_label,
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

fn draw_axes(drawing: &mut Drawing, across: &Axis, up: &Axis, locale: &Locale) {
    for percent in [0_u8, 50, 100] {
        let y_px = up.px(f64::from(percent) / 100.0);
        drawing.line("grid", (LEFT_PX, y_px), (RIGHT_PX, y_px));
        drawing.text(
            "tick",
            (LEFT_PX - 6.0, y_px + 4.0),
            Anchor::End,
            &percent.to_string(),
        );
    }
    let (ticks, decimals) = across.ticks(5);
    for tick in ticks {
        let x_px = across.px(tick);
        drawing.line("grid", (x_px, TOP_PX), (x_px, BOTTOM_PX));
        drawing.text(
            "tick",
            (x_px, BOTTOM_PX + 16.0),
            Anchor::Middle,
            &locale.number(tick, decimals),
        );
    }
    drawing.text(
        "axis",
        (RIGHT_PX, BOTTOM_PX + 35.0),
        Anchor::End,
        locale.words.curve_x,
    );
    drawing.text(
        "axis",
        (4.0, TOP_PX - 14.0),
        Anchor::Start,
        locale.words.curve_y,
    );
}

fn draw_moment(
    drawing: &mut Drawing,
    across: &Axis,
    moment: &Moment,
    (row, class, name): (usize, &str, &str),
    locale: &Locale,
) {
    let x_px = across.px(moment.logged_c);
    drawing.line(
        &format!("moment {class}"),
        (x_px, TOP_PX),
        (x_px, BOTTOM_PX),
    );
    // The first liquid is named high on its left, the last crystal low on its right, unless there is no room.
    let (value, _) = locale.rounded(moment.logged_c, moment.standard_uncertainty_c);
    let middle_px = (LEFT_PX + RIGHT_PX) / 2.0;
    let leftwards = if row == 0 {
        x_px > LEFT_PX + 90.0
    } else {
        x_px > middle_px + 70.0
    };
    let (dx_px, anchor) = if leftwards {
        (-5.0, Anchor::End)
    } else {
        (5.0, Anchor::Start)
    };
    let y_px = if row == 0 {
        TOP_PX + 16.0
    } else {
        BOTTOM_PX - 22.0
    };
    for (line, text) in [name, &locale.with_unit(&value, "°C")]
        .into_iter()
        .enumerate()
    {
        let at = (x_px + dx_px, y_px + 15.0 * line as f64);
        drawing.text(class, at, anchor, text);
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
