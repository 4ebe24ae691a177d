//! Planning one run away from the bench: nothing is heated, nothing is recorded.

use crate::expected::expected;
use crate::extract::{Body, Looking, Named};
use crate::problem::{Problem, Problems};
use crate::sight::Sight;
use crate::state::AppState;
use crate::wire::{
    ExpectedRange, PlanRequest, PlannedProgramme, PlanningBench, PlanningBenches, ProcedureShown,
    Procedures, ProgrammeRequest, leg_times,
};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use meltrange_labbook::{SampleId, When};
use meltrange_planning::{
    BenchHeat, CHECK_EDITION, Fixed, HeatingAbility, MeasuringOrder, Programme, calibrated_caution,
    cautions, fit_within, learned_cautions, procedure, procedures,
};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// Said while a bench's heating is not known.
const NOT_DESCRIBED: &str = "how this bench heats and cools is not known: the times of approach and cooling are those of an ordinary block";

/// A bench with how it heats and cools.
#[derive(Debug)]
struct Apparatus {
    bench: PlanningBench,
    heat: BenchHeat,
    /// Where the calibration of its thermometer holds [°C], where one is in force today.
    calibrated_c: Option<[f64; 2]>,
}

impl Apparatus {
    /// Nothing is known of it but, perhaps, its limits.
    fn ordinary(name: String, places: Option<u32>, max_c: Option<f64>) -> Self {
        Self {
            bench: PlanningBench::ordinary(name, places, max_c),
            heat: BenchHeat::Ordinary(HeatingAbility::default()),
            calibrated_c: None,
        }
    }
}

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(benches))
        .routes(routes!(expected_range))
        .routes(routes!(published))
        .routes(routes!(plan))
}

/// Benches to plan for
///
/// Those that bench files describe, with how they heat and cool, and those that the book only names.
#[utoipa::path(get, path = "/api/programmes/benches", tag = "programmes", responses((status = 200, body = PlanningBenches), Problems))]
async fn benches(State(state): State<AppState>) -> Result<Json<PlanningBenches>, Problem> {
    Ok(Json(PlanningBenches {
        ordinary: PlanningBench::ordinary(String::new(), None, None),
        benches: all_benches(&state)
            .await?
            .into_iter()
            .map(|one| one.bench)
            .collect(),
    }))
}

/// Published procedures
///
/// Numbers to start from; whoever works to a standard looks into their own copy.
#[utoipa::path(get, path = "/api/programmes/procedures", tag = "programmes", responses((status = 200, body = Procedures), Problems))]
async fn published() -> Json<Procedures> {
    Json(Procedures {
        procedures: procedures()
            .iter()
            .map(|procedure| ProcedureShown {
                procedure: *procedure,
                sentence: procedure.sentence(),
            })
            .collect(),
        note: CHECK_EDITION,
    })
}

/// Where a sample is expected to melt
///
/// From its latest result, else from its latest run; null while opinions are kept back from this person.
#[utoipa::path(get, path = "/api/programmes/expected/{sample}", tag = "programmes", security((), ("person" = [])), params(("sample" = String, Path, format = "uuid")), responses((status = 200, body = ExpectedRange), Problems))]
async fn expected_range(
    State(state): State<AppState>,
    looking: Looking,
    Named(sample): Named<SampleId>,
) -> Result<Json<ExpectedRange>, Problem> {
    let sight = Sight::of(looking, None);
    Ok(Json(expected(&state, sight, sample).await?))
}

/// A programme with its curve and time
///
/// For any bench, at work or not; computed, not kept.
#[utoipa::path(post, path = "/api/programmes/plan", tag = "programmes", request_body = ProgrammeRequest, responses((status = 200, body = PlannedProgramme), Problems))]
async fn plan(
    State(state): State<AppState>,
    Body(asked): Body<ProgrammeRequest>,
) -> Result<Json<PlannedProgramme>, Problem> {
    let apparatus = match asked.bench.as_deref().filter(|name| !name.is_empty()) {
        None => Apparatus::ordinary(String::new(), None, None),
        Some(name) => named(&state, name).await?,
    };
    let within = |field, found: Option<f64>, least: f64, most: f64, expected| match found {
        Some(found) if !(least..=most).contains(&found) => {
            Err(Problem::field(field, found.to_string(), expected))
        }
        _ => Ok(()),
    };
    within("from_c", asked.from_c, -50.0, 1000.0, "-50 to 1000 °C")?;
    within("within_min", asked.within_min, 0.0, 1e5, "0 to 100000 min")?;
    planned(&asked, apparatus).map(Json)
}

