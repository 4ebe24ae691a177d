//! The ranking: probability of each substance, and that it is none of them.

use super::literature::{Founded, Literature};
use super::next_test::{NextTest, next_tests};
use crate::library::{Library, LiteratureValue, Substance};
use serde::{Deserialize, Serialize};

/// Without a hint, one sample in so many is none of the candidates. Common practice has no number for it; it can be set.
const USUALLY_UNLISTED: f64 = 0.05;
/// Of a substance that is none of them, melting temperatures scatter as those of the library: a histogram with cells this wide [°C].
const CELL_C: f64 = 10.0;
/// Below and above this nothing is identified by melting here [°C].
const COLDEST_C: f64 = 20.0;
const HOTTEST_C: f64 = 350.0;
/// A range wider than this is none of a substance [°C].
const WIDEST_C: f64 = 40.0;
/// Two values this near are one statement: sources copy each other [°C].
const COPIED_WITHIN_C: f64 = 0.06;
/// Values that differ by no more than this, and are no copies, agree [°C].
const AGREE_WITHIN_C: f64 = 1.5;

/// What the range was corrected to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema), schema(as = RangeConvention))]
pub enum Convention {
    /// Not told: either is possible.
    #[default]
    Unstated,
    /// As read at an ordinary rate: what literature mostly gives.
    AtRate,
    /// Extrapolated to no heating at all, or corrected with certified temperatures.
    Thermodynamic,
}

impl Convention {
    /// Last crystal as literature would give it less that of this convention: mean, with the sign of (read − literature), and
    /// standard deviation [°C].
    ///
    /// # Source
    /// Values at a rate lie 0.2 to 2.2 °C above thermodynamic ones, median 1.3 (usual reference substances); literature mixes both.
    pub(super) fn offset_c(self) -> [f64; 2] {
        match self {
            Self::Unstated => [0.0, 0.4],
            Self::AtRate => [0.2, 0.3],
            Self::Thermodynamic => [-0.6, 0.5],
        }
    }
}

/// A melting range as it was read and corrected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeltingRange {
    /// First liquid [°C].
    pub first_liquid_c: f64,
    /// Last crystal [°C].
    pub last_crystal_c: f64,
    /// Standard uncertainty of either end [°C].
    pub standard_uncertainty_c: f64,
    /// What it was corrected to.
    pub convention: Convention,
}

/// Why nothing can be said.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum IdentifyError {
    /// The ends are reversed.
    #[error(
        "last_crystal_c is {last_crystal_c}; expected {first_liquid_c} or more, the first liquid"
    )]
    Reversed {
        /// First liquid [°C].
        first_liquid_c: f64,
        /// Last crystal [°C].
        last_crystal_c: f64,
    },
    /// Wider than a substance melts.
    #[error(
        "the range is {width_c:.1} °C wide; expected {WIDEST_C} °C at most. So broad a range is that of a mixture, of decomposition or of two tubes: purify, or read it again"
    )]
    TooWide {
        /// Its width [°C].
        width_c: f64,
    },
    /// Outside what is known here.
    #[error(
        "{name} is {found_c} °C; expected {COLDEST_C} to {HOTTEST_C} °C, where the library has solids"
    )]
    Outside {
        /// Which end.
        name: &'static str,
        /// Its value [°C].
        found_c: f64,
    },
    /// No uncertainty, or one that says nothing.
    #[error(
        "the uncertainty is {found_c} °C; expected above 0 and 10 °C at most. Nothing is read exactly: 0.5 °C where you do not know better"
    )]
    Uncertainty {
        /// What was given [°C].
        found_c: f64,
    },
    /// Not a probability.
    #[error(
        "the probability that it is none of the candidates is {found}; expected 0 or more and below 1"
    )]
    Unlisted {
        /// What was given.
        found: f64,
    },
    /// No candidate melts.
    #[error("none of the {count} candidates has a melting temperature; give melting_c in the list")]
    NothingMelts {
        /// So many there are.
        count: usize,
    },
}

