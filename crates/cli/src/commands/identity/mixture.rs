//! `meltrange mixture`: how two solids melt together. `meltrange mixed-melting`: what three tubes say.

use super::unknown;
use crate::args::{MixedMeltingArguments, MixtureArguments};
use crate::columns::Columns;
use crate::failure::Failure;
use crate::output::Output;
use meltrange_identity::{
    Enthalpy, Library, MeltingSolid, Pair, PairPoint, ThreeTubes, ToldMixture, estimated_enthalpy,
};
use meltrange_physics::MeltingError;
use std::path::Path;

/// What describes a substance by numbers.
const KEYS: &str = "melting_c=..,hfus_j_per_mol=..,molar_mass_g_per_mol=..";

/// Draw and print.
pub(crate) fn run(arguments: &MixtureArguments, output: &Output) -> Result<(), Failure> {
    let library = Library::shipped();
    let (a, b) = (solid(library, &arguments.a)?, solid(library, &arguments.b)?);
    let failed = |error: MeltingError| Failure::of(&error);
    let mut pair = Pair::new(a, b, library).map_err(|error| Failure::of(&error))?;
    let mut fitted = None;
    if let Some(path) = &arguments.data {
        let points = points(path)?;
        let (fitting, told) = pair
            .fitted(&points)
            .map_err(|error| Failure::new(format!("{}: {error}", path.display())))?;
        pair = fitting;
        fitted = Some(told);
    }
    let fraction = match (arguments.fraction_b, arguments.mass_fraction_b) {
        (Some(fraction), _) => Some(fraction),
        (None, Some(mass_fraction)) => Some(
            pair.mole_fraction_b(mass_fraction)
                .map_err(failed)?
                .ok_or_else(|| {
                    Failure::new("a molar mass is not known; expected molar_mass_g_per_mol=.. for both, or --fraction-b")
                })?,
        ),
        (None, None) => None,
    };
    let points = usize::from(arguments.points);
    let told = ToldMixture::new(&pair, fitted, fraction, arguments.visible_fraction, points)
        .map_err(failed)?;
    if arguments.json {
        output.json(&told)
    } else {
        output.text(&as_text(&told))
    }
}

/// A substance by name, CAS number or numbers.
fn solid(library: &Library, text: &str) -> Result<MeltingSolid, Failure> {
    if !text.contains("melting_c=") {
        let substance = library.named(text).map_err(|error| unknown(&error))?;
        let melting_c = substance.likely_c().ok_or_else(|| {
            Failure::new(format!(
                "no melting temperature of {} is known",
                substance.name
            ))
        })?;
        return Ok(MeltingSolid::of(substance, melting_c));
    }
    let wrong = |found: &str| Failure::new(format!("\"{found}\" in \"{text}\"; expected {KEYS}"));
    let (mut melting_c, mut hfus, mut molar_mass) = (None, None, None);
    let mut name = String::new();
    for part in text.split(',') {
        let (key, value) = part.split_once('=').ok_or_else(|| wrong(part))?;
        let number = || {
            value
                .trim()
                .parse::<f64>()
                .ok()
                .filter(|value| value.is_finite())
        };
        match key.trim() {
            "name" => value.trim().clone_into(&mut name),
            "melting_c" => melting_c = Some(number().ok_or_else(|| wrong(part))?),
            "hfus_j_per_mol" => {
                hfus = Some(
                    number()
                        .filter(|value| *value > 0.0)
                        .ok_or_else(|| wrong(part))?,
                )
            }
            "molar_mass_g_per_mol" => {
                molar_mass = Some(
                    number()
                        .filter(|value| *value > 0.0)
                        .ok_or_else(|| wrong(part))?,
                );
            }
            _ => return Err(wrong(part)),
        }
    }
    let melting_c = melting_c
        .filter(|at| (-200.0..=1000.0).contains(at))
        .ok_or_else(|| wrong(text))?;
    Ok(MeltingSolid {
        name: if name.is_empty() {
            text.to_owned()
        } else {
            name
        },
        cas: String::new(),
        melting_c,
        hfus_j_per_mol: hfus.map_or_else(
            || estimated_enthalpy(melting_c),
            |value| Enthalpy::given(value, "given"),
        ),
        molar_mass_g_per_mol: molar_mass,
    })
}

