//! What is told of substances and candidates, as the commands print it and the interface answers.

use crate::candidates::{Candidates, NextTest};
use crate::library::{Enthalpy, LiteratureValue, PairRemark, Substance};
use crate::mixture::{DiagramPoint, FittedInteraction, MeltingSolid, Pair, PairClass, PairError};
use meltrange_physics::{Celsius, MeltingError};
use serde::Serialize;

/// Candidates less probable than this are not told one by one.
const NEGLIGIBLE: f64 = 1e-12;

/// A substance with all that is known of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ToldSubstance {
    /// The usual name.
    pub name: String,
    /// CAS number; empty for an own substance without one.
    pub cas: String,
    /// Molecular formula.
    pub formula: String,
    /// [g/mol]
    #[cfg_attr(feature = "schema", schema(required))]
    pub molar_mass_g_per_mol: Option<f64>,
    /// Structure.
    pub smiles: String,
    /// Other names.
    pub synonyms: Vec<String>,
    /// Every literature value, apart.
    pub melting_c: Vec<LiteratureValue>,
    /// Measured or told; null where only its class is known.
    #[cfg_attr(feature = "schema", schema(required))]
    pub hfus_j_per_mol: Option<Enthalpy>,
    /// What other papers measured.
    pub other_hfus_j_per_mol: Vec<Enthalpy>,
    /// What its class would give; null without a melting temperature.
    #[cfg_attr(feature = "schema", schema(required))]
    pub hfus_estimate_j_per_mol: Option<Enthalpy>,
    /// What is to be minded before it is heated; none does not mean safe.
    pub hazards: Vec<String>,
    /// What it does when it melts, each with its source.
    pub remarks: Vec<String>,
    /// From an own list.
    pub own: bool,
}

impl From<&Substance> for ToldSubstance {
    fn from(one: &Substance) -> Self {
        let mut measured = one.enthalpies.iter().cloned();
        let remark = |known: &crate::library::Remark| format!("{} ({})", known.text, known.source);
        Self {
            name: one.name.clone(),
            cas: one.cas.clone(),
            formula: one.formula.clone(),
            molar_mass_g_per_mol: one.molar_mass_g_per_mol,
            smiles: one.smiles.clone(),
            synonyms: one.synonyms.clone(),
            melting_c: one.melting_c.clone(),
            hfus_j_per_mol: measured.next(),
            other_hfus_j_per_mol: measured.collect(),
            hfus_estimate_j_per_mol: one.likely_c().map(crate::library::estimated_enthalpy),
            hazards: one.hazards(),
            remarks: one.remarks.iter().map(remark).collect(),
            own: one.own,
        }
    }
}

/// A candidate.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ToldCandidate {
    /// The usual name.
    pub name: String,
    /// CAS number.
    pub cas: String,
    /// Molecular formula.
    pub formula: String,
    /// Literature values, those that are doubted too [°C].
    pub literature_c: Vec<f64>,
    /// That it is this one.
    pub probability: f64,
    /// Why it stands here; empty far down the list.
    pub because: String,
    /// From an own list.
    pub own: bool,
    /// What is to be minded before it is heated; only for those near the top.
    pub hazards: Vec<String>,
}

/// What it could be.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ToldCandidates {
    /// Most probable first.
    pub candidates: Vec<ToldCandidate>,
    /// That it is none of them.
    pub unlisted_probability: f64,
    /// Of those that are not told one by one.
    pub rest_probability: f64,
    /// CAS numbers (names, where there is none) of the smallest set that holds 95 % of what is listed.
    pub credible_95: Vec<String>,
    /// So many substances were compared.
    pub library_size: usize,
    /// What would tell most, best first.
    pub next_tests: Vec<NextTest>,
    /// What to mind.
    pub cautions: Vec<String>,
}

