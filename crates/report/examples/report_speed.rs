//! How long reports take: `cargo run --release -p meltrange-report --example report_speed [REPORTS [FOLDER]]`.
//!
//! One invented report with three runs, six pictures of 640 × 480 and curves of 2,000 points, then a batch
//! of REPORTS (100) of them in one document, as PDF and as HTML. Pages, sizes and warnings are asserted
//! before the times are printed. With FOLDER, what was made is left there to be looked at.

use meltrange_report::model::{
    Agreement, Convention, CurvePoint, End, Frame, MeltingResult, Moment, Outcome, Run,
};
use meltrange_report::{Fonts, Report, ReportOptions, report_html, report_pdf};
use std::error::Error;
use std::io::Write as _;
use std::path::PathBuf;
use std::time::Instant;

const REPORTS: usize = 100;
/// One report is to be made within this [s].
const ONE_LIMIT_S: f64 = 0.3;
/// A hundred in one document are to be made within this [s], on two cores.
const BATCH_LIMIT_S: f64 = 8.0;
const ROUNDS: usize = 5;

type Done<T> = Result<T, Box<dyn Error>>;

fn main() -> Done<()> {
    let reports = std::env::args()
        .nth(1)
        .map_or(Ok(REPORTS), |text| text.parse())?;
    let folder = std::env::args().nth(2).map(PathBuf::from);
    let mut out = std::io::stdout();
    let options = ReportOptions::default();

    // Each round another report, so that nothing is remembered from the one before.
    let mut times = Vec::new();
    for round in 0..=ROUNDS {
        let report = invented(10_000 + round);
        let start = Instant::now();
        let pdf = report_pdf(&[report], &options)?;
        times.push(start.elapsed().as_secs_f64());
        assert_eq!((pdf.pages, pdf.warnings.len()), (1, 0));
        if let (0, Some(folder)) = (round, &folder) {
            std::fs::write(folder.join("one.pdf"), &pdf.bytes)?;
        }
    }
    let first = times.remove(0);
    writeln!(
        out,
        "one report as PDF: first {:.0} ms, then {:.0} ms (median of {ROUNDS}); to be within {:.0} ms: {}",
        first * 1e3,
        median(&mut times) * 1e3,
        ONE_LIMIT_S * 1e3,
        kept(first, ONE_LIMIT_S)
    )?;

    let mut other = invented(20_000);
    other.sample.origin = Some("林 美咲".to_owned());
    let searching = ReportOptions {
        fonts: Fonts::with_usual_folders(),
        ..ReportOptions::default()
    };
    let start = Instant::now();
    report_pdf(&[other], &searching)?;
    writeln!(
        out,
        "one report with Han characters, fonts searched for: {:.0} ms",
        start.elapsed().as_secs_f64() * 1e3
    )?;

    let batch: Vec<Report> = (0..reports).map(invented).collect();
    let start = Instant::now();
    let pdf = report_pdf(&batch, &options)?;
    let took_s = start.elapsed().as_secs_f64();
    assert!(pdf.pages > reports && pdf.warnings.is_empty());
    writeln!(
        out,
        "{reports} reports in one PDF: {took_s:.2} s, {} pages, {:.1} MB; a hundred to be within {BATCH_LIMIT_S} s: {}",
        pdf.pages,
        pdf.bytes.len() as f64 / 1e6,
        kept(took_s / reports as f64, BATCH_LIMIT_S / 100.0)
    )?;
    let start = Instant::now();
    let html = report_html(&batch, &options)?;
    writeln!(
        out,
        "{reports} reports in one HTML file: {:.2} s, {:.1} MB",
        start.elapsed().as_secs_f64(),
        html.text.len() as f64 / 1e6
    )?;
    if let Some(folder) = &folder {
        std::fs::write(folder.join("batch.pdf"), &pdf.bytes)?;
        std::fs::write(folder.join("batch.html"), &html.text)?;
    }
    Ok(())
}

