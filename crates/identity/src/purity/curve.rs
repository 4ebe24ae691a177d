//! Purity from the melting curve: van 't Hoff with a linearising correction.

use super::{MainSubstance, Purity, PurityError, PurityMethod, assumptions, kelvin, limits};
use crate::least::least;
use nalgebra::{DMatrix, Matrix3};

/// One point of the curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeltPoint {
    /// [°C]
    pub temperature_c: f64,
    /// Of the whole, 0..=1.
    pub fraction_melted: f64,
}

/// Fractions between which the curve is used: below, the furnace and the first liquid disturb; above, lag. Common practice of
/// calorimetric purity (from memory of ASTM E928).
const USABLE: [f64; 2] = [0.1, 0.5];
/// Fewer points determine no line and a correction.
const LEAST: usize = 6;
/// The correction may be so much of the whole.
///
/// # Source
/// ASTM E928: beyond 20 % of the enthalpy the result is unreliable.
const MOST_CORRECTION: f64 = 0.20;
/// It is looked for in here; a little below 0, as a fraction may be told too large.
const CORRECTIONS: [f64; 2] = [-0.04, 0.40];

struct Line {
    correction: f64,
    pure_k: f64,
    /// Depression at full melting [K].
    depression_k: f64,
    sum_of_squares: f64,
}

/// From temperatures and fractions melted, in any order.
///
/// # Arguments
/// * `points`: at least six with fractions from 0.1 to 0.5; others are left aside.
///
/// # Errors
/// [`PurityError`]: too few points, a curve that does not rise, a correction beyond 20 %, or more than 3 mol %.
///
/// # Source
/// T = T₀ − (R T₀² χ/ΔH)/F, F = (part + c)/(whole + c), c such that the plot is straight: the method of ASTM E928. The
/// difference to the exact law ln(1 − χ/F) is part of the uncertainty.
pub fn from_curve(main: &MainSubstance, points: &[MeltPoint]) -> Result<Purity, PurityError> {
    main.check()?;
    for point in points {
        let told = |found: String, expected| Err(PurityError::Curve { found, expected });
        if !(-100.0..=600.0).contains(&point.temperature_c) {
            return told(
                format!("a temperature of {} °C", point.temperature_c),
                "-100 to 600 °C",
            );
        }
        if !(-0.02..=1.02).contains(&point.fraction_melted) {
            return told(
                format!(
                    "a fraction melted of {} at {} °C",
                    point.fraction_melted, point.temperature_c
                ),
                "0 to 1",
            );
        }
    }
    let mut used: Vec<MeltPoint> = points
        .iter()
        .copied()
        .filter(|point| (USABLE[0]..=USABLE[1]).contains(&point.fraction_melted))
        .collect();
    used.sort_by(|a, b| a.fraction_melted.total_cmp(&b.fraction_melted));
    if used.len() < LEAST {
        return Err(PurityError::Curve {
            found: format!("{} points with fractions from 0.1 to 0.5", used.len()),
            expected: "6 at least: heat more slowly or log more often",
        });
    }
    let [first, last] = [used[0], used[used.len() - 1]];
    if last.fraction_melted - first.fraction_melted < 0.15 {
        return Err(PurityError::Curve {
            found: format!(
                "fractions from {:.2} to {:.2} only",
                first.fraction_melted, last.fraction_melted
            ),
            expected: "a good part of 0.1 to 0.5",
        });
    }
    let line = straightened(&used);
    if line.depression_k < 0.0 && line.depression_k < -3.0 * slope_uncertainty(&used, &line) {
        return Err(PurityError::Curve {
            found: "a temperature that falls while more is melted".into(),
            expected: "temperature_c and fraction_melted of heating",
        });
    }
    if line.correction > MOST_CORRECTION {
        return Err(PurityError::Curve {
            found: format!(
                "a linearising correction of {:.0} %",
                100.0 * line.correction
            ),
            expected: "20 % at most; beyond it the result is unreliable. Too much had melted unseen, or the impurity goes into the crystal",
        });
    }
    let per_fraction_k = main.depression_k(meltrange_physics::Kelvin(line.pure_k));
    let impurity = (line.depression_k / per_fraction_k).max(0.0);
    let from_line = slope_uncertainty(&used, &line) / per_fraction_k;
    let from_law = 0.5 * (exact(main, &used) - impurity).abs();
    let from_enthalpy = impurity * main.relative_uncertainty();
    let standard_uncertainty = from_line.hypot(from_law).hypot(from_enthalpy);
    let interval_95 = [
        (impurity - 1.96 * standard_uncertainty).max(0.0),
        (impurity + 1.96 * standard_uncertainty).min(1.0),
    ];
    let mut cautions = Vec::new();
    limits(impurity, interval_95[0], &mut cautions)?;
    assumptions(&mut cautions);
    Ok(Purity {
        method: PurityMethod::MeltingCurve,
        impurity_mole_fraction: impurity,
        standard_uncertainty,
        interval_95,
        pure_melting_c: line.pure_k - meltrange_physics::ZERO_CELSIUS_K,
        linearising_correction: line.correction,
        usable_from_fraction: Some(first.fraction_melted),
        usable_to_fraction: Some(last.fraction_melted),
        impurity_mol_per_kg: main.mol_per_kg(impurity),
        cautions,
    })
}

