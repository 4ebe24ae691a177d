//! One substance of the library.

use meltrange_planning::{Screening, screen};
use serde::Serialize;

/// What literature says it melts at, as one source has it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LiteratureValue {
    /// Temperature [°C]; convention and rate are seldom told, usually the clear point or the middle of the range.
    pub value_c: f64,
    /// Where it is from.
    pub source: String,
    /// Why it is doubted; kept all the same.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mark: Option<Mark>,
}

/// Why a value is doubted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema), schema(as = LiteratureMark))]
pub enum Mark {
    /// Another source has one more than 15 °C away.
    Disagrees,
    /// It is another's value in another unit.
    Unit,
    /// It is the boiling temperature.
    Boiling,
    /// No melting temperature of an organic solid.
    Range,
    /// Whoever published it advised against its use.
    DoNotUse,
    /// The middle of values that stand beside it.
    Median,
}

impl Mark {
    pub(super) fn named(name: &str) -> Option<Self> {
        Some(match name {
            "disagrees" => Self::Disagrees,
            "unit" => Self::Unit,
            "boiling" => Self::Boiling,
            "range" => Self::Range,
            "donotuse" => Self::DoNotUse,
            "median" => Self::Median,
            _ => return None,
        })
    }
}

/// An enthalpy of fusion.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Enthalpy {
    /// Molar [J/mol].
    pub value: f64,
    /// Its standard uncertainty [J/mol].
    pub standard_uncertainty: f64,
    /// The paper, or how it was estimated.
    pub source: String,
    /// Measured or estimated.
    pub kind: EnthalpySource,
}

/// Where an enthalpy of fusion is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub enum EnthalpySource {
    /// Measured, in a paper that is cited.
    Measured,
    /// From the entropy of fusion usual for its class.
    Estimated,
    /// Told by the person.
    Given,
}

/// Something to know of a substance that is melted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remark {
    /// Such as `sublimes`, `decomposes`, `hydrate`, `polymorphs`.
    pub kind: String,
    /// In a sentence.
    pub text: String,
    /// Where it is said.
    pub source: String,
}

/// Something known of two substances together.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PairRemark {
    /// `compound`, `mixed_crystals`, `two_liquids` or `eutectic`.
    pub kind: String,
    /// In a sentence.
    pub text: String,
    /// Where it is said.
    pub source: String,
}

/// A substance.
#[derive(Debug, Clone, PartialEq)]
pub struct Substance {
    /// The usual name.
    pub name: String,
    /// CAS number; empty for an own substance without one.
    pub cas: String,
    /// Molecular formula, Hill order.
    pub formula: String,
    /// [g/mol]; null where it is not known.
    pub molar_mass_g_per_mol: Option<f64>,
    /// Structure.
    pub smiles: String,
    /// Other names.
    pub synonyms: Vec<String>,
    /// Every literature value, apart.
    pub melting_c: Vec<LiteratureValue>,
    /// Measured enthalpies of fusion, each with its paper; the first is the one used.
    pub enthalpies: Vec<Enthalpy>,
    /// Hydrogen-bond donors, N–H and O–H.
    pub donors: u32,
    /// Hydrogen-bond acceptors.
    pub acceptors: u32,
    /// Classes of its structure.
    pub classes: Vec<String>,
    /// What to know when it is melted.
    pub remarks: Vec<Remark>,
    /// From the person's own list: takes priority.
    pub own: bool,
}

/// Classes of structures that are not heated in a capillary.
///
/// # Source
/// National Research Council, Prudent Practices in the Laboratory (1995), table 3.11; CRC Handbook, section 16.
const REFUSED_CLASSES: [(&str, &str); 19] = [
    ("azide", "azides"),
    ("diazo", "diazo compounds"),
    ("diazonium", "diazonium salts"),
    ("fulminate", "fulminates"),
    ("acetylide", "metal acetylides"),
    ("haloacetylene", "haloacetylenes"),
    ("nitrate_ester", "nitrates of alcohols"),
    ("nitrite_ester", "alkyl nitrites"),
    ("perchlorate", "perchlorates"),
    ("peroxide", "organic peroxides"),
    ("polynitroaromatic", "polynitroaromatics"),
    ("picrate", "picrates"),
    ("n_halogen", "N-halogen compounds"),
    ("tetrazole", "rings rich in nitrogen"),
    ("nitroso", "nitroso compounds"),
    ("chlorite", "chlorites"),
    ("polyacetylene", "polyacetylenes"),
    // Common practice, no source.
    ("nitramine", "nitramines"),
    ("polynitroalkyl", "polynitro compounds"),
];

/// Entropy of fusion of rigid molecules [J/(mol K)] and its spread from substance to substance, as a standard uncertainty.
///
/// # Source
/// Walden's rule, 56.5 J/(mol K), from memory; checked in `docs/models/identity.md` against the enthalpies of the library.
pub(crate) const WALDEN_J_PER_MOL_K: f64 = 56.5;
pub(crate) const WALDEN_SPREAD: f64 = 0.25;
/// Literature values are mostly right within so much [°C].
///
/// # Source
/// Half of such values lie within 0.9 °C, 68 % within 1.5: `docs/models/identity.md`.
const LITERATURE_C: f64 = 1.5;
/// Relative standard uncertainty of an enthalpy of fusion whose source gives none.
pub(super) const USUAL_SPREAD: f64 = 0.03;

