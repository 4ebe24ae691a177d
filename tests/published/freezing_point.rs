//! Freezing-point depression, ideal liquidus and the van 't Hoff melting curve against outside values.

use std::error::Error;

use meltrange_physics::{
    Celsius, FirstMelt, ImpureSolid, Kelvin, cryoscopic_constant_k_kg_per_mol,
    depression_per_mole_fraction_k, ideal_liquidus,
};
use serde::Deserialize;

use crate::rows;

#[derive(Deserialize)]
struct Solvent {
    solvent: String,
    molar_mass_g_per_mol: f64,
    melts_at_c: f64,
    hfus_j_per_mol: f64,
    published: Option<f64>,
    computed: f64,
    k_per_mole_percent: f64,
}

fn solvents() -> Result<Vec<Solvent>, csv::Error> {
    rows(include_str!("data/cryoscopic_constants.csv"))
}

/// Source and marks: head of `data/cryoscopic_constants.csv` (computed: C).
#[test]
fn cryoscopic_constants_agree_with_the_recomputed_table() -> Result<(), Box<dyn Error>> {
    let solvents = solvents()?;
    assert_eq!(solvents.len(), 15);
    for row in solvents {
        let pure = Kelvin::from(Celsius(row.melts_at_c));
        let constant =
            cryoscopic_constant_k_kg_per_mol(pure, row.hfus_j_per_mol, row.molar_mass_g_per_mol)?;
        // The table is rounded to four figures, its molar masses to perhaps three decimals.
        let off = (constant / row.computed - 1.0).abs();
        assert!(
            off < 5e-4,
            "{}: {constant}, table {}",
            row.solvent,
            row.computed
        );
        let per_percent = depression_per_mole_fraction_k(pure, row.hfus_j_per_mol)? / 100.0;
        let off = (per_percent - row.k_per_mole_percent).abs();
        assert!(
            off < 1e-3 * row.k_per_mole_percent.max(0.6),
            "{}: {per_percent}",
            row.solvent
        );
    }
    Ok(())
}

/// CRC Handbook, "Cryoscopic constants" (V). Published constants themselves differ: by 9 % for
/// naphthalene between sources, hence 10 % there and 5 % elsewhere.
#[test]
fn cryoscopic_constants_agree_with_the_published_ones() -> Result<(), Box<dyn Error>> {
    let mut compared = 0;
    for row in solvents()? {
        let Some(published) = row.published else {
            continue;
        };
        let pure = Kelvin::from(Celsius(row.melts_at_c));
        let constant =
            cryoscopic_constant_k_kg_per_mol(pure, row.hfus_j_per_mol, row.molar_mass_g_per_mol)?;
        let tolerance = if row.solvent == "naphthalene" {
            0.10
        } else {
            0.05
        };
        let off = (constant / published - 1.0).abs();
        assert!(
            off < tolerance,
            "{}: {constant}, published {published}",
            row.solvent
        );
        compared += 1;
    }
    assert_eq!(compared, 4);
    Ok(())
}

/// Exact (Schröder) against linear depression of the clear point at 1, 2 and 5 mol %, in K.
/// Recomputed independently (C); temperatures and enthalpies as in the table of constants.
#[test]
fn exact_and_linear_depression_of_the_clear_point() -> Result<(), Box<dyn Error>> {
    let cases = [
        (
            "naphthalene",
            80.24,
            19_010.0,
            [0.548, 1.100, 2.779],
            [0.546, 1.092, 2.731],
        ),
        (
            "benzoic acid",
            122.37,
            18_020.0,
            [0.724, 1.453, 3.667],
            [0.722, 1.443, 3.608],
        ),
    ];
    for (name, melts_at_c, hfus, exact, linear) in cases {
        let pure = Kelvin::from(Celsius(melts_at_c));
        for (at, impurity) in [0.01, 0.02, 0.05].into_iter().enumerate() {
            let found = pure.0 - ideal_liquidus(pure, hfus, 1.0 - impurity)?.0;
            assert!(
                (found - exact[at]).abs() < 0.0015,
                "{name} {impurity}: exact {found} K"
            );
            let found = depression_per_mole_fraction_k(pure, hfus)? * impurity;
            assert!(
                (found - linear[at]).abs() < 0.001,
                "{name} {impurity}: linear {found} K"
            );
        }
    }
    Ok(())
}

/// Benzoic acid, T0 = 122.37 °C, 18.02 kJ/mol: temperature in °C at which the fraction 1, 0.5,
/// 0.25, 0.2, 0.1 is melted, for 0.5, 1 and 2 mol % impurity; and the width from 0.2 to 1.
/// Recomputed independently (C) from the law of ASTM E928.
#[test]
fn benzoic_acid_melting_curve() -> Result<(), Box<dyn Error>> {
    let table = [
        (0.005, [122.009, 121.648, 120.926, 120.566, 118.761], 1.44),
        (0.010, [121.648, 120.926, 119.483, 118.761, 115.152], 2.89),
        (0.020, [120.926, 119.483, 116.596, 115.152, 107.934], 5.77),
    ];
    for (impurity, temperatures_c, width_c) in table {
        let pure = Celsius(122.37).into();
        let solid = ImpureSolid::new(pure, 18_020.0, impurity, FirstMelt::BelowFraction(0.0))?;
        for (fraction, expected_c) in [1.0, 0.5, 0.25, 0.2, 0.1].into_iter().zip(temperatures_c) {
            let found = Celsius::from(solid.temperature_at(fraction)?);
            assert!(
                (found.0 - expected_c).abs() < 0.0011,
                "{impurity} {fraction}: {}",
                found.0
            );
            let back = solid.melted_fraction(Celsius(expected_c).into());
            assert!(
                (back - fraction).abs() < 0.002,
                "{impurity} {expected_c} °C: {back}"
            );
        }
        let width = solid.temperature_at(1.0)?.0 - solid.temperature_at(0.2)?.0;
        assert!(
            (width - width_c).abs() < 0.006,
            "{impurity}: width {width} K"
        );
    }
    Ok(())
}

/// NIST SRM 1514 (phenacetin + 4-aminobenzoic acid, V2): ideal clear-point depression of the members
/// with nominally 0.7, 2 and 5 mol %, from T0 = 134.8 °C and 33.0 kJ/mol: 0.294, 0.845, 2.139 K (C).
#[test]
fn phenacetin_purity_standard() -> Result<(), Box<dyn Error>> {
    let pure = Kelvin::from(Celsius(134.8));
    for (impurity, depression_k) in [(0.007, 0.294), (0.02, 0.845), (0.05, 2.139)] {
        let found = pure.0 - ideal_liquidus(pure, 33_000.0, 1.0 - impurity)?.0;
        // Printed to 0.001 K.
        assert!(
            (found - depression_k).abs() < 0.001,
            "{impurity}: {found} K"
        );
    }
    Ok(())
}