fn corrected(fraction: f64, correction: f64) -> f64 {
    (fraction + correction) / (1.0 + correction)
}

/// The line through T against 1/F for one correction.
fn line(points: &[MeltPoint], correction: f64) -> Line {
    let count = points.len() as f64;
    let over: Vec<f64> = points
        .iter()
        .map(|point| 1.0 / corrected(point.fraction_melted, correction))
        .collect();
    let mean_x = over.iter().sum::<f64>() / count;
    let mean_y = points
        .iter()
        .map(|point| kelvin(point.temperature_c).0)
        .sum::<f64>()
        / count;
    let (mut xy, mut xx) = (0.0, 0.0);
    for (x, point) in over.iter().zip(points) {
        xy += (x - mean_x) * (kelvin(point.temperature_c).0 - mean_y);
        xx += (x - mean_x) * (x - mean_x);
    }
    let slope = xy / xx;
    let pure_k = mean_y - slope * mean_x;
    let sum_of_squares = over
        .iter()
        .zip(points)
        .map(|(x, point)| (kelvin(point.temperature_c).0 - pure_k - slope * x).powi(2))
        .sum();
    Line {
        correction,
        pure_k,
        depression_k: -slope,
        sum_of_squares,
    }
}

/// The correction that straightens the plot best.
fn straightened(points: &[MeltPoint]) -> Line {
    let best = least(CORRECTIONS, |correction| {
        line(points, correction).sum_of_squares
    });
    line(points, best)
}

/// Standard uncertainty of the depression [K], the correction being fitted too.
fn slope_uncertainty(points: &[MeltPoint], line: &Line) -> f64 {
    let count = points.len();
    let jacobian = DMatrix::from_fn(count, 3, |row, column| {
        let fraction = points[row].fraction_melted;
        let over = 1.0 / corrected(fraction, line.correction);
        match column {
            0 => 1.0,
            1 => -over,
            // d(1/F)/dc = (part − 1)/(part + c)².
            _ => line.depression_k * (1.0 - fraction) / (fraction + line.correction).powi(2),
        }
    });
    let normal = jacobian.tr_mul(&jacobian);
    let normal = Matrix3::from_fn(|row, column| normal[(row, column)]);
    let degrees = count.saturating_sub(3).max(1) as f64;
    let variance = line.sum_of_squares / degrees;
    let known = normal.try_inverse().map(|inverse| inverse[(1, 1)]);
    // Without any depression the correction changes nothing and cannot be told: the line alone, then.
    let alone = || {
        let normal = normal.fixed_view::<2, 2>(0, 0).into_owned();
        normal
            .try_inverse()
            .map_or(f64::INFINITY, |inverse| inverse[(1, 1)])
    };
    let spread = known
        .filter(|one| one.is_finite() && *one > 0.0)
        .unwrap_or_else(alone);
    (variance * spread).sqrt()
}

/// The same from the exact law 1/T = 1/T₀ − (R/ΔH) ln(1 − χ/F).
fn exact(main: &MainSubstance, points: &[MeltPoint]) -> f64 {
    let over_enthalpy = meltrange_physics::GAS_CONSTANT_J_PER_MOL_K / main.hfus_j_per_mol[0];
    let misses = |impurity: f64, correction: f64| {
        let raised: Vec<f64> = points
            .iter()
            .map(|point| {
                let within = 1.0 - impurity / corrected(point.fraction_melted, correction);
                1.0 / kelvin(point.temperature_c).0 + over_enthalpy * within.max(1e-9).ln()
            })
            .collect();
        let mean = raised.iter().sum::<f64>() / raised.len() as f64;
        raised.iter().map(|one| (one - mean).powi(2)).sum::<f64>()
    };
    // A fraction of 0.1 with nothing but impurity in the liquid is the most there can be.
    let most = 0.9 * USABLE[0] / (1.0 + CORRECTIONS[1]);
    let of = |correction: f64| {
        let impurity = least([0.0, most], |impurity| misses(impurity, correction));
        misses(impurity, correction)
    };
    let correction = least(CORRECTIONS, of);
    least([0.0, most], |impurity| misses(impurity, correction))
}

