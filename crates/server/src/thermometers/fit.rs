//! From checks to a calibration.

use crate::problem::Problem;
use crate::wire::{CalibrationRequest, CorrectionPlot};
use axum::http::StatusCode;
use jiff::civil::Date;
use meltrange_labbook::{
    self as kept, BenchId, CertificateState, CheckId, CheckRow, StandardRow, Thermometers,
};
use meltrange_metrology::{
    CalibrationOptions, Certificate, CorrectionCurve, StandardPoint, calibrate, one_rate, student_t,
};
use meltrange_physics::Celsius;
use std::collections::BTreeSet;

/// Points of a drawn correction.
const PLOTTED: usize = 41;

/// Coverage of the drawn band.
const COVERAGE: f64 = 0.95;

/// The calibration that these checks make, not recorded.
pub(crate) fn fitted(
    all: &Thermometers,
    bench: BenchId,
    asked: &CalibrationRequest,
    in_force_from: Date,
) -> Result<kept::Calibration, Problem> {
    let mut seen = BTreeSet::new();
    let used = chosen(all, bench, "checks", &asked.checks, &mut seen)?;
    let left_out = chosen(all, bench, "left_out", &asked.left_out, &mut seen)?;
    let thermometer = one_thermometer(&used)?;
    let points: Vec<StandardPoint> = used.iter().map(standard_point).collect();
    let options = CalibrationOptions {
        degree: asked.degree.map(usize::from),
        origin: None,
    };
    let fit = calibrate(&points, options).map_err(|error| {
        Problem::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "calibration",
            "These checks make no calibration",
            crate::problem::in_full(&error),
        )
    })?;
    let curve = CorrectionCurve {
        read_at_c_per_min: read_at(&used),
        ..fit.curve
    };
    let of_used = used.iter().zip(&fit.points).map(|(pair, verdict)| {
        calibration_point(pair, true, Some(verdict.residual_c), verdict.suspect)
    });
    let of_left_out = left_out.iter().map(|pair| {
        let (row, standard) = pair;
        let indicated_c = row.check.indicated_c;
        let fitted_c = curve.at(Celsius(indicated_c)).correction_c;
        let residual_c = standard.standard.reference_c - indicated_c - fitted_c;
        calibration_point(pair, false, Some(residual_c), false)
    });
    Ok(kept::Calibration {
        bench,
        thermometer,
        in_force_from,
        points: of_used.chain(of_left_out).collect(),
        degree_because: fit.choice.in_words(curve.degree),
        remarks: fit.remarks.iter().map(Into::into).collect(),
        curve,
        withdrawn: false,
    })
}

type Pair<'a> = (&'a CheckRow, &'a StandardRow);

/// These checks with their standards: on this bench, not void, each once.
fn chosen<'a>(
    all: &'a Thermometers,
    bench: BenchId,
    field: &'static str,
    ids: &[CheckId],
    seen: &mut BTreeSet<CheckId>,
) -> Result<Vec<Pair<'a>>, Problem> {
    let refused = |id: CheckId, expected| Err(Problem::field(field, id.to_string(), expected));
    ids.iter()
        .map(|&id| {
            let Some(row) = all.checks_on(bench).find(|row| row.id == id) else {
                return refused(id, "a check on this bench");
            };
            if row.check.void {
                return refused(id, "a check that counts; this one is void");
            }
            if !seen.insert(id) {
                return refused(id, "each check once");
            }
            match all.standard(row.check.standard) {
                Some(standard) => Ok((row, standard)),
                None => refused(id, "a check of a standard of this book"),
            }
        })
        .collect()
}

fn one_thermometer(used: &[Pair<'_>]) -> Result<Option<String>, Problem> {
    let mut names = used.iter().map(|(row, _)| &row.check.thermometer);
    let first = names
        .next()
        .ok_or_else(|| Problem::field("checks", "empty", "at least one check"))?;
    match names.find(|name| *name != first) {
        Some(other) => {
            let shown = |name: &Option<String>| name.clone().unwrap_or_else(|| "unnamed".into());
            Err(Problem::field(
                "checks",
                format!("of two thermometers, {} and {}", shown(first), shown(other)),
                "checks of one thermometer: a calibration holds for one only",
            ))
        }
        None => Ok(first.clone()),
    }
}

/// The heating rate at which all of these checks were made, where it is one and known for each [°C/min].
fn read_at(used: &[Pair<'_>]) -> Option<f64> {
    let rates: Vec<f64> = used
        .iter()
        .map(|(row, _)| row.check.heating_rate_c_per_min)
        .collect::<Option<_>>()?;
    one_rate(&rates)
}

fn certificate((row, standard): &Pair<'_>) -> CertificateState {
    match standard.standard.expires {
        None => CertificateState::NotStated,
        Some(_) if standard.standard.expired_on(row.check.made_on) => CertificateState::Expired,
        Some(_) => CertificateState::InForce,
    }
}

fn standard_point(pair: &Pair<'_>) -> StandardPoint {
    let (row, standard) = pair;
    StandardPoint {
        substance: standard.standard.substance.clone(),
        reference: Celsius(standard.standard.reference_c),
        indicated: Celsius(row.check.indicated_c),
        reference_u_c: standard.standard.standard_uncertainty_c,
        indicated_u_c: row.check.standard_uncertainty_c,
        convention: standard.standard.convention,
        certificate: match certificate(pair) {
            CertificateState::InForce => Certificate::InForce,
            CertificateState::Expired => Certificate::Expired,
            CertificateState::NotStated => Certificate::NotStated,
        },
    }
}

fn calibration_point(
    pair: &Pair<'_>,
    used: bool,
    residual_c: Option<f64>,
    suspect: bool,
) -> kept::CalibrationPoint {
    let (row, standard) = pair;
    kept::CalibrationPoint {
        check: row.id,
        standard: standard.id,
        substance: standard.standard.substance.clone(),
        reference_c: standard.standard.reference_c,
        reference_u_c: standard.standard.standard_uncertainty_c,
        indicated_c: row.check.indicated_c,
        indicated_u_c: row.check.standard_uncertainty_c,
        certificate: certificate(pair),
        used,
        residual_c,
        suspect,
    }
}

/// A correction over the range of its standards, with its 95 % band by Student's t.
pub(crate) fn plot(curve: &CorrectionCurve) -> CorrectionPlot {
    let (from_c, to_c) = if curve.valid_to_c > curve.valid_from_c {
        (curve.valid_from_c, curve.valid_to_c)
    } else {
        (curve.valid_from_c - 1.0, curve.valid_to_c + 1.0)
    };
    let step_c = (to_c - from_c) / (PLOTTED - 1) as f64;
    let factor = student_t(curve.uncertainty_degrees_of_freedom(), COVERAGE);
    let points: Vec<_> = (0..PLOTTED)
        .map(|at| curve.at(Celsius(from_c + step_c * at as f64)))
        .collect();
    let aside = |sign: f64| {
        points
            .iter()
            .map(|at| Some(at.correction_c + sign * factor * at.standard_uncertainty_c?))
            .collect::<Option<Vec<f64>>>()
    };
    CorrectionPlot {
        low_c: aside(-1.0),
        high_c: aside(1.0),
        indicated_c: points.iter().map(|at| at.indicated_c).collect(),
        correction_c: points.iter().map(|at| at.correction_c).collect(),
    }
}
