//! `meltrange library`: what is known of substances.

use super::own_list;
use crate::args::{LibraryArguments, LibraryCommand, LibraryShownArguments};
use crate::failure::Failure;
use crate::output::Output;
use meltrange_identity::{Library, Substance, ToldSubstance};
use serde_json::json;
use std::borrow::Cow;

/// So many of one answer.
const MOST: usize = 10_000;

/// Look up and print.
pub(crate) fn run(arguments: &LibraryArguments, output: &Output) -> Result<(), Failure> {
    match &arguments.command {
        LibraryCommand::Find(find) => {
            let library = with_own(&find.shown)?;
            show(
                &library.find(&find.text, most(&find.shown)),
                &find.shown,
                output,
            )
        }
        LibraryCommand::Near(near) => {
            if near.within < 0.0 {
                return Err(Failure::new(format!(
                    "--within is {}; expected 0 °C or more",
                    near.within
                )));
            }
            let library = with_own(&near.shown)?;
            let mut found = library.near(near.at, near.within);
            found.truncate(most(&near.shown));
            show(&found, &near.shown, output)
        }
    }
}

fn most(shown: &LibraryShownArguments) -> usize {
    shown.top.min(MOST)
}

fn with_own(shown: &LibraryShownArguments) -> Result<Cow<'static, Library>, Failure> {
    let library = Library::shipped();
    Ok(match &shown.own {
        Some(path) => Cow::Owned(library.with_own(&own_list(path)?)),
        None => Cow::Borrowed(library),
    })
}

fn show(
    found: &[&Substance],
    shown: &LibraryShownArguments,
    output: &Output,
) -> Result<(), Failure> {
    let told: Vec<ToldSubstance> = found.iter().map(|one| ToldSubstance::from(*one)).collect();
    if shown.json {
        return output.json(&json!({ "substances": told }));
    }
    if told.is_empty() {
        return output
            .text("nothing found; try a part of the name, the CAS number or the formula\n");
    }
    let text: Vec<String> = told.iter().map(one).collect();
    output.text(&text.join("\n"))
}

fn one(told: &ToldSubstance) -> String {
    let mass = told
        .molar_mass_g_per_mol
        .map_or(String::new(), |mass| format!("  {mass:.2} g/mol"));
    let mut text = format!("{}  {}  {}{mass}\n", told.name, told.cas, told.formula);
    if !told.synonyms.is_empty() {
        text.push_str(&format!("  also: {}\n", told.synonyms.join("; ")));
    }
    for value in &told.melting_c {
        let mark = match value.mark {
            Some(mark) => format!(", doubted: {}", format!("{mark:?}").to_lowercase()),
            None => String::new(),
        };
        text.push_str(&format!(
            "  melts: {} °C, {}{mark}\n",
            value.value_c, value.source
        ));
    }
    match (&told.hfus_j_per_mol, &told.hfus_estimate_j_per_mol) {
        (Some(known), _) => {
            text.push_str(&format!(
                "  enthalpy of fusion: {:.2} kJ/mol, {}\n",
                known.value / 1000.0,
                known.source
            ));
        }
        (None, Some(estimate)) => {
            text.push_str(&format!(
                "  enthalpy of fusion: not known here; {:.0} kJ/mol {}\n",
                estimate.value / 1000.0,
                estimate.source
            ));
        }
        (None, None) => {}
    }
    for hazard in &told.hazards {
        text.push_str(&format!("  mind: {hazard}\n"));
    }
    for remark in &told.remarks {
        text.push_str(&format!("  note: {remark}\n"));
    }
    text
}
