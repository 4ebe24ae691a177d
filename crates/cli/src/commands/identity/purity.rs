//! `meltrange purity`: how much is not the main substance.

use super::unknown;
use crate::args::PurityArguments;
use crate::columns::Columns;
use crate::failure::Failure;
use crate::output::Output;
use meltrange_identity::{
    Enthalpy, Library, MainSubstance, MeltPoint, Purity, PurityError, SeenAt, from_clear_point,
    from_curve, from_width,
};
use serde_json::json;
use std::path::Path;

/// Standard uncertainty of a difference of two temperatures where none is given [°C].
const USUAL_C: f64 = 0.3;

/// Work out and print.
pub(crate) fn run(arguments: &PurityArguments, output: &Output) -> Result<(), Failure> {
    let (main, mut said) = main_substance(arguments)?;
    let failed = |error: PurityError| {
        Failure::of(&error).hint("the reading stands; only no purity is told from it")
    };
    let (mut purity, by_width) = match (&arguments.curve, arguments.last_crystal) {
        (Some(path), _) => {
            let found = from_curve(&main, &curve(path)?);
            let place = |error: PurityError| Failure::new(format!("{}: {error}", path.display()));
            (found.map_err(place)?, None)
        }
        (None, Some(last_c)) => {
            let uncertainty_c = arguments.uncertainty.unwrap_or(USUAL_C);
            if arguments.uncertainty.is_none() {
                said.push(format!("no uncertainty was given: {USUAL_C} °C is taken"));
            }
            let width = arguments.first_liquid.map(|first_c| {
                let seen_at = match arguments.seen_at.as_deref() {
                    Some(&[least, most]) => SeenAt { least, most },
                    _ => SeenAt::default(),
                };
                from_width(
                    &main,
                    [first_c, last_c],
                    uncertainty_c,
                    arguments.pure_width,
                    seen_at,
                )
            });
            match (arguments.pure, width) {
                (Some(pure_c), width) => {
                    let found = from_clear_point(&main, last_c, pure_c, uncertainty_c);
                    let by_width = width.transpose();
                    if let Err(error) = &by_width {
                        said.push(format!("by the width of the range: {error}"));
                    }
                    (found.map_err(failed)?, by_width.ok().flatten())
                }
                (None, Some(width)) => (width.map_err(failed)?, None),
                (None, None) => {
                    return Err(Failure::new(
                        "neither --pure nor --first-liquid is given; expected one of them beside --last-crystal",
                    ));
                }
            }
        }
        (None, None) => {
            return Err(Failure::new(
                "nothing to work with; expected --curve or --last-crystal",
            ));
        }
    };
    purity.cautions.splice(0..0, said);
    if arguments.json {
        let mut document = json!(purity);
        if let Some(width) = &by_width {
            document["by_width"] = json!(width);
        }
        return output.json(&document);
    }
    let mut text = as_text(&purity);
    if let Some(width) = &by_width {
        text.push_str(&format!("\nby the width of the range: {}", line(width)));
    }
    for caution in &purity.cautions {
        text.push_str(&format!("note: {caution}\n"));
    }
    output.text(&text)
}

fn main_substance(arguments: &PurityArguments) -> Result<(MainSubstance, Vec<String>), Failure> {
    if let Some(value) = arguments.hfus {
        let mut main = MainSubstance::with(&Enthalpy::given(value, "given"), arguments.molar_mass);
        if let Some(uncertainty) = arguments.hfus_uncertainty {
            main.hfus_j_per_mol[1] = uncertainty;
        }
        return Ok((main, Vec::new()));
    }
    let name = arguments.substance.as_deref().unwrap_or_default();
    let substance = Library::shipped()
        .named(name)
        .map_err(|error| unknown(&error))?;
    let melting_c = arguments
        .pure
        .or(arguments.last_crystal)
        .or_else(|| substance.likely_c())
        .ok_or_else(|| {
            Failure::new(format!(
                "no melting temperature of {} is known",
                substance.name
            ))
        })?;
    let enthalpy = substance.enthalpy(melting_c);
    let main = MainSubstance::with(&enthalpy, substance.molar_mass_g_per_mol);
    let said = format!(
        "{}: enthalpy of fusion {:.2} kJ/mol, {}",
        substance.name,
        enthalpy.value / 1000.0,
        enthalpy.source
    );
    Ok((main, vec![said]))
}

fn curve(path: &Path) -> Result<Vec<MeltPoint>, Failure> {
    let table = Columns::read(path, &["temperature_c", "fraction_melted"])?;
    table
        .rows()
        .map(|row| {
            Ok(MeltPoint {
                temperature_c: row.number("temperature_c")?,
                fraction_melted: row.number("fraction_melted")?,
            })
        })
        .collect()
}

fn line(purity: &Purity) -> String {
    let [low, high] = purity.interval_95.map(|end| 100.0 * end);
    format!(
        "{:.2} mol % is not the main substance (95 %: {low:.2} to {high:.2})\n",
        100.0 * purity.impurity_mole_fraction
    )
}

fn as_text(purity: &Purity) -> String {
    let mut text = line(purity);
    text.push_str(&format!(
        "pure, it melts at {:.2} °C\n",
        purity.pure_melting_c
    ));
    if let (Some(from), Some(to)) = (purity.usable_from_fraction, purity.usable_to_fraction) {
        text.push_str(&format!(
            "from {:.0} to {:.0} % melted; linearising correction {:.1} %\n",
            100.0 * from,
            100.0 * to,
            100.0 * purity.linearising_correction
        ));
    }
    if let Some(molality) = purity.impurity_mol_per_kg {
        text.push_str(&format!("{molality:.3} mol of it for a kilogram\n"));
    }
    text
}
