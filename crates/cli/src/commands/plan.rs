//! `meltrange plan`: what is expected to a heating programme.

use crate::args::PlanArguments;
use crate::calibration_file::CalibrationFile;
use crate::failure::Failure;
use crate::output::Output;
use crate::table::aligned;
use meltrange_bench::BenchFile;
use meltrange_identity::Library;
use meltrange_metrology::usual_standards;
use meltrange_planning::{
    BenchHeat, CHECK_EDITION, Estimate, Fixed, HeatingAbility, LegEstimate, LegKind,
    MeasuringOrder, Programme, ScoutingOrder, Screening, calibrated_caution, cautions, fit_within,
    learned_cautions, procedure, procedures, screen, screen_hazards,
};
use serde_json::{Value, json};

/// Highest temperature of a bench that nobody described [°C]; ordinary blocks go to 300 to 400 °C.
const ORDINARY_MAX_C: f64 = 350.0;

/// Said while a bench's heating was not learned.
const NOT_LEARNED: &str = "heating and cooling of this bench were not learned: the times of approach and cooling are those of an ordinary block";

/// A scouting run reads high by about this time of its rate [min]: the sample lags behind the block. Common practice, no source.
const SCOUTING_LAG_MIN: f64 = 0.33;

/// Plan and print.
pub(crate) fn run(arguments: &PlanArguments, output: &Output) -> Result<(), Failure> {
    if arguments.procedure.as_deref() == Some("list") {
        return list_procedures(arguments, output);
    }
    let mut said = screened(arguments)?;
    let bench = arguments
        .bench
        .as_deref()
        .map(|path| BenchFile::read(path).map_err(|error| Failure::of(&error)))
        .transpose()?;
    let heat = bench.as_ref().map_or_else(
        || BenchHeat::Ordinary(HeatingAbility::default()),
        BenchFile::heat,
    );
    let max_c = bench.as_ref().map_or(ORDINARY_MAX_C, |bench| bench.max_c);
    let room_c = bench
        .as_ref()
        .map_or(heat.ability().room_c, |bench| bench.room_c);
    let from_c = arguments.from.unwrap_or(room_c);
    let programme = if arguments.scouting {
        let mut order = ScoutingOrder::up_to(from_c, arguments.up_to.unwrap_or(max_c));
        if let Some(rate) = arguments.rate {
            order.rate_c_per_min = rate;
        }
        Programme::scouting(&order, max_c).map_err(|error| Failure::of(&error))?
    } else {
        measuring(arguments, from_c, &heat, max_c, &mut said)?
    };
    let found = heat
        .estimate(&programme, from_c)
        .map_err(|error| Failure::of(&error))?;
    said.extend(cautions(&programme, &heat.ability(), from_c));
    if let Some(path) = &arguments.calibration {
        let calibration = CalibrationFile::read(path)?.calibration;
        let curve = calibration.curve();
        let valid_c = [curve.valid_from_c, curve.valid_to_c];
        said.extend(calibrated_caution(&programme, valid_c));
    }
    match &heat {
        BenchHeat::Learned(learned) => said.extend(learned_cautions(&programme, learned)),
        BenchHeat::Ordinary(_) => said.push(NOT_LEARNED.to_owned()),
    }
    if arguments.json {
        output.json(&as_json(&found, &said))
    } else {
        output.text(&as_text(&found, &said))
    }
}

/// What name and hazards say; refused where it is not to be heated.
fn screened(arguments: &PlanArguments) -> Result<Vec<String>, Failure> {
    let mut said = Vec::new();
    for screening in [
        arguments.substance.as_deref().map(screen),
        arguments.hazards.as_deref().map(screen_hazards),
    ] {
        match screening {
            Some(Screening::Refused { why }) => {
                return Err(Failure::new(format!("this is not planned: {why}")).hint(
                    "local rules and the responsible person decide; this list is not complete",
                ));
            }
            Some(Screening::Flagged { minds }) => {
                said.extend(minds.into_iter().map(|mind| format!("flagged: {mind}")));
            }
            Some(Screening::NotFlagged) => {
                said.push(
                    "not flagged by this list, which does not mean safe; see the safety data sheet"
                        .into(),
                );
            }
            Some(Screening::NoStatement) => said.push(
                "no hazard statement (H or EUH and three digits) was found in what was given; nothing was screened by it"
                    .into(),
            ),
            None => {}
        }
    }
    Ok(said)
}

fn list_procedures(arguments: &PlanArguments, output: &Output) -> Result<(), Failure> {
    if arguments.json {
        return output.json(&json!({"procedures": procedures(), "note": CHECK_EDITION}));
    }
    let mut text = String::new();
    for procedure in procedures() {
        text.push_str(&format!("{}: {}\n", procedure.id, procedure.sentence()));
    }
    output.text(&text)
}

/// The range that is expected [°C], from the arguments, the list of usual reference substances or the library.
fn expected_c(arguments: &PlanArguments, said: &mut Vec<String>) -> Result<[f64; 2], Failure> {
    if let (Some(first_c), Some(last_c)) = (arguments.first_liquid, arguments.last_crystal) {
        return Ok([first_c, last_c]);
    }
    let Some(name) = &arguments.substance else {
        return Err(Failure::new(
            "expected --first-liquid and --last-crystal, --substance, or --scouting",
        ));
    };
    let usual = usual_standards()
        .iter()
        .find(|usual| usual.name.eq_ignore_ascii_case(name.trim()) || usual.cas == name.trim());
    let Some(usual) = usual else {
        return of_library(name, said);
    };
    said.push(format!(
        "{} melts near {} °C: for orientation only, the label of your lot counts; {}",
        usual.name, usual.about_c, usual.cautions
    ));
    Ok([usual.about_c - 1.0, usual.about_c + 1.0])
}