impl MeltingRange {
    fn check(&self) -> Result<(), IdentifyError> {
        let [first_liquid_c, last_crystal_c] = [self.first_liquid_c, self.last_crystal_c];
        for (name, found_c) in [
            ("first_liquid_c", first_liquid_c),
            ("last_crystal_c", last_crystal_c),
        ] {
            if !(COLDEST_C..=HOTTEST_C).contains(&found_c) {
                return Err(IdentifyError::Outside { name, found_c });
            }
        }
        if last_crystal_c < first_liquid_c {
            return Err(IdentifyError::Reversed {
                first_liquid_c,
                last_crystal_c,
            });
        }
        let width_c = last_crystal_c - first_liquid_c;
        if width_c > WIDEST_C {
            return Err(IdentifyError::TooWide { width_c });
        }
        let found_c = self.standard_uncertainty_c;
        if !(found_c > 0.0 && found_c <= 10.0) {
            return Err(IdentifyError::Uncertainty { found_c });
        }
        Ok(())
    }
}

/// One candidate.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate<'a> {
    /// Which.
    pub substance: &'a Substance,
    /// That it is this one.
    pub probability: f64,
    /// Why it stands where it stands, in a line.
    pub because: String,
}

/// The answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidates<'a> {
    /// Most probable first.
    pub ranked: Vec<Candidate<'a>>,
    /// That it is none of the candidates.
    pub unlisted_probability: f64,
    /// So many of `ranked`, from the first, hold 95 % of what is not unlisted.
    pub credible_95: usize,
    /// So many substances were compared.
    pub compared: usize,
    /// What would tell most, best first.
    pub next_tests: Vec<NextTest>,
}

/// Rank what it could be, and find the tests that would tell most.
///
/// # Errors
/// As [`rank`].
pub fn identify<'a>(
    library: &Library,
    candidates: impl IntoIterator<Item = &'a Substance>,
    range: &MeltingRange,
    unlisted: Option<f64>,
) -> Result<Candidates<'a>, IdentifyError> {
    let mut found = rank(library, candidates, range, unlisted)?;
    found.next_tests = next_tests(library, &found.ranked, range);
    Ok(found)
}

/// Rank what it could be; without next tests.
///
/// # Arguments
/// * `candidates`: those that are possible; the whole library, or the list of a stock room.
/// * `unlisted`: how probable it is beforehand that it is none of them; 0.05 if not given.
///
/// # Returns
/// Probabilities that sum to 1 with the unlisted one.
///
/// # Errors
/// [`IdentifyError`] for a range that no substance has, an uncertainty that is none, or candidates without any value.
///
/// # Source
/// docs/models/identity.md; calibrated against compilations that the library does not use.
pub fn rank<'a>(
    library: &Library,
    candidates: impl IntoIterator<Item = &'a Substance>,
    range: &MeltingRange,
    unlisted: Option<f64>,
) -> Result<Candidates<'a>, IdentifyError> {
    range.check()?;
    let unlisted = unlisted.unwrap_or(USUALLY_UNLISTED);
    if !(0.0..1.0).contains(&unlisted) {
        return Err(IdentifyError::Unlisted { found: unlisted });
    }
    let literature = Literature::new(range);
    let mut count = 0;
    let mut ranked: Vec<(f64, &Substance)> = candidates
        .into_iter()
        .inspect(|_| count += 1)
        .filter(|one| !one.melting_c.is_empty())
        .map(|one| (likelihood(&literature, range, one), one))
        .collect();
    if ranked.is_empty() {
        return Err(IdentifyError::NothingMelts { count });
    }
    let each = (1.0 - unlisted) / ranked.len() as f64;
    let none = unlisted * background(library, range.last_crystal_c);
    let sum: f64 = none + each * ranked.iter().map(|(density, _)| density).sum::<f64>();
    let compared = ranked.len();
    // All the densities can underflow only for a list whose every value is far away.
    let probability = |density: f64| if sum > 0.0 { each * density / sum } else { 0.0 };
    let unlisted_probability = if sum > 0.0 { none / sum } else { 1.0 };
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.name.cmp(&b.1.name)));
    let ranked: Vec<Candidate<'a>> = ranked
        .into_iter()
        .map(|(density, substance)| Candidate {
            substance,
            probability: probability(density),
            because: String::new(),
        })
        .collect();
    let listed = 1.0 - unlisted_probability;
    let mut held = 0.0;
    let credible_95 = ranked
        .iter()
        .position(|one| {
            held += one.probability;
            held >= 0.95 * listed
        })
        .map_or(ranked.len(), |last| last + 1);
    Ok(Candidates {
        ranked,
        unlisted_probability,
        credible_95,
        compared,
        next_tests: Vec::new(),
    })
}

