//! Purity from how low the last crystal goes.

use super::{
    MainSubstance, Purity, PurityError, PurityMethod, assumptions, kelvin, limits, require,
};
use meltrange_physics::GAS_CONSTANT_J_PER_MOL_K;

/// From the last crystal and what the pure substance melts at, both in one convention.
///
/// # Arguments
/// * `last_crystal_c`, `pure_c`: [°C].
/// * `standard_uncertainty_c`: of their difference [°C], above 0.
///
/// # Errors
/// [`PurityError`]: too impure, above the pure substance by more than the uncertainty allows, or numbers out of range.
///
/// # Source
/// Schröder–van Laar, 1 − x = 1 − exp(−(ΔH/R)(1/T − 1/T₀)); interval: normal, cut off at 0 (GUM, first order).
pub fn from_clear_point(
    main: &MainSubstance,
    last_crystal_c: f64,
    pure_c: f64,
    standard_uncertainty_c: f64,
) -> Result<Purity, PurityError> {
    main.check()?;
    for (name, at_c) in [("last_crystal_c", last_crystal_c), ("pure_c", pure_c)] {
        require(
            name,
            at_c,
            (-100.0..=600.0).contains(&at_c),
            "°C, -100 to 600",
        )?;
    }
    require(
        "the uncertainty",
        standard_uncertainty_c,
        standard_uncertainty_c > 0.0 && standard_uncertainty_c <= 20.0,
        "above 0 and 20 °C at most",
    )?;
    let above_c = last_crystal_c - pure_c;
    if above_c > 2.0 * standard_uncertainty_c {
        return Err(PurityError::AbovePure {
            above_c,
            uncertainty_c: standard_uncertainty_c,
        });
    }
    let (pure, last) = (kelvin(pure_c), kelvin(last_crystal_c));
    let main_fraction =
        (-main.hfus_j_per_mol[0] / GAS_CONSTANT_J_PER_MOL_K * (1.0 / last.0 - 1.0 / pure.0)).exp();
    let impurity = (1.0 - main_fraction).max(0.0);
    let from_temperature = standard_uncertainty_c / main.depression_k(pure);
    let from_enthalpy = impurity * main.relative_uncertainty();
    let standard_uncertainty = from_temperature.hypot(from_enthalpy);
    let interval_95 = [
        (impurity - 1.96 * standard_uncertainty).max(0.0),
        (impurity + 1.96 * standard_uncertainty).min(1.0),
    ];
    let mut cautions = Vec::new();
    limits(impurity, interval_95[0], &mut cautions)?;
    if interval_95[0] <= 0.0 {
        cautions.push(format!(
            "no impurity can be shown at this uncertainty; at most {:.2} mol % (95 %)",
            100.0 * interval_95[1]
        ));
    }
    cautions.push(
        "last crystal and pure substance must be of one convention: a value at a rate beside a thermodynamic one is 1 to 2 °C off by that alone".into(),
    );
    assumptions(&mut cautions);
    Ok(Purity {
        method: PurityMethod::ClearPoint,
        impurity_mole_fraction: impurity,
        standard_uncertainty,
        interval_95,
        pure_melting_c: pure_c,
        linearising_correction: 0.0,
        usable_from_fraction: None,
        usable_to_fraction: None,
        impurity_mol_per_kg: main.mol_per_kg(impurity),
        cautions,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Exact depression at 1, 2 and 5 mol %: 0.724, 1.453 and 3.667 K for benzoic acid (T₀ 122.37 °C, 18 020 J/mol), recomputed from
    /// the equation with a general-purpose library.
    #[test]
    fn benzoic_acid() {
        let main = MainSubstance {
            hfus_j_per_mol: [18_020.0, 100.0],
            molar_mass_g_per_mol: Some(122.12),
        };
        for (impurity, depression_k) in [(0.01, 0.724), (0.02, 1.453)] {
            let found =
                from_clear_point(&main, 122.37 - depression_k, 122.37, 0.1).expect("in range");
            assert!(
                (found.impurity_mole_fraction - impurity).abs() < 2e-5,
                "{found:?}"
            );
            let [low, high] = found.interval_95;
            assert!(low < impurity && impurity < high);
        }
        let five = from_clear_point(&main, 122.37 - 3.667, 122.37, 0.1);
        assert!(
            matches!(five, Err(PurityError::TooImpure { percent }) if (percent - 5.0).abs() < 0.01)
        );
        assert!(matches!(
            from_clear_point(&main, 124.0, 122.37, 0.2),
            Err(PurityError::AbovePure { .. })
        ));
        let pure = from_clear_point(&main, 122.5, 122.37, 0.2).expect("within the uncertainty");
        assert!(pure.impurity_mole_fraction <= 0.0 && pure.interval_95[1] > 0.0);
        assert!(from_clear_point(&main, 122.0, 122.37, 0.0).is_err());
    }
}
