//! `meltrange identify`: a melting range to candidates.

use super::{own_list, unknown};
use crate::args::{ConventionArgument, IdentifyArguments};
use crate::failure::Failure;
use crate::output::Output;
use crate::table::aligned;
use meltrange_identity::{Convention, Library, MeltingRange, Substance, ToldCandidates, identify};
use std::borrow::Cow;
use std::path::Path;

/// So many are printed for a person.
const SHOWN: usize = 10;
/// So many are explained.
const EXPLAINED: usize = 50;

/// Rank and print.
pub(crate) fn run(arguments: &IdentifyArguments, output: &Output) -> Result<(), Failure> {
    let range = MeltingRange {
        first_liquid_c: arguments.first_liquid,
        last_crystal_c: arguments.last_crystal,
        standard_uncertainty_c: arguments.uncertainty,
        convention: match arguments.convention {
            None => Convention::Unstated,
            Some(ConventionArgument::AtRate) => Convention::AtRate,
            Some(ConventionArgument::Thermodynamic) => Convention::Thermodynamic,
        },
    };
    let shipped = Library::shipped();
    let (library, listed) = match &arguments.candidates {
        None => (Cow::Borrowed(shipped), None),
        Some(path) => {
            let own = own_list(path)?;
            let library = shipped.with_own(&own);
            let listed = listed(&library, path, &own)?;
            (Cow::Owned(library), Some(listed))
        }
    };
    let candidates: Vec<&Substance> = match &listed {
        None => library.substances().iter().collect(),
        Some(names) => names
            .iter()
            .filter_map(|name| library.named(name).ok())
            .collect(),
    };
    let mut found = identify(&library, candidates, &range, Some(arguments.unlisted))
        .map_err(|error| Failure::of(&error))?;
    let top = if arguments.json {
        arguments.top
    } else {
        Some(arguments.top.unwrap_or(SHOWN))
    };
    found.explain(&range, top.unwrap_or(EXPLAINED).min(EXPLAINED));
    let told = ToldCandidates::new(&found, top);
    if arguments.json {
        output.json(&told)
    } else {
        output.text(&as_text(&told))
    }
}

/// What the list names, each of which must melt somewhere.
fn listed(
    library: &Library,
    path: &Path,
    own: &[meltrange_identity::OwnSubstance],
) -> Result<Vec<String>, Failure> {
    let mut names: Vec<String> = Vec::new();
    for one in own {
        let name = one.cas.clone().unwrap_or_else(|| one.name.clone());
        let place = format!("{}, line {}", path.display(), one.line);
        let substance = library.named(&name).map_err(|error| unknown(&error))?;
        if substance.melting_c.is_empty() {
            // It is in the list only: the library as it is shipped says what is near.
            let near = Library::shipped().named(&name).err();
            let near = near.map_or_else(
                || format!("\"{name}\" has no melting temperature"),
                |error| error.to_string(),
            );
            return Err(Failure::new(format!("{place}: {near}"))
                .hint("give its melting temperature in a column melting_c, or its CAS number"));
        }
        let known = names.iter().any(|other| {
            library
                .named(other)
                .is_ok_and(|other| std::ptr::eq(other, substance))
        });
        if known {
            return Err(Failure::new(format!(
                "{place}: {name} stands in the list twice; expected each substance once"
            )));
        }
        names.push(name);
    }
    Ok(names)
}

fn as_text(told: &ToldCandidates) -> String {
    let mut rows = vec![["probability", "name", "CAS", "formula", "why"].map(str::to_owned)];
    for one in &told.candidates {
        rows.push([
            percent(one.probability),
            one.name.clone(),
            one.cas.clone(),
            one.formula.clone(),
            one.because.clone(),
        ]);
    }
    let mut text = aligned(&rows);
    text.push_str(&format!(
        "\nothers {}, none of the {} compared {}; {} of them hold 95 % of what is listed\n",
        percent(told.rest_probability),
        told.library_size,
        percent(told.unlisted_probability),
        told.credible_95.len(),
    ));
    for one in &told.candidates {
        for hazard in &one.hazards {
            text.push_str(&format!("mind, if it is {}: {hazard}\n", one.name));
        }
    }
    if told.next_tests.is_empty() {
        text.push_str("\nno mixed melting would tell much more\n");
    } else {
        text.push_str("\nwhat would tell most next, ground 1:1 with the reference:\n");
        let mut rows = vec![
            [
                "reference",
                "tells, bit",
                "if the same, °C",
                "if different, about °C",
            ]
            .map(str::to_owned),
        ];
        for test in &told.next_tests {
            let range = |[from, to]: [f64; 2]| format!("{from:.1}–{to:.1}");
            rows.push([
                test.with.clone(),
                format!("{:.2}", test.expected_information_bits),
                range(test.if_same_c),
                range(test.if_different_c),
            ]);
        }
        text.push_str(&aligned(&rows));
    }
    for caution in &told.cautions {
        text.push_str(&format!("\nnote: {caution}"));
    }
    text.push('\n');
    text
}

fn percent(probability: f64) -> String {
    match 100.0 * probability {
        none if none <= 0.0 => "0 %".to_owned(),
        small if small < 0.05 => "< 0.1 %".to_owned(),
        some => format!("{some:.1} %"),
    }
}
