//! `meltrange plan`: what is expected to a heating programme.

use crate::args::PlanArguments;
use crate::failure::Failure;
use crate::output::Output;
use crate::table::aligned;
use meltrange_bench::BenchFile;
use meltrange_planning::{
    Estimate, Fixed, HeatingAbility, LegEstimate, LegKind, MeasuringOrder, Programme,
    ScoutingOrder, cautions, estimate, fit_within,
};
use serde_json::{Value, json};

/// Highest temperature of a bench that nobody described [°C]; ordinary blocks go to 300 to 400 °C.
const ORDINARY_MAX_C: f64 = 350.0;

/// Said while a bench's heating was not learned.
const NOT_LEARNED: &str = "heating and cooling of this bench were not learned: the times of approach and cooling are those of an ordinary block";

/// Plan and print.
pub(crate) fn run(arguments: &PlanArguments, output: &Output) -> Result<(), Failure> {
    let bench = arguments
        .bench
        .as_deref()
        .map(|path| BenchFile::read(path).map_err(|error| Failure::of(&error)))
        .transpose()?;
    let ability = bench
        .as_ref()
        .map_or_else(HeatingAbility::default, BenchFile::ability);
    let max_c = bench.as_ref().map_or(ORDINARY_MAX_C, |bench| bench.max_c);
    let from_c = arguments.from.unwrap_or(ability.room_c);
    let (programme, given_up) = if arguments.scouting {
        let mut order = ScoutingOrder::up_to(from_c, arguments.up_to.unwrap_or(max_c));
        if let Some(rate) = arguments.rate {
            order.rate_c_per_min = rate;
        }
        let programme = Programme::scouting(&order, max_c).map_err(|error| Failure::of(&error))?;
        (programme, Vec::new())
    } else {
        measuring(arguments, from_c, &ability, max_c)?
    };
    let found = estimate(&programme, from_c, &ability);
    let mut said = cautions(&programme, &ability, from_c);
    said.extend(
        given_up
            .iter()
            .map(|what| format!("given up for the time there is: {what}")),
    );
    said.push(NOT_LEARNED.to_owned());
    if arguments.json {
        output.json(&as_json(&found, &said))
    } else {
        output.text(&as_text(&found, &said))
    }
}

fn measuring(
    arguments: &PlanArguments,
    from_c: f64,
    ability: &HeatingAbility,
    max_c: f64,
) -> Result<(Programme, Vec<String>), Failure> {
    // Both are there: clap asks for them without --scouting.
    let (Some(first_c), Some(last_c)) = (arguments.first_liquid, arguments.last_crystal) else {
        return Err(Failure::new(
            "expected --first-liquid and --last-crystal, or --scouting",
        ));
    };
    let mut order = MeasuringOrder::around(first_c, last_c);
    if let Some(rate) = arguments.rate {
        order.rate_c_per_min = rate;
    }
    if let Some(soak) = arguments.soak {
        order.soak_min = soak;
    }
    let mut given_up = Vec::new();
    if let Some(within_min) = arguments.within {
        let fixed = Fixed {
            rate: arguments.rate.is_some(),
            soak: arguments.soak.is_some(),
        };
        let fitted = fit_within(order, fixed, from_c, ability, max_c, within_min)
            .map_err(|error| Failure::of(&error))?;
        (order, given_up) = (fitted.order, fitted.given_up);
    }
    let programme = Programme::measuring(&order, max_c).map_err(|error| Failure::of(&error))?;
    Ok((programme, given_up))
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
