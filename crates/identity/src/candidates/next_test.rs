//! What to do next: the mixed melting that would tell most.

use super::posterior::{Candidate, MeltingRange};
use crate::library::{Library, Substance};
use crate::mixture::{Pair, VISIBLE_FRACTION};
use serde::Serialize;

/// So many candidates are thought of: the others hardly count, and nobody has their references at hand.
const CONSIDERED: usize = 50;
/// Tests that tell less than this are not worth a tube [bit].
const LEAST_BITS: f64 = 0.01;
/// So many are named.
const NAMED: usize = 5;
/// A mixture whose last crystal goes this far below both is seen as depressed, half of the time [°C].
const SEEN_C: f64 = 1.0;
/// How surely [°C].
const SEEN_SPREAD_C: f64 = 0.7;
/// The same substance, mixed: seldom seen as depressed, by badly ground or damp mixtures. Common practice, no source.
const FALSE_DEPRESSION: f64 = 0.03;
/// Different substances that do not depress each other whatever the simple picture says: mixed crystals, compounds. Common practice,
/// no source; naphthalene and 2-naphthol are such a pair (J. Chim. Phys. 95 (1998) 2199).
const MIXED_CRYSTALS: f64 = 0.05;

/// A test, and what it would tell.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct NextTest {
    /// `mixed_melting`.
    pub kind: &'static str,
    /// The reference to grind 1:1 with the sample.
    pub with: String,
    /// Its CAS number.
    pub cas: String,
    /// What is expected to be known more afterwards [bit].
    pub expected_information_bits: f64,
    /// First liquid and last crystal of the mixture if it is the same [°C].
    pub if_same_c: [f64; 2],
    /// And if it is another of the candidates, as the ideal law has it [°C].
    pub if_different_c: [f64; 2],
}

pub(super) fn next_tests(
    library: &Library,
    ranked: &[Candidate<'_>],
    range: &MeltingRange,
) -> Vec<NextTest> {
    let considered = &ranked[..ranked.len().min(CONSIDERED)];
    let sum: f64 = considered.iter().map(|one| one.probability).sum();
    if considered.len() < 2 || sum <= 0.0 {
        return Vec::new();
    }
    let mut tests: Vec<NextTest> = considered
        .iter()
        .filter(|one| one.substance.refusal().is_none())
        .filter_map(|reference| with(library, reference, considered, sum, range))
        .filter(|test| test.expected_information_bits >= LEAST_BITS)
        .collect();
    tests.sort_by(|a, b| {
        b.expected_information_bits
            .total_cmp(&a.expected_information_bits)
            .then_with(|| a.with.cmp(&b.with))
    });
    tests.truncate(NAMED);
    tests
}

/// Mixing with one reference.
fn with(
    library: &Library,
    reference: &Candidate<'_>,
    considered: &[Candidate<'_>],
    sum: f64,
    range: &MeltingRange,
) -> Option<NextTest> {
    let mut depressed = 0.0;
    let mut within = 0.0;
    let (mut first_c, mut last_c, mut weights) = (0.0, 0.0, 0.0);
    for one in considered {
        let probability = one.probability / sum;
        let seen = if std::ptr::eq(one.substance, reference.substance) {
            FALSE_DEPRESSION
        } else {
            let expected = expected(library, one.substance, reference.substance, range)?;
            first_c += probability * expected.first_c;
            last_c += probability * expected.last_c;
            weights += probability;
            expected.seen
        };
        depressed += probability * seen;
        within += probability * entropy_bits(seen);
    }
    if weights <= 0.0 {
        return None;
    }
    Some(NextTest {
        kind: "mixed_melting",
        with: reference.substance.name.clone(),
        cas: reference.substance.cas.clone(),
        expected_information_bits: (entropy_bits(depressed) - within).max(0.0),
        if_same_c: [range.first_liquid_c, range.last_crystal_c],
        if_different_c: [first_c / weights, last_c / weights],
    })
}

struct Expected {
    first_c: f64,
    last_c: f64,
    /// Probability that it is seen as depressed.
    seen: f64,
}

/// The sample, if it were `one`, ground 1:1 by mass with a reference.
fn expected(
    library: &Library,
    one: &Substance,
    reference: &Substance,
    range: &MeltingRange,
) -> Option<Expected> {
    // The sample melts where it was seen to melt, whatever literature says of it.
    let reference_c = reference.likely_c()?;
    let pair = Pair::of(library, one, range.last_crystal_c, reference, reference_c).ok()?;
    let half = pair.equal_masses();
    let melting = pair.mixture().melting(half, VISIBLE_FRACTION).ok()?;
    let first_c = meltrange_physics::Celsius::from(melting.first_liquid).0;
    let last_c = meltrange_physics::Celsius::from(melting.last_crystal).0;
    // Either end tells: the mixture begins to melt below both even where its last crystal goes late.
    let lower_c = range.last_crystal_c.min(reference_c);
    let below_c = (lower_c - last_c).max(0.5 * (lower_c - first_c));
    let distinct = 1.0 / (1.0 + (-(below_c - SEEN_C) / (0.5 * SEEN_SPREAD_C)).exp());
    let mixed = if library
        .known_of_pair(&one.cas, &reference.cas)
        .iter()
        .any(|known| known.kind == "mixed_crystals")
    {
        0.9
    } else {
        MIXED_CRYSTALS
    };
    Some(Expected {
        first_c,
        last_c,
        seen: (1.0 - mixed) * distinct + mixed * FALSE_DEPRESSION,
    })
}

fn entropy_bits(probability: f64) -> f64 {
    let part = |p: f64| if p > 0.0 { -p * p.log2() } else { 0.0 };
    part(probability) + part(1.0 - probability)
}
