//! The melting curve as SVG and PNG.

use crate::determination::*;
use meltrange_report::model::*;
use meltrange_report::*;

#[test]
fn the_curve_says_its_values_in_the_language() {
    let run = run(1, 121.2, 122.0);
    let svg = curve_svg(&run, 1, Language::German).expect("a curve");
    for words in [
        "121,20\u{202f}°C",
        "122,00\u{202f}°C",
        "Erste Flüssigkeit",
        "Letzter Kristall",
        "angezeigte Temperatur, °C",
    ] {
        assert!(svg.contains(words), "{words}");
    }
    let parsed = scraper::Html::parse_fragment(&svg);
    assert!(parsed.errors.is_empty(), "{:?}", parsed.errors);
    assert!(
        !svg.replace("http://www.w3.org/2000/svg", "")
            .contains("http")
    );
}

#[test]
fn the_curve_passes_through_its_moments() {
    // At first liquid nothing of the invented curve is melted, at the last crystal all of it: the line's
    // heights at those two places are the bottom and the top of the drawing.
    let run = run(1, 121.2, 122.0);
    let svg = curve_svg(&run, 1, Language::English).expect("a curve");
    let moments: Vec<f64> = svg
        .split("class=\"moment ")
        .skip(1)
        .map(|rest| {
            let rest = rest.split("x1=\"").nth(1).expect("a line has one");
            rest.split('"')
                .next()
                .expect("split gives one")
                .parse()
                .expect("a number")
        })
        .collect();
    assert_eq!(moments.len(), 2);
    let path = svg.split("class=\"melted\"").nth(1).expect("the curve");
    let path = path
        .split(" d=\"")
        .nth(1)
        .and_then(|rest| rest.split('"').next())
        .expect("its points");
    let points: Vec<(f64, f64)> = path
        .split(['M', 'L'])
        .filter_map(|pair| {
            let (x, y) = pair.split_once(' ')?;
            Some((x.parse().ok()?, y.parse().ok()?))
        })
        .collect();
    let height_at = |x_px: f64| {
        points
            .iter()
            .min_by(|one, other| (one.0 - x_px).abs().total_cmp(&(other.0 - x_px).abs()))
            .expect("points")
            .1
    };
    let (bottom, top) = (height_at(moments[0]), height_at(moments[1]));
    let lowest = points.iter().map(|point| point.1).fold(f64::MIN, f64::max);
    let highest = points.iter().map(|point| point.1).fold(f64::MAX, f64::min);
    assert!(
        (bottom - lowest).abs() < 2.0 && (top - highest).abs() < 2.0,
        "{bottom} {top}"
    );
}

#[test]
fn a_picture_of_it_is_as_wide_as_asked() {
    let png = curve_png(&run(1, 121.2, 122.0), 1, Language::English, 760).expect("a curve");
    assert!(png.starts_with(b"\x89PNG"));
    let width = u32::from_be_bytes(png[16..20].try_into().expect("four bytes"));
    assert_eq!(width, 760);
}

#[test]
fn without_two_temperatures_there_is_none() {
    let mut run = run(1, 121.2, 122.0);
    run.curve.truncate(1);
    assert_eq!(curve_svg(&run, 1, Language::English), None);
    run.curve.clear();
    assert_eq!(curve_svg(&run, 1, Language::English), None);
    run.curve = vec![
        CurvePoint {
            time_s: 0.0,
            temperature_c: f64::NAN,
            melted_fraction: 0.5
        };
        9
    ];
    assert_eq!(curve_svg(&run, 1, Language::English), None);
}