#[cfg(test)]
mod tests {
    use super::*;
    use meltrange_physics::{FirstMelt, ImpureSolid, Kelvin};
    use rand::SeedableRng as _;
    use rand_chacha::ChaCha8Rng;
    use rand_distr::{Distribution as _, Normal};

    const PHENACETIN: MainSubstance = MainSubstance {
        hfus_j_per_mol: [33_000.0, 0.0],
        molar_mass_g_per_mol: Some(179.22),
    };

    fn curve(impurity: f64, unseen: f64, noise_k: impl Fn(usize) -> f64) -> Vec<MeltPoint> {
        let solid = ImpureSolid::new(
            kelvin(134.8),
            33_000.0,
            impurity,
            FirstMelt::BelowFraction(0.0),
        )
        .expect("sound");
        (0..80)
            .map(|step| {
                let part = 0.02 + 0.0122 * step as f64;
                // What melted unseen is missing from part and whole.
                let fraction = (part * (1.0 + unseen) - unseen).clamp(0.0, 1.0);
                let at: Kelvin = solid.temperature_at(part).expect("in range");
                MeltPoint {
                    temperature_c: at.0 - 273.15 + noise_k(step),
                    fraction_melted: fraction,
                }
            })
            .collect()
    }

    /// NIST SRM 1514, phenacetin with 4-aminobenzoic acid: nominal 0.7, 2 and 5 mol %; T₀ 134.8 °C, 33.0 kJ/mol.
    #[test]
    fn nominal_levels_of_srm_1514() {
        for (impurity, unseen) in [(0.007, 0.0), (0.007, 0.05), (0.02, 0.0), (0.02, 0.08)] {
            let found =
                from_curve(&PHENACETIN, &curve(impurity, unseen, |_| 0.0)).expect("in range");
            let away = (found.impurity_mole_fraction - impurity).abs();
            assert!(away < 2e-4, "{impurity}, {unseen}: {found:?}");
            assert!(
                (found.linearising_correction - unseen).abs() < 0.01,
                "{found:?}"
            );
            assert!((found.pure_melting_c - 134.8).abs() < 0.05);
            assert_eq!(
                impurity > MEANT,
                found.cautions[0].contains("beyond the 1.5")
            );
        }
        let five = from_curve(&PHENACETIN, &curve(0.05, 0.0, |_| 0.0));
        assert!(
            matches!(five, Err(PurityError::TooImpure { .. })),
            "{five:?}"
        );
    }
    const MEANT: f64 = super::super::MEANT_BELOW;

    #[test]
    fn what_says_nothing_is_refused() {
        let some = curve(0.01, 0.0, |_| 0.0);
        assert!(from_curve(&PHENACETIN, &some[..8]).is_err());
        let mut falls = some.clone();
        for point in &mut falls {
            point.temperature_c = 260.0 - point.temperature_c;
        }
        assert!(from_curve(&PHENACETIN, &falls).is_err());
        let percent: Vec<MeltPoint> = some
            .iter()
            .map(|point| MeltPoint {
                fraction_melted: 100.0 * point.fraction_melted,
                ..*point
            })
            .collect();
        assert!(
            from_curve(&PHENACETIN, &percent)
                .expect_err("percent")
                .to_string()
                .contains("0 to 1")
        );
    }

    /// With noise on the temperature the interval holds the truth about as often as it says.
    #[test]
    fn noise_is_in_the_uncertainty() {
        let mut random = ChaCha8Rng::seed_from_u64(7);
        let noise = Normal::new(0.0, 0.02).expect("a standard deviation");
        let (mut held, mut count) = (0.0, 0.0);
        for round in 0..200 {
            let impurity = 0.002 + 0.012 * f64::from(round) / 200.0;
            let mut points = curve(impurity, 0.02, |_| 0.0);
            for point in &mut points {
                point.temperature_c += noise.sample(&mut random);
            }
            let found = from_curve(&PHENACETIN, &points).expect("in range");
            let [low, high] = found.interval_95;
            held += f64::from(u8::from(low <= impurity && impurity <= high));
            count += 1.0;
        }
        let share: f64 = held / count;
        assert!((0.90..1.0).contains(&share), "{share}");
    }
}
