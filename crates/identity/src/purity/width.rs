//! Purity from the width of the range, with the fraction at which first liquid is seen as an uncertain input.

use super::{
    MainSubstance, PURE_WIDTH_U_C, Purity, PurityError, PurityMethod, assumptions, kelvin, limits,
    require,
};

/// At which fraction melted the first liquid is seen: somewhere between, each ratio as likely as another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeenAt {
    /// A trained eye or the program, which need little.
    pub least: f64,
    /// A tired eye, which needs more.
    pub most: f64,
}

impl Default for SeenAt {
    /// 0.02 to 0.25; common practice, no source.
    fn default() -> Self {
        Self {
            least: 0.02,
            most: 0.25,
        }
    }
}

/// Quantiles that are looked at.
const STEPS: usize = 400;

/// From first liquid and last crystal.
///
/// # Arguments
/// * `first_liquid_c`, `last_crystal_c`: [°C], first not above last.
/// * `standard_uncertainty_c`: of their difference [°C], above 0.
/// * `pure_width_c`: what a pure substance shows in this apparatus at this rate [°C], 0 or more: lag and height of the column.
/// * `seen_at`: 0 < least ≤ most < 1.
///
/// # Errors
/// [`PurityError`]: too impure, or numbers out of range.
///
/// # Source
/// Van 't Hoff: width = K χ (1/F − 1). Propagated over F and the reading by quantiles (GUM-S1 in one dimension).
pub fn from_width(
    main: &MainSubstance,
    [first_liquid_c, last_crystal_c]: [f64; 2],
    standard_uncertainty_c: f64,
    pure_width_c: f64,
    seen_at: SeenAt,
) -> Result<Purity, PurityError> {
    main.check()?;
    require(
        "last_crystal_c",
        last_crystal_c,
        (-100.0..=600.0).contains(&last_crystal_c),
        "°C, -100 to 600",
    )?;
    require(
        "first_liquid_c",
        first_liquid_c,
        first_liquid_c <= last_crystal_c,
        "at most the last crystal",
    )?;
    require(
        "the uncertainty",
        standard_uncertainty_c,
        standard_uncertainty_c > 0.0 && standard_uncertainty_c <= 20.0,
        "above 0 and 20 °C at most",
    )?;
    require(
        "the width of the pure substance",
        pure_width_c,
        (0.0..=10.0).contains(&pure_width_c),
        "0 to 10 °C",
    )?;
    // What is taken off for the pure substance is not known better than that.
    let width_u_c = if pure_width_c > 0.0 {
        standard_uncertainty_c.hypot(PURE_WIDTH_U_C)
    } else {
        standard_uncertainty_c
    };
    let SeenAt { least, most } = seen_at;
    require(
        "the least fraction seen",
        least,
        least > 0.0 && least < 1.0,
        "above 0 and below 1",
    )?;
    require(
        "the largest fraction seen",
        most,
        most >= least && most < 1.0,
        "from the least fraction to below 1",
    )?;
    let broad_c = last_crystal_c - first_liquid_c - pure_width_c;
    let depression_k = main.depression_k(kelvin(last_crystal_c));
    // Every combination of a fraction and a reading error, as quantiles of both.
    let mut impurities = Vec::with_capacity(STEPS * 20);
    for step in 0..STEPS {
        let fraction = least * (most / least).powf((step as f64 + 0.5) / STEPS as f64);
        for error in QUANTILES {
            for sign in [-1.0, 1.0] {
                let broad_c = (broad_c + sign * error * width_u_c).max(0.0);
                impurities.push(broad_c / (depression_k * (1.0 / fraction - 1.0)));
            }
        }
    }
    impurities.sort_by(f64::total_cmp);
    let count = impurities.len();
    let quantile = |at: f64| impurities[((at * count as f64) as usize).min(count - 1)];
    let mean = impurities.iter().sum::<f64>() / count as f64;
    let variance = impurities
        .iter()
        .map(|one| (one - mean).powi(2))
        .sum::<f64>()
        / count as f64;
    let from_enthalpy = mean * main.relative_uncertainty();
    let interval_95 = [quantile(0.025), quantile(0.975)];
    let mut cautions = Vec::new();
    limits(mean, interval_95[0], &mut cautions)?;
    cautions.push(format!(
        "the fraction melted at which the first liquid was seen is taken as {least} to {most}: most of this uncertainty is that"
    ));
    if interval_95[0] <= 0.0 {
        cautions.push(format!(
            "no impurity can be shown from this width; at most {:.2} mol % (97.5 %)",
            100.0 * interval_95[1]
        ));
    }
    assumptions(&mut cautions);
    Ok(Purity {
        method: PurityMethod::Width,
        impurity_mole_fraction: mean,
        standard_uncertainty: variance.sqrt().hypot(from_enthalpy),
        interval_95,
        pure_melting_c: last_crystal_c + depression_k * mean,
        linearising_correction: 0.0,
        usable_from_fraction: None,
        usable_to_fraction: None,
        impurity_mol_per_kg: main.mol_per_kg(mean),
        cautions,
    })
}

/// Half of the normal distribution in ten steps of equal probability: quantiles at 0.525, 0.575, ... 0.975.
const QUANTILES: [f64; 10] = [
    0.0627, 0.1891, 0.3186, 0.4538, 0.5978, 0.7554, 0.9346, 1.1503, 1.4395, 1.9600,
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Benzoic acid, T₀ 122.37 °C, 18 020 J/mol: from F = 0.2 to the clear point 1.44, 2.89 and 5.77 °C at 0.5, 1 and 2 mol %,
    /// recomputed from the law with a general-purpose library.
    #[test]
    fn benzoic_acid_seen_at_a_fifth() {
        let main = MainSubstance {
            hfus_j_per_mol: [18_020.0, 0.0],
            molar_mass_g_per_mol: None,
        };
        let fifth = SeenAt {
            least: 0.2,
            most: 0.2,
        };
        for (impurity, last_c, width_c) in [
            (0.005, 122.009, 1.44),
            (0.01, 121.648, 2.89),
            (0.02, 120.926, 5.77),
        ] {
            let range = [last_c - width_c, last_c];
            let found = from_width(&main, range, 0.05, 0.0, fifth).expect("in range");
            assert!(
                (found.impurity_mole_fraction - impurity).abs() < 0.02 * impurity,
                "{found:?}"
            );
            assert!((found.pure_melting_c - 122.37).abs() < 0.02);
        }
        // Not known when it is seen: an interval over more than a decade holds the truth.
        let open =
            from_width(&main, [118.76, 121.65], 0.2, 0.0, SeenAt::default()).expect("in range");
        assert!(open.interval_95[0] < 0.01 && 0.01 < open.interval_95[1]);
        assert!(open.interval_95[1] > 5.0 * open.interval_95[0]);
        let sharp =
            from_width(&main, [121.9, 122.3], 0.2, 0.4, SeenAt::default()).expect("in range");
        assert!(sharp.interval_95[0] <= 0.0 && sharp.interval_95[1] < 0.005);
        assert!(from_width(&main, [122.0, 121.0], 0.2, 0.0, fifth).is_err());
        assert!(from_width(&main, [100.0, 121.0], 0.2, 0.0, fifth).is_err());
    }
}