fn planned(asked: &ProgrammeRequest, apparatus: Apparatus) -> Result<PlannedProgramme, Problem> {
    let Apparatus {
        bench,
        heat,
        calibrated_c,
    } = apparatus;
    let from_c = asked.from_c.unwrap_or(bench.room_c);
    let mut given_up = Vec::new();
    let mut order: Option<MeasuringOrder> = None;
    let programme = match &asked.plan {
        PlanRequest::Measuring(wanted) => {
            let mut fits = *wanted;
            if let Some(within_min) = asked.within_min {
                let fixed = Fixed {
                    rate: asked.keep_rate,
                    soak: asked.keep_soak,
                    start_below: asked.keep_start_below,
                    stop_above: asked.keep_stop_above,
                };
                let found = fit_within(fits, fixed, from_c, &heat, bench.max_c, within_min)
                    .map_err(|error| cannot(&error))?;
                (fits, given_up) = (found.order, found.given_up);
            }
            order = Some(fits);
            Programme::measuring(&fits, bench.max_c)
        }
        other => other.programme(from_c, bench.max_c),
    }
    .map_err(|error| cannot(&error))?;
    let found = heat
        .estimate(&programme, from_c)
        .map_err(|error| cannot(&error))?;
    let mut said = heat_cautions(&programme, &heat, from_c);
    said.extend(calibrated_c.and_then(|valid_c| calibrated_caution(&programme, valid_c)));
    if let (None, Some(within_min)) = (order, asked.within_min)
        && found.minutes > within_min
    {
        said.push(format!(
            "it takes {:.1} min, and there are {within_min} min",
            found.minutes
        ));
    }
    if let (Some(id), Some(order)) = (asked.procedure.as_deref(), &order) {
        let procedure = procedure(id).ok_or_else(|| {
            let ids: Vec<&str> = procedures().iter().map(|one| one.id).collect();
            let shown: String = id.chars().take(40).collect();
            let expected = format!("one of {}", ids.join(", "));
            Problem::field("procedure", format!("\"{shown}\""), expected)
        })?;
        said.extend(procedure.departures(order));
    }
    if !bench.described {
        said.push(NOT_DESCRIBED.into());
    }
    Ok(PlannedProgramme {
        legs: leg_times(&programme, &found),
        minutes: found.minutes,
        standard_uncertainty_min: found.standard_uncertainty_min,
        curve: found.curve,
        cautions: said,
        given_up,
        from_c,
        bench,
        order,
        programme,
    })
}

/// What to think of before a programme is run on a bench that heats so.
pub(super) fn heat_cautions(programme: &Programme, heat: &BenchHeat, from_c: f64) -> Vec<String> {
    let mut said = cautions(programme, &heat.ability(), from_c);
    if let BenchHeat::Learned(learned) = heat {
        said.extend(learned_cautions(programme, learned));
    }
    said
}

/// Every bench of the book: those that files describe, then those that are only named.
async fn all_benches(state: &AppState) -> Result<Vec<Apparatus>, Problem> {
    let mut benches: Vec<Apparatus> = state
        .live()
        .files()
        .into_iter()
        .filter_map(|found| found.file.ok())
        .map(|file| Apparatus {
            bench: PlanningBench::of_file(&file, indicated_c(state, &file.name)),
            heat: file.heat(),
            calibrated_c: None,
        })
        .collect();
    for row in state.book().store().benches().await? {
        if !benches.iter().any(|one| one.bench.name == row.bench.name) {
            benches.push(Apparatus::ordinary(
                row.bench.name,
                Some(u32::from(row.bench.places)),
                row.bench.max_c,
            ));
        }
    }
    benches.sort_by(|a, b| a.bench.name.cmp(&b.bench.name));
    Ok(benches)
}

async fn named(state: &AppState, name: &str) -> Result<Apparatus, Problem> {
    let known = all_benches(state).await?;
    let found = known.into_iter().find(|one| one.bench.name == name);
    let mut found = found.ok_or_else(|| {
        let shown: String = name.chars().take(60).collect();
        Problem::field("bench", format!("\"{shown}\""), "a bench of this book")
    })?;
    let all = state.book().store().thermometers().await?;
    found.calibrated_c = all
        .benches
        .iter()
        .find(|history| history.row.bench.name == name)
        .and_then(|history| {
            let thermometer = history.row.bench.thermometer.as_deref();
            let row = all.in_force(history.row.id, When::now().date(), thermometer)?;
            let curve = &row.calibration.curve;
            Some([curve.valid_from_c, curve.valid_to_c])
        });
    Ok(found)
}

fn indicated_c(state: &AppState, bench: &str) -> Option<f64> {
    let live = state.live().get(bench)?;
    let view = live.bench.view();
    view.borrow().temperature_c
}

/// What cannot be planned, with the planner's words.
pub(crate) fn cannot(error: &dyn std::error::Error) -> Problem {
    Problem::new(
        StatusCode::UNPROCESSABLE_ENTITY,
        "plan",
        "This cannot be planned",
        crate::problem::in_full(error),
    )
}
