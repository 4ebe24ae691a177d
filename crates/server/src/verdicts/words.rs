//! A verdict in words, and what speaks against it.

use meltrange_labbook::{Identified, MixedVerdict, PurityMethod, SampleVerdict};

/// What it is proposed to be said as.
pub(super) fn proposed(label: &str, said: &SampleVerdict) -> String {
    let range = &said.range_text;
    let name = said
        .identity
        .substance
        .as_ref()
        .map_or("", |one| one.name.as_str());
    let mut text = match said.identity.says {
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
        let [least, most] = purity.interval_95.map(|end| 100.0 * end);
        text.push_str(&if least > 0.0 {
            format!(" By {way} {least:.2} to {most:.2} mol % is something else (95 %).")
        } else {
            format!(" By {way} at most {most:.2} mol % is something else (97.5 %).")
        });
    }
    if let Some(other) = &said.other_evidence {
        text.push_str(&format!(" Besides: {}", other.trim()));
        if !text.ends_with(['.', '!', '?']) {
            text.push('.');
        }
    }
    text
}

/// What speaks against saying so much.
pub(super) fn doubts(said: &SampleVerdict) -> Vec<String> {
    let Some(substance) = &said.identity.substance else {
        return Vec::new();
    };
    let mut doubts = Vec::new();
    let name = &substance.name;
    let with_it = |verdict| {
        said.mixed_meltings
            .iter()
            .any(|mixed| mixed.reference == *substance && mixed.verdict == verdict)
    };
    let [same, different] = [
        with_it(MixedVerdict::ConsistentWithSame),
        with_it(MixedVerdict::Different),
    ];
    match said.identity.says {
        Identified::Is | Identified::ConsistentWith => {
            if different {
                doubts.push(format!(
                    "a mixed melting with {name} says that it is different"
                ));
            }
            if said.identity.says == Identified::Is && said.other_evidence.is_none() {
                doubts.push(if same {
                    format!("not depressed by {name} is no proof: some pairs form mixed crystals. A second, independent test makes it sure")
                } else {
                    format!("said to be {name} from a melting range alone: a range ranks and excludes, it does not identify")
                });
            }
            doubts.extend(unlikely(said));
        }
        Identified::IsNot => {
            if same {
                doubts.push(format!(
                    "a mixed melting with {name} says that both may well be the same"
                ));
            } else if !different && said.other_evidence.is_none() && unlikely(said).is_none() {
                doubts.push(format!("nothing that was looked at excludes {name}"));
            }
        }
        Identified::Open => {}
    }
    doubts
}

/// Less likely by the range than this is doubted [probability].
const UNLIKELY: f64 = 1e-4;

/// That the range speaks against it.
pub(super) fn unlikely(said: &SampleVerdict) -> Option<String> {
    let candidates = &said.candidates;
    let substance = said.identity.substance.as_ref()?;
    let name = &substance.name;
    if candidates.among == 0 {
        return None;
    }
    let found = candidates
        .likeliest
        .iter()
        .find(|one| one.substance == *substance);
    match found {
        None => Some(format!(
            "{name} was not among the {} substances that were ranked",
            candidates.among
        )),
        Some(one) if one.probability < UNLIKELY => Some(format!(
            "the range speaks against {name}: its probability is below 0.01 % among {} substances",
            candidates.among
        )),
        Some(_) => None,
    }
}