impl ToldCandidates {
    /// The first `top` of them, or all that are not negligible.
    pub fn new(found: &Candidates<'_>, top: Option<usize>) -> Self {
        let counts = |at: usize, probability: f64| match top {
            Some(top) => at < top,
            None => probability >= NEGLIGIBLE,
        };
        let candidates: Vec<ToldCandidate> = found
            .ranked
            .iter()
            .enumerate()
            .filter(|(at, one)| counts(*at, one.probability))
            .map(|(_, one)| ToldCandidate {
                name: one.substance.name.clone(),
                cas: one.substance.cas.clone(),
                formula: one.substance.formula.clone(),
                literature_c: one
                    .substance
                    .melting_c
                    .iter()
                    .map(|value| value.value_c)
                    .collect(),
                probability: one.probability,
                because: one.because.clone(),
                own: one.substance.own,
                hazards: if one.because.is_empty() {
                    Vec::new()
                } else {
                    one.substance.hazards()
                },
            })
            .collect();
        let told: f64 = candidates.iter().map(|one| one.probability).sum();
        let mut cautions = vec![
            "a melting range ranks and excludes; it does not identify: confirm by a mixed melting with the reference, or by an independent method".to_owned(),
        ];
        if found.unlisted_probability > 0.5 {
            cautions.push(
                "it is more likely none of these: look whether the list has what it could be"
                    .into(),
            );
        }
        Self {
            candidates,
            unlisted_probability: found.unlisted_probability,
            rest_probability: (1.0 - found.unlisted_probability - told).max(0.0),
            credible_95: found
                .ranked
                .iter()
                .take(found.credible_95)
                .map(|one| {
                    let substance = one.substance;
                    let named = if substance.cas.is_empty() {
                        &substance.name
                    } else {
                        &substance.cas
                    };
                    named.clone()
                })
                .collect(),
            library_size: found.compared,
            next_tests: found.next_tests.clone(),
            cautions,
        }
    }
}

/// How two solids melt together.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ToldMixture {
    /// First substance.
    pub a: MeltingSolid,
    /// Second.
    pub b: MeltingSolid,
    /// `ideal` or `one_parameter`.
    pub model: &'static str,
    /// What own points gave; null without any.
    #[cfg_attr(feature = "schema", schema(required))]
    pub fit: Option<FittedInteraction>,
    /// What kind of pair it is.
    pub class: PairClass,
    /// How far off the ideal law is for such pairs.
    pub expected_error: PairError,
    /// Where both lines meet.
    pub eutectic: DiagramPoint,
    /// First liquid is taken as seen when so much is molten, by mole.
    pub visible_fraction: f64,
    /// The mixture asked for; null where none was.
    #[cfg_attr(feature = "schema", schema(required))]
    pub at: Option<ToldMelting>,
    /// Equal masses ground together.
    pub equal_masses: ToldMelting,
    /// What is known of this very pair.
    pub known: Vec<PairRemark>,
    /// What to mind.
    pub cautions: Vec<String>,
    /// From pure a to pure b.
    pub liquidus: Vec<DiagramPoint>,
}

/// How one mixture melts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ToldMelting {
    /// 0..=1.
    pub mole_fraction_b: f64,
    /// First liquid that is seen [°C].
    pub first_liquid_c: f64,
    /// Last crystal [°C].
    pub last_crystal_c: f64,
    /// Liquid just above the eutectic temperature, of the whole, by mole.
    pub liquid_at_eutectic: f64,
}

impl ToldMixture {
    /// Work out what is told.
    ///
    /// # Errors
    /// [`MeltingError`] for fractions out of range.
    pub fn new(
        pair: &Pair,
        fit: Option<FittedInteraction>,
        mole_fraction_b: Option<f64>,
        visible_fraction: f64,
        points: usize,
    ) -> Result<Self, MeltingError> {
        let melting = |mole_fraction_b: f64| {
            let melting = pair.mixture().melting(mole_fraction_b, visible_fraction)?;
            Ok::<_, MeltingError>(ToldMelting {
                mole_fraction_b,
                first_liquid_c: Celsius::from(melting.first_liquid).0,
                last_crystal_c: Celsius::from(melting.last_crystal).0,
                liquid_at_eutectic: melting.liquid_at_eutectic,
            })
        };
        let eutectic = pair.mixture().eutectic();
        let [a, b] = pair.solids();
        Ok(Self {
            a: a.clone(),
            b: b.clone(),
            model: if fit.is_some() {
                "one_parameter"
            } else {
                "ideal"
            },
            fit,
            class: pair.class(),
            expected_error: pair.expected_error(),
            eutectic: DiagramPoint {
                mole_fraction_b: eutectic.mole_fraction_b,
                temperature_c: Celsius::from(eutectic.temperature).0,
            },
            visible_fraction,
            at: mole_fraction_b.map(melting).transpose()?,
            equal_masses: melting(pair.equal_masses())?,
            known: pair.known().to_vec(),
            cautions: pair.cautions(),
            liquidus: pair.diagram(points),
        })
    }
}