impl Candidates<'_> {
    /// Say of the first few why they stand there.
    pub fn explain(&mut self, range: &MeltingRange, count: usize) {
        for one in self.ranked.iter_mut().take(count) {
            one.because = because(one.substance, range);
        }
    }
}

/// How well a substance explains what was read [1/°C]. Sources copy each other, and each may be wrong: values stand apart, and only those
/// that differ a little count as two that agree.
fn likelihood(literature: &Literature, range: &MeltingRange, substance: &Substance) -> f64 {
    let own_or_alone = if substance.own {
        Founded::Own
    } else {
        Founded::Alone
    };
    if let [only] = substance.melting_c.as_slice() {
        return literature.density(range.last_crystal_c, only.value_c, own_or_alone);
    }
    let mut statements: Vec<&LiteratureValue> = Vec::new();
    for value in &substance.melting_c {
        let copied =
            |other: &&LiteratureValue| (other.value_c - value.value_c).abs() <= COPIED_WITHIN_C;
        if !statements.iter().any(copied) {
            statements.push(value);
        }
    }
    let read_c = range.last_crystal_c;
    if let [only] = statements.as_slice() {
        return literature.density(read_c, only.value_c, own_or_alone);
    }
    let values = || statements.iter().map(|value| value.value_c);
    let [least_c, most_c] = [
        values().fold(f64::MAX, f64::min),
        values().fold(f64::MIN, f64::max),
    ];
    if most_c - least_c <= AGREE_WITHIN_C {
        let middle_c = values().sum::<f64>() / statements.len() as f64;
        return literature.density(read_c, middle_c, Founded::Agreeing);
    }
    let weight = |value: &LiteratureValue| match value.mark {
        // One of two that disagree is right, and it is not known which.
        None | Some(crate::library::Mark::Disagrees) => 1.0,
        Some(_) => 0.1,
    };
    let (mut weights, mut sum) = (0.0, 0.0);
    for value in statements {
        weights += weight(value);
        sum += weight(value) * literature.density(read_c, value.value_c, Founded::Alone);
    }
    sum / weights
}

/// Density of the melting temperatures of solids [1/°C] about a temperature, smoothed over neighbouring cells.
fn background(library: &Library, at_c: f64) -> f64 {
    let mut inside = 0.0;
    let mut count = 0.0;
    // The first value of each will do for a histogram.
    let values = library.substances().iter();
    for value_c in values.filter_map(|one| Some(one.melting_c.first()?.value_c)) {
        count += 1.0;
        let away = (value_c - at_c).abs() / CELL_C;
        // A triangle two cells wide.
        inside += (1.0 - away).max(0.0);
    }
    if count > 0.0 && inside > 0.0 {
        inside / (count * CELL_C)
    } else {
        1.0 / (HOTTEST_C - COLDEST_C)
    }
}

fn because(substance: &Substance, range: &MeltingRange) -> String {
    let nearest = substance.melting_c.iter().min_by(|a, b| {
        let away = |value: &LiteratureValue| (value.value_c - range.last_crystal_c).abs();
        away(a).total_cmp(&away(b))
    });
    let Some(nearest) = nearest else {
        return "no melting temperature is known".into();
    };
    let above_c = nearest.value_c - range.last_crystal_c;
    let width_c = range.last_crystal_c - range.first_liquid_c;
    let place = if above_c.abs() < 0.05 {
        "its literature value is the last crystal seen".to_owned()
    } else {
        let side = if above_c > 0.0 { "above" } else { "below" };
        format!("{:.1} °C {side} the last crystal seen", above_c.abs())
    };
    let mut said = format!("{:.1} °C in literature, {place}", nearest.value_c);
    if above_c > 0.5 && width_c > 1.5 {
        said.push_str("; an impurity that lowers and broadens would explain it");
    } else if above_c < -1.0 {
        said.push_str("; an impurity would lower it, not raise it");
    }
    let others = substance.melting_c.len() - 1;
    if others > 0 {
        let far = substance
            .melting_c
            .iter()
            .map(|value| (value.value_c - nearest.value_c).abs())
            .fold(0.0, f64::max);
        if far > 2.0 {
            said.push_str(&format!("; another source is {far:.1} °C away"));
        }
    }
    said
}
