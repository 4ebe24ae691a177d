//! A verdict in words, and what speaks against it.

use meltrange_labbook::{Identified, MixedVerdict, NamedSubstance, PurityMethod, SampleVerdict};

/// Below this an upper limit is no statement: width and reading do not resolve it [mole fraction].
const LEAST_SHOWN: f64 = 0.001;
/// Longer evidence is not repeated in the words [characters].
const LONGEST_REPEATED: usize = 600;

/// What it is proposed to be said as.
pub(super) fn proposed(label: &str, said: &SampleVerdict) -> String {
    let range = &said.range_text;
    let name = said
        .identity
        .substance
        .as_ref()
        .map_or("", |one| one.name.as_str());
    let mut text = match said.identity.says {
        // Nothing more is proposed than that they contradict each other.
        Identified::Is | Identified::ConsistentWith if spoken_against(said) => {
            format!("{label} melts at {range}; what was looked at speaks against {name}.")
        }
        Identified::Is => format!("{label} is {name}; it melts at {range}."),
        Identified::ConsistentWith => {
            format!("{label}, which melts at {range}, is consistent with {name}; that is no proof.")
        }
        Identified::IsNot => format!("{label}, which melts at {range}, is not {name}."),
        Identified::Open => format!("{label} melts at {range}; what it is stays open."),
    };
    for mixed in &said.mixed_meltings {
        let [first_c, last_c] = mixed.mixture_c;
        text.push_str(&format!(
            " Mixed with {} it melts at {first_c:.1} to {last_c:.1} °C as logged; {}.",
            mixed.reference.name,
            mixed.words.split(". ").next().unwrap_or_default()
        ));
    }
    for purity in &said.purities {
        let way = match purity.method {
            PurityMethod::ClearPoint => "the last crystal",
            PurityMethod::Width => "the width of the range",
        };
        let [least, most] = purity.interval_95;
        text.push_str(&if most < LEAST_SHOWN {
            format!(" No impurity can be shown by {way}.")
        } else if least > 0.0 {
            format!(
                " If it is {name}, {:.2} to {:.2} mol % is something else by {way} (95 %).",
                100.0 * least,
                100.0 * most
            )
        } else {
            format!(
                " If it is {name}, at most {:.2} mol % is something else by {way} (97.5 %).",
                100.0 * most
            )
        });
    }
    if let Some(other) = &said.other_evidence {
        if other.chars().count() > LONGEST_REPEATED {
            text.push_str(" Besides: see the other evidence.");
        } else {
            text.push_str(&format!(" Besides: {}", other.trim()));
            if !text.ends_with(['.', '!', '?']) {
                text.push('.');
            }
        }
    }
    text
}

/// Whether two names are of one substance: by CAS number, else by name whatever the case of its letters.
pub(super) fn same(one: &NamedSubstance, other: &NamedSubstance) -> bool {
    if one.cas.is_empty() || other.cas.is_empty() {
        one.name.to_lowercase() == other.name.to_lowercase()
    } else {
        one.cas == other.cas
    }
}

/// What speaks against saying so much.
pub(super) fn doubts(said: &SampleVerdict) -> Vec<String> {
    let mut doubts = Vec::new();
    let Some(substance) = &said.identity.substance else {
        return doubts;
    };
    let name = &substance.name;
    let claimed = matches!(
        said.identity.says,
        Identified::Is | Identified::ConsistentWith
    );
    let with_it = |verdict| with(said, verdict);
    for mixed in &said.mixed_meltings {
        let other = &mixed.reference.name;
        match (same(&mixed.reference, substance), mixed.verdict) {
            (true, MixedVerdict::Different) if claimed => doubts.push(format!(
                "a mixed melting with {name} says that it is different"
            )),
            (true, MixedVerdict::MeltApart) if claimed => {
                doubts.push(format!("sample and {name} do not melt alike by themselves"))
            }
            (true, MixedVerdict::CannotTell) => {
                doubts.push(format!("the mixed melting with {name} cannot tell"))
            }
            (true, MixedVerdict::ConsistentWithSame) if !claimed => doubts.push(format!(
                "a mixed melting with {name} says that both may well be the same"
            )),
            (false, MixedVerdict::ConsistentWithSame) if claimed => doubts.push(format!(
                "a mixed melting with {other} says that it may well be {other}"
            )),
            _ => {}
        }
    }
    if said.identity.says == Identified::Is && said.other_evidence.is_none() {
        doubts.push(if with_it(MixedVerdict::ConsistentWithSame) {
            format!("not depressed by {name} is no proof: some pairs form mixed crystals. A second, independent test makes it sure")
        } else {
            format!("said to be {name} from a melting range alone: a range ranks and excludes, it does not identify")
        });
    }
    if claimed && improbable(said) {
        doubts.push(format!(
            "the range speaks against {name}: its probability is below 0.01 % among {} substances",
            said.candidates.among
        ));
    }
    if !ranked(said) {
        doubts.push(format!(
            "{name} was not among the {} substances that were ranked",
            said.candidates.among
        ));
    }
    let excluded = with_it(MixedVerdict::Different)
        || with_it(MixedVerdict::MeltApart)
        || improbable(said)
        || said.other_evidence.is_some();
    if said.identity.says == Identified::IsNot
        && !excluded
        && !with_it(MixedVerdict::ConsistentWithSame)
    {
        doubts.push(format!("nothing that was looked at excludes {name}"));
    }
    doubts
}

/// Whether a mixed melting with the substance that is named says this.
fn with(said: &SampleVerdict, verdict: MixedVerdict) -> bool {
    said.identity.substance.as_ref().is_some_and(|substance| {
        let mut mixed = said.mixed_meltings.iter();
        mixed.any(|mixed| same(&mixed.reference, substance) && mixed.verdict == verdict)
    })
}

/// Whether a mixed melting or the range speak against the substance that is named.
pub(super) fn spoken_against(said: &SampleVerdict) -> bool {
    with(said, MixedVerdict::Different) || with(said, MixedVerdict::MeltApart) || improbable(said)
}

/// Less probable by the range than this is spoken against.
const IMPROBABLE: f64 = 1e-4;

fn probability(said: &SampleVerdict) -> Option<f64> {
    let substance = said.identity.substance.as_ref()?;
    let mut likeliest = said.candidates.likeliest.iter();
    let found = likeliest.find(|one| same(&one.substance, substance))?;
    Some(found.probability)
}

fn improbable(said: &SampleVerdict) -> bool {
    probability(said).is_some_and(|probability| probability < IMPROBABLE)
}

/// Whether the substance was ranked, where anything was.
fn ranked(said: &SampleVerdict) -> bool {
    said.candidates.among == 0 || probability(said).is_some()
}
