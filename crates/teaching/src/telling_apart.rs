//! Whether unknowns can be told apart by a class.

use meltrange_physics::{BinaryMixture, Celsius, Component, MeltingError};
use serde::{Deserialize, Serialize};

/// Part of determinations that may lie nearer to the other of two substances.
///
/// Normal quantile of 1 − 0.05, of which the distance has to be twice as many standard uncertainties.
const ONE_IN_TWENTY: f64 = 1.644_853_627;

/// A mixed melting has to be depressed this many times the distance that two ranges need: the depression is
/// that of an ideal liquid, and real ones differ from it by some degrees (docs/models/identity.md).
const MIXED_TIMES: f64 = 2.0;

/// What is to be known of a solid for that.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Solid {
    /// Upper end of its melting range, corrected [°C].
    pub last_crystal_c: f64,
    /// Enthalpy of fusion, measured or estimated [J/mol].
    pub fusion_j_per_mol: f64,
}

/// How two unknowns can be told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum Told {
    /// By their ranges alone.
    ByRange,
    /// By a mixed melting only.
    ByMixedMelting,
    /// Not with certainty.
    TooClose,
}

/// Two unknowns compared.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PairOfUnknowns {
    /// Which, from 0.
    pub one: u32,
    /// And which, from 0.
    pub other: u32,
    /// Between the upper ends of their ranges [°C].
    pub distance_c: f64,
    /// The distance in standard uncertainties of a difference of two determinations, √2 u.
    pub ratio: f64,
    /// How they can be told apart.
    pub told: Told,
    /// Where the last crystal of a mixture 1:1 by amount goes, as an ideal liquid [°C].
    pub mixed_last_crystal_c: f64,
    /// How far that is below the lower of the two alone [°C].
    pub mixed_depression_c: f64,
}

/// The ratio from which on a pair is told by range: of determinations of one of the two, not more than one in
/// twenty lies nearer to the other, 2 · 1.645 u = 2.33 · √2 u.
pub fn needed_ratio() -> f64 {
    ONE_IN_TWENTY * std::f64::consts::SQRT_2
}

/// Compare each with each.
///
/// # Arguments
/// * `standard_uncertainty_c`: of one determination by this class [°C], above 0.
///
/// # Errors
/// [`MeltingError`] names the argument.
///
/// # Source
/// Distances: normal errors. Mixtures: I. Schröder, Z. Phys. Chem. 11 (1893) 449, by [`BinaryMixture`]; equations in
/// docs/models/practical.md.
pub fn tell_apart(
    solids: &[Solid],
    standard_uncertainty_c: f64,
) -> Result<Vec<PairOfUnknowns>, MeltingError> {
    if !(standard_uncertainty_c.is_finite() && standard_uncertainty_c > 0.0) {
        return Err(MeltingError::Argument {
            name: "standard uncertainty of a determination",
            found: standard_uncertainty_c,
            expected: "degrees above 0",
        });
    }
    let mut pairs = Vec::new();
    for (other, b) in solids.iter().enumerate() {
        for (one, a) in solids.iter().enumerate().take(other) {
            let mixture = BinaryMixture::new(component(a), component(b), 0.0)?;
            let (liquidus, _) = mixture.liquidus(0.5)?;
            let mixed_c = Celsius::from(liquidus).0;
            let lower_c = a.last_crystal_c.min(b.last_crystal_c);
            let distance_c = (a.last_crystal_c - b.last_crystal_c).abs();
            let ratio = distance_c / (std::f64::consts::SQRT_2 * standard_uncertainty_c);
            let depression_c = lower_c - mixed_c;
            let needed_c = 2.0 * ONE_IN_TWENTY * standard_uncertainty_c;
            let told = if ratio >= needed_ratio() {
                Told::ByRange
            } else if depression_c >= MIXED_TIMES * needed_c {
                Told::ByMixedMelting
            } else {
                Told::TooClose
            };
            pairs.push(PairOfUnknowns {
                one: one as u32,
                other: other as u32,
                distance_c,
                ratio,
                told,
                mixed_last_crystal_c: mixed_c,
                mixed_depression_c: depression_c,
            });
        }
    }
    Ok(pairs)
}

fn component(solid: &Solid) -> Component {
    Component {
        pure: Celsius(solid.last_crystal_c).into(),
        hfus_j_per_mol: solid.fusion_j_per_mol,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn solid(last_crystal_c: f64) -> Solid {
        Solid {
            last_crystal_c,
            fusion_j_per_mol: 20_000.0,
        }
    }

    #[test]
    fn far_apart_by_range_near_by_mixed_melting() {
        let solids = [solid(114.3), solid(122.4), solid(121.0)];
        let pairs = tell_apart(&solids, 1.0).expect("sound");
        let told: Vec<(u32, u32, Told)> = pairs
            .iter()
            .map(|pair| (pair.one, pair.other, pair.told))
            .collect();
        assert_eq!(
            told,
            [
                (0, 1, Told::ByRange),
                (0, 2, Told::ByRange),
                (1, 2, Told::ByMixedMelting)
            ]
        );
        assert!(pairs[2].mixed_depression_c > 20.0, "{pairs:?}");
    }

    #[test]
    fn a_coarse_class_cannot_tell() {
        let pairs = tell_apart(&[solid(121.0), solid(122.4)], 6.0).expect("sound");
        assert_eq!(pairs[0].told, Told::TooClose);
    }

    #[test]
    fn one_in_twenty_lies_nearer_to_the_other_at_the_limit() {
        use rand::SeedableRng as _;
        use rand_distr::{Distribution as _, Normal};
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(5);
        let errors = Normal::new(0.0, 1.0).expect("sound");
        let distance_c = needed_ratio() * std::f64::consts::SQRT_2;
        let nearer = (0..20_000)
            .filter(|_| errors.sample(&mut rng) > distance_c / 2.0)
            .count();
        // Binomial: 1000 ± 31.
        assert!((880..1120).contains(&nearer), "{nearer}");
    }

    #[test]
    fn nonsense_is_refused() {
        assert!(tell_apart(&[solid(100.0), solid(120.0)], 0.0).is_err());
        assert!(tell_apart(&[solid(f64::NAN), solid(120.0)], 1.0).is_err());
    }
}