/// The range about the literature values of a substance of the library, with room for how far those are off.
fn of_library(name: &str, said: &mut Vec<String>) -> Result<[f64; 2], Failure> {
    let substance = Library::shipped().named(name).map_err(|error| {
        Failure::of(&error).hint("give --first-liquid and --last-crystal, or scout first")
    })?;
    if let Some(why) = substance.refusal() {
        return Err(
            Failure::new(format!("{} is not planned: {why}", substance.name))
                .hint("local rules and the responsible person decide; this list is not complete"),
        );
    }
    let expected_c = substance.expected_c().ok_or_else(|| {
        Failure::new(format!(
            "the literature values of {} are all doubted; scout first",
            substance.name
        ))
    })?;
    let told: Vec<String> = substance
        .melting_c
        .iter()
        .filter(|value| value.mark.is_none())
        .map(|value| value.value_c.to_string())
        .collect();
    said.push(format!(
        "{} melts at {} °C in literature; of ten such values one is more than 3 °C off, so scout first where the scan would be in vain",
        substance.name,
        told.join(" and ")
    ));
    said.extend(substance.hazards());
    said.extend(substance.remarks.iter().map(|remark| remark.text.clone()));
    Ok(expected_c)
}

fn measuring(
    arguments: &PlanArguments,
    from_c: f64,
    heat: &BenchHeat,
    max_c: f64,
    said: &mut Vec<String>,
) -> Result<Programme, Failure> {
    let [first_c, last_c] = expected_c(arguments, said)?;
    let chosen = arguments
        .procedure
        .as_deref()
        .map(|id| {
            procedure(id).ok_or_else(|| {
                let ids: Vec<&str> = procedures().iter().map(|one| one.id).collect();
                Failure::new(format!(
                    "there is no procedure {id}; expected one of {}",
                    ids.join(", ")
                ))
            })
        })
        .transpose()?;
    let mut order = chosen.map_or_else(
        || MeasuringOrder::around(first_c, last_c),
        |procedure| procedure.around(first_c, last_c),
    );
    if let Some(rate) = arguments.scouted_at {
        order.start_below_c += SCOUTING_LAG_MIN * rate;
        said.push(format!(
            "scouted at {rate} °C/min, which reads high: the scan starts {:.1} °C below",
            order.start_below_c
        ));
    }
    for (asked, field) in [
        (arguments.rate, &mut order.rate_c_per_min),
        (arguments.soak, &mut order.soak_min),
        (arguments.start_below, &mut order.start_below_c),
        (arguments.stop_above, &mut order.stop_above_c),
    ] {
        if let Some(asked) = asked {
            *field = asked;
        }
    }
    order.cool_below_c = order.cool_below_c.max(order.start_below_c);
    if let Some(within_min) = arguments.within {
        let fixed = Fixed {
            rate: arguments.rate.is_some(),
            soak: arguments.soak.is_some(),
            start_below: arguments.start_below.is_some(),
            stop_above: arguments.stop_above.is_some(),
        };
        let fitted = fit_within(order, fixed, from_c, heat, max_c, within_min)
            .map_err(|error| Failure::of(&error))?;
        order = fitted.order;
        let given_up = fitted.given_up.into_iter();
        said.extend(given_up.map(|what| format!("given up for the time there is: {what}")));
    }
    if let Some(procedure) = chosen {
        said.push(procedure.sentence());
        said.extend(procedure.departures(&order));
    }
    Programme::measuring(&order, max_c).map_err(|error| Failure::of(&error))
}

fn as_json(found: &Estimate, said: &[String]) -> Value {
    let curve: Vec<Value> = found
        .curve
        .iter()
        .map(|point| json!({"time_min": point.time_min, "temperature_c": point.temperature_c}))
        .collect();
    json!({
        "legs": found.legs, "estimated_minutes": found.minutes,
        "standard_uncertainty_minutes": found.standard_uncertainty_min,
        "curve": curve, "cautions": said,
    })
}

fn as_text(found: &Estimate, said: &[String]) -> String {
    let mut rows = vec![["leg", "to, °C", "at, °C/min", "minutes"].map(str::to_owned)];
    let shown = |value: Option<f64>| value.map(|value| format!("{value:.1}")).unwrap_or_default();
    for leg in &found.legs {
        rows.push([
            name(leg).to_owned(),
            shown(leg.to_c),
            shown(leg.rate_c_per_min),
            shown(leg.minutes),
        ]);
    }
    let mut text = aligned(&rows);
    text.push_str(&format!(
        "\nabout {:.1} min to the end of the scan (standard uncertainty {:.1} min)\n",
        found.minutes, found.standard_uncertainty_min
    ));
    for caution in said {
        text.push_str(&format!("note: {caution}\n"));
    }
    text
}

fn name(leg: &LegEstimate) -> &'static str {
    match leg.kind {
        LegKind::Approach => "approach",
        LegKind::Soak => "soak",
        LegKind::Attend => "attend",
        LegKind::Scan => "scan",
        LegKind::Cool => "cool",
    }
}