fn points(path: &Path) -> Result<Vec<PairPoint>, Failure> {
    let table = Columns::read(path, &["mole_fraction_b"])?;
    table
        .rows()
        .map(|row| {
            let mole_fraction_b = row.number("mole_fraction_b")?;
            if !(0.0..=1.0).contains(&mole_fraction_b) {
                return Err(row.refuse("mole_fraction_b", "0 to 1"));
            }
            let temperature = |column: &str| {
                let value = row.optional_number(column)?;
                match value {
                    Some(at) if !(-200.0..=1000.0).contains(&at) => {
                        Err(row.refuse(column, "degrees Celsius"))
                    }
                    other => Ok(other),
                }
            };
            let point = PairPoint {
                mole_fraction_b,
                liquidus_c: temperature("liquidus_c")?,
                solidus_c: temperature("solidus_c")?,
            };
            if point.liquidus_c.is_none() && point.solidus_c.is_none() {
                return Err(row.refuse("liquidus_c", "a temperature here or in solidus_c"));
            }
            Ok(point)
        })
        .collect()
}

fn as_text(told: &ToldMixture) -> String {
    let mut text = String::new();
    for (side, solid) in [("a", &told.a), ("b", &told.b)] {
        let enthalpy = &solid.hfus_j_per_mol;
        text.push_str(&format!(
            "{side}: {}, melts at {:.1} °C, {:.1} kJ/mol ({})\n",
            solid.name,
            solid.melting_c,
            enthalpy.value / 1000.0,
            enthalpy.source,
        ));
    }
    text.push_str(&format!(
        "\neutectic at {:.1} °C with {:.3} of b by mole; {}\n",
        told.eutectic.temperature_c,
        told.eutectic.mole_fraction_b,
        if told.fit.is_some() {
            "liquid with one fitted parameter"
        } else {
            "ideal liquid"
        },
    ));
    if let Some(fit) = &told.fit {
        text.push_str(&format!(
            "interaction {:.0} J/mol (standard uncertainty {:.0}), {:.2} °C left over, {:.2} °C without it\n",
            fit.interaction_j_per_mol, fit.standard_uncertainty, fit.left_c, fit.left_ideal_c,
        ));
    }
    for (at, words) in [
        (told.at, "this mixture"),
        (Some(told.equal_masses), "equal masses"),
    ] {
        if let Some(at) = at {
            text.push_str(&format!(
                "{words}, {:.3} of b by mole: first liquid {:.1} °C, last crystal {:.1} °C; {:.0} % is liquid at the eutectic\n",
                at.mole_fraction_b,
                at.first_liquid_c,
                at.last_crystal_c,
                100.0 * at.liquid_at_eutectic,
            ));
        }
    }
    text.push_str(&format!(
        "first liquid is taken as seen when {:.0} % is molten\n",
        100.0 * told.visible_fraction
    ));
    for caution in &told.cautions {
        text.push_str(&format!("note: {caution}\n"));
    }
    text
}

/// Judge three tubes and print.
pub(crate) fn judge(arguments: &MixedMeltingArguments, output: &Output) -> Result<(), Failure> {
    // The argument parser has counted them.
    let range = |given: &[f64]| [given[0], given[1]];
    let tubes = ThreeTubes {
        sample_c: range(&arguments.sample),
        reference_c: range(&arguments.reference),
        mixture_c: range(&arguments.mixture),
        standard_uncertainty_c: arguments.uncertainty,
    };
    let judged = tubes.judge().map_err(|error| Failure::of(&error))?;
    if arguments.json {
        output.json(&judged)
    } else {
        output.text(&format!("{}\n", judged.words))
    }
}
