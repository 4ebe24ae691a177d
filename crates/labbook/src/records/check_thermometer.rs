//! Which standards, checks, calibrations and results with a basis can be kept.

use super::check::{LONGEST_LIST, finite, place, too_long};
use super::{Basis, Bench, Calibration, Check, Kind, Standard};
use crate::error::BookError;
use crate::ids::SubjectId;
use crate::text;
use meltrange_metrology as metrology;

/// Temperatures that a thermometer at a glass capillary can show [°C]; as in metrology.
const TEMPERATURES_C: std::ops::RangeInclusive<f64> = -273.15..=1000.0;
/// Standard uncertainties above this are slips of the pen [°C].
const LARGEST_U_C: f64 = 100.0;
/// Faster heating than this is a slip of the pen [°C/min].
const FASTEST_C_PER_MIN: f64 = 1000.0;
/// Longest time between checks [days]: ten years.
const LONGEST_INTERVAL_DAYS: u32 = 3650;
/// Range of what a bench may be heated to [°C].
const HOTTEST_C: std::ops::RangeInclusive<f64> = 1.0..=1000.0;

/// What stands on a bench besides its name and places.
pub(super) fn bench(bench: &Bench) -> Result<(), BookError> {
    if let Some(days) = bench.check_every_days
        && !(1..=LONGEST_INTERVAL_DAYS).contains(&days)
    {
        return Err(BookError::Field {
            field: "bench.check_every_days",
            found: days.to_string(),
            expected: "1 to 3650 days",
        });
    }
    match bench.max_c {
        Some(max_c) if !HOTTEST_C.contains(&max_c) => Err(BookError::Field {
            field: "bench.max_c",
            found: max_c.to_string(),
            expected: "a temperature from 1 to 1000 °C",
        }),
        _ => Ok(()),
    }
}

pub(super) fn standard(standard: &Standard) -> Result<(), BookError> {
    text::name("standard.substance", &standard.substance)?;
    for (field, given) in [
        ("standard.cas", &standard.cas),
        ("standard.lot", &standard.lot),
        ("standard.source", &standard.source),
        ("standard.cautions", &standard.cautions),
        ("standard.remarks", &standard.remarks),
    ] {
        text::optional(field, given.as_deref())?;
    }
    temperature("standard.reference_c", standard.reference_c)?;
    uncertainty(
        "standard.standard_uncertainty_c",
        standard.standard_uncertainty_c,
    )?;
    if let metrology::Convention::AtRate {
        rate_c_per_min: given,
    } = standard.convention
    {
        rate("standard.convention.rate_c_per_min", given)?;
    }
    Ok(())
}

pub(super) fn check(check: &Check) -> Result<(), BookError> {
    temperature("check.indicated_c", check.indicated_c)?;
    uncertainty("check.standard_uncertainty_c", check.standard_uncertainty_c)?;
    rate("check.heating_rate_c_per_min", check.heating_rate_c_per_min)?;
    text::optional("check.thermometer", check.thermometer.as_deref())?;
    text::optional("check.remarks", check.remarks.as_deref())?;
    check
        .from
        .map_or(Ok(()), |from| place("check.from", from.place))
}

pub(super) fn check_references(check: &Check) -> Vec<(Kind, SubjectId)> {
    let mut all = vec![
        (Kind::Standard, check.standard.into()),
        (Kind::Bench, check.bench.into()),
    ];
    all.extend(check.from.map(|from| (Kind::Reading, from.reading.into())));
    all
}

pub(super) fn calibration(calibration: &Calibration) -> Result<(), BookError> {
    text::optional(
        "calibration.thermometer",
        calibration.thermometer.as_deref(),
    )?;
    text::long("calibration.degree_because", &calibration.degree_because)?;
    // One that could not be applied, or gives no uncertainty, is of no use to any result.
    metrology::Calibration::new(calibration.curve.clone()).map_err(|error| BookError::Field {
        field: "calibration.curve",
        found: format!("no correction to be applied: {error}"),
        expected: "a correction with its uncertainty",
    })?;
    if calibration.points.len().max(calibration.remarks.len()) > LONGEST_LIST {
        return Err(too_long("calibration.points"));
    }
    if !calibration.points.iter().any(|point| point.used) {
        return Err(BookError::Field {
            field: "calibration.points",
            found: "without any that was used".into(),
            expected: "at least one check that was used",
        });
    }
    for point in &calibration.points {
        text::name("calibration.substance", &point.substance)?;
        temperature("calibration.reference_c", point.reference_c)?;
        temperature("calibration.indicated_c", point.indicated_c)?;
        uncertainty("calibration.reference_u_c", point.reference_u_c)?;
        uncertainty("calibration.indicated_u_c", point.indicated_u_c)?;
        if let Some(residual_c) = point.residual_c {
            finite("calibration.residual_c", residual_c)?;
        }
    }
    Ok(())
}

pub(super) fn calibration_references(calibration: &Calibration) -> Vec<(Kind, SubjectId)> {
    std::iter::once((Kind::Bench, calibration.bench.into()))
        .chain(calibration.points.iter().flat_map(|point| {
            [
                (Kind::Check, point.check.into()),
                (Kind::Standard, point.standard.into()),
            ]
        }))
        .collect()
}

pub(super) fn basis(basis: &Basis) -> Result<(), BookError> {
    if basis.corrections.len() > LONGEST_LIST {
        return Err(too_long("determination.corrections"));
    }
    let Some(required) = &basis.required else {
        return Ok(());
    };
    for (field, found) in [
        ("determination.required.from_c", required.from_c),
        ("determination.required.to_c", required.to_c),
        (
            "determination.required.guard_lower_c",
            required.guard_lower_c,
        ),
        (
            "determination.required.guard_upper_c",
            required.guard_upper_c,
        ),
        (
            "determination.required.probability_lower",
            required.probability_lower,
        ),
        (
            "determination.required.probability_upper",
            required.probability_upper,
        ),
    ] {
        finite(field, found)?;
    }
    Ok(())
}

pub(super) fn basis_references(
    basis: Option<&Basis>,
) -> impl Iterator<Item = (Kind, SubjectId)> + '_ {
    basis
        .into_iter()
        .flat_map(|basis| &basis.corrections)
        .flat_map(|correction| {
            std::iter::once((Kind::Run, correction.run.into())).chain(
                correction
                    .calibration
                    .map(|calibration| (Kind::Calibration, calibration.into())),
            )
        })
}

fn temperature(field: &'static str, found: f64) -> Result<(), BookError> {
    if TEMPERATURES_C.contains(&found) {
        return Ok(());
    }
    Err(BookError::Field {
        field,
        found: found.to_string(),
        expected: "a temperature from -273.15 to 1000 °C",
    })
}

fn uncertainty(field: &'static str, found: Option<f64>) -> Result<(), BookError> {
    match found {
        Some(found) if !(found > 0.0 && found <= LARGEST_U_C) => Err(BookError::Field {
            field,
            found: found.to_string(),
            expected: "a standard uncertainty above 0 and at most 100 °C, or none",
        }),
        _ => Ok(()),
    }
}

fn rate(field: &'static str, found: Option<f64>) -> Result<(), BookError> {
    match found {
        Some(found) if !(found > 0.0 && found <= FASTEST_C_PER_MIN) => Err(BookError::Field {
            field,
            found: found.to_string(),
            expected: "a heating rate above 0 and at most 1000 °C/min, or none",
        }),
        _ => Ok(()),
    }
}