fn kept(found_s: f64, limit_s: f64) -> &'static str {
    if found_s <= limit_s {
        "kept"
    } else {
        "NOT KEPT"
    }
}

fn median(times: &mut [f64]) -> f64 {
    times.sort_by(f64::total_cmp);
    times.get(times.len() / 2).copied().unwrap_or(f64::NAN)
}

fn invented(index: usize) -> Report {
    let mut report: Report = serde_json::from_value(serde_json::json!({
        "number": format!("EP-{index}"),
        "made": "2026-11-25T19:30:00+01:00",
        "program": "meltrange",
        "book": "Evening practical",
        "sample": { "label": format!("Unknown {index}"), "dried": true, "ground": true, "column_height_mm": 2.5 },
        "remarks": "Nothing out of the ordinary.",
    }))
    .expect("as the model says");
    let end = |value_c| End {
        value_c,
        standard_uncertainty_c: 0.12,
        expanded_uncertainty_c: 0.24,
        coverage_factor: 2.0,
        coverage: Some(0.95),
    };
    report.result = Some(MeltingResult {
        convention: Convention::Thermodynamic,
        first_liquid: Some(end(121.63)),
        last_crystal: Some(end(122.41)),
        range_text: None,
        heating_rate_c_per_min: Some(1.02),
        record: None,
        stated: None,
        reason: None,
    });
    report.agreement = Some(Agreement {
        agreed: true,
        within_c: 0.5,
        spread_c: Some(0.14),
        runs_used: 3,
        further_runs_needed: 0,
        left_out: Vec::new(),
    });
    report.runs = (0..3).map(|run| heated(index * 3 + run)).collect();
    report
}

fn heated(index: usize) -> Run {
    let moment = |time_s: f64, logged_c: f64, seed: usize| Moment {
        time_s,
        logged_c,
        standard_uncertainty_c: 0.06,
        corrected_c: Some(logged_c + 0.37),
        corrected_uncertainty_c: Some(0.12),
        picture: Frame::Shown {
            file: picture(seed),
            time_s,
            logged_c,
            crop: Some([0.3, 0.05, 0.3, 0.9]),
        },
    };
    Run {
        name: None,
        began: None,
        bench: Some("Bench 2".to_owned()),
        place: 1,
        programme: Vec::new(),
        heating_rate_c_per_min: Some(1.02),
        outcome: Outcome::Melted,
        outcome_because: None,
        first_liquid: Some(moment(240.0, 121.2, 2 * index)),
        last_crystal: Some(moment(288.0, 122.0, 2 * index + 1)),
        read_by: Some("the program".to_owned()),
        curve: (0..2000)
            .map(|point| {
                let temperature_c = 117.0 + f64::from(point) / 240.0;
                CurvePoint {
                    time_s: f64::from(point) / 4.0,
                    temperature_c,
                    melted_fraction: ((temperature_c - 121.2) / 0.8).clamp(0.0, 1.0),
                }
            })
            .collect(),
        used: true,
        unused_because: None,
        remarks: Vec::new(),
        recording_digest: Some("9f".repeat(32)),
    }
}

/// Grey noise in blocks, as large a file as a frame of a tube has.
fn picture(seed: usize) -> Vec<u8> {
    const WIDTH: u16 = 640;
    const HEIGHT: u16 = 480;
    let mut state = seed as u64 ^ 0x9e37_79b9_7f4a_7c15;
    let mut pixels = vec![0_u8; usize::from(WIDTH) * usize::from(HEIGHT)];
    for block in pixels.chunks_mut(4) {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        block.fill(60 + (state >> 58) as u8);
    }
    let mut file = Vec::new();
    jpeg_encoder::Encoder::new(&mut file, 80)
        .encode(&pixels, WIDTH, HEIGHT, jpeg_encoder::ColorType::Luma)
        .expect("an encodable picture");
    file
}