impl Substance {
    /// What it most likely melts at [°C]: the middle of the values that are not doubted, else of all; null without any.
    pub fn likely_c(&self) -> Option<f64> {
        let sound = |value: &&LiteratureValue| value.mark.is_none();
        let mut values: Vec<f64> = self
            .melting_c
            .iter()
            .filter(sound)
            .map(|value| value.value_c)
            .collect();
        if values.is_empty() {
            values = self.melting_c.iter().map(|value| value.value_c).collect();
        }
        values.sort_by(f64::total_cmp);
        let count = values.len();
        (count > 0).then(|| 0.5 * (values[(count - 1) / 2] + values[count / 2]))
    }

    /// About where it is expected to melt [°C]: the literature values that are not doubted with room for how far such values
    /// are off; null where all are doubted.
    pub fn expected_c(&self) -> Option<[f64; 2]> {
        let sound = || {
            let sound = self.melting_c.iter().filter(|value| value.mark.is_none());
            sound.map(|value| value.value_c)
        };
        let least_c = sound().reduce(f64::min)?;
        let most_c = sound().reduce(f64::max)?;
        Some([least_c - LITERATURE_C, most_c + LITERATURE_C])
    }

    /// Enthalpy of fusion: measured, or that of its class at this melting temperature, which is said in its source.
    pub fn enthalpy(&self, melting_c: f64) -> Enthalpy {
        self.enthalpies
            .first()
            .cloned()
            .unwrap_or_else(|| estimated_enthalpy(melting_c))
    }

    /// Why it is not to be heated in a capillary: by the classes of its structure, else by any of its names.
    pub fn refusal(&self) -> Option<String> {
        let class = self
            .classes
            .iter()
            .find_map(|class| REFUSED_CLASSES.iter().find(|(name, _)| name == class));
        if let Some((_, words)) = class {
            return Some(format!(
                "its structure has that of {words}, which are not heated in a capillary; ask the responsible person"
            ));
        }
        self.names().find_map(|name| match screen(name) {
            Screening::Refused { why } => Some(why),
            _ => None,
        })
    }

    /// What is to be minded before it is heated, that it is refused first.
    pub fn hazards(&self) -> Vec<String> {
        let refusal = self.refusal().map(|why| format!("refused: {why}"));
        let mut said: Vec<String> = refusal.into_iter().collect();
        for name in self.names() {
            if let Screening::Flagged { minds } = screen(name) {
                for mind in minds {
                    if !said.contains(&mind) {
                        said.push(mind);
                    }
                }
            }
        }
        said
    }

    /// The usual name, then the others.
    pub(crate) fn names(&self) -> impl Iterator<Item = &str> {
        std::iter::once(&self.name)
            .chain(&self.synonyms)
            .map(String::as_str)
    }
}

impl Enthalpy {
    /// As somebody has it who gives no uncertainty: laboratories differ by about 3 %. Common practice, no source.
    pub fn given(value: f64, source: &str) -> Self {
        Self {
            value,
            standard_uncertainty: USUAL_SPREAD * value.abs(),
            source: source.to_owned(),
            kind: EnthalpySource::Given,
        }
    }
}

/// Walden's rule at a melting temperature [°C].
pub fn estimated_enthalpy(melting_c: f64) -> Enthalpy {
    let value = WALDEN_J_PER_MOL_K * (melting_c + meltrange_physics::ZERO_CELSIUS_K);
    Enthalpy {
        value,
        standard_uncertainty: WALDEN_SPREAD * value,
        source: format!(
            "estimated by Walden's rule, {WALDEN_J_PER_MOL_K} J/(mol K), good to {:.0} % or so",
            100.0 * WALDEN_SPREAD
        ),
        kind: EnthalpySource::Estimated,
    }
}

/// Whether a text is a CAS number: its digits, and the check digit behind them.
pub fn cas_is_valid(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let [first, second, check] = parts.as_slice() else {
        return false;
    };
    let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    if !(2..=7).contains(&first.len()) || second.len() != 2 || check.len() != 1 {
        return false;
    }
    if ![first, second, check].iter().all(|part| digits(part)) {
        return false;
    }
    let sum: u32 = first
        .bytes()
        .chain(second.bytes())
        .rev()
        .zip(1..)
        .map(|(byte, place)| u32::from(byte - b'0') * place)
        .sum();
    Some(sum % 10) == check.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cas_number_has_a_check_digit() {
        // CAS: the rule as its registry publishes it; 7732-18-5 is water, 103-84-4 acetanilide.
        for good in ["7732-18-5", "103-84-4", "91-20-3"] {
            assert!(cas_is_valid(good), "{good}");
        }
        for bad in ["103-84-5", "1-84-4", "103-8-44", "benzil", "", "103-84-"] {
            assert!(!cas_is_valid(bad), "{bad}");
        }
    }

    /// A name that is flagged does not hide another that is refused.
    #[test]
    fn a_refusal_goes_before_everything() {
        let library = crate::Library::shipped();
        let mut one = library.named("acetanilide").expect("known").clone();
        assert_eq!(one.refusal(), None);
        one.name = "4-nitrophenol".into();
        one.synonyms = vec!["sodium azide".into()];
        let hazards = one.hazards();
        assert!(hazards[0].starts_with("refused: "), "{hazards:?}");
        assert!(hazards.len() > 1, "{hazards:?}");
    }

    #[test]
    fn walden_is_near_for_rigid_molecules() {
        // Naphthalene: 19 010 J/mol at 80.24 °C, CRC Handbook as carried by the Python package chemicals.
        let found = estimated_enthalpy(80.24);
        let measured = 19_010.0;
        assert!((found.value - measured).abs() < found.standard_uncertainty);
    }
}
