//! Planning one run away from the bench: nothing is heated, nothing is recorded.

use crate::expected::expected;
use crate::extract::{Body, Looking, Named};
use crate::problem::{Problem, Problems};
use crate::sight::Sight;
use crate::state::AppState;
use crate::wire::{
    ExpectedRange, PlanRequest, PlannedProgramme, PlanningBench, PlanningBenches, ProgrammeRequest,
    leg_times,
};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use meltrange_labbook::SampleId;
use meltrange_planning::{Fixed, MeasuringOrder, Programme, cautions, estimate, fit_within};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// Said while a bench's heating is not known.
const NOT_DESCRIBED: &str = "how this bench heats and cools is not known: the times of approach and cooling are those of an ordinary block";

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(benches))
        .routes(routes!(expected_range))
        .routes(routes!(plan))
}

/// Benches to plan for
///
/// Those that bench files describe, with how they heat and cool, and those that the book only names.
#[utoipa::path(get, path = "/api/programmes/benches", tag = "programmes", responses((status = 200, body = PlanningBenches), Problems))]
async fn benches(State(state): State<AppState>) -> Result<Json<PlanningBenches>, Problem> {
    Ok(Json(PlanningBenches {
        ordinary: PlanningBench::ordinary(String::new(), None, None),
        benches: all_benches(&state).await?,
    }))
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
    let bench = match asked.bench.as_deref().filter(|name| !name.is_empty()) {
        None => PlanningBench::ordinary(String::new(), None, None),
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
    planned(&asked, bench).map(Json)
}

fn planned(asked: &ProgrammeRequest, bench: PlanningBench) -> Result<PlannedProgramme, Problem> {
    let ability = bench.ability();
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
                };
                let found = fit_within(fits, fixed, from_c, &ability, bench.max_c, within_min)
                    .map_err(|error| cannot(&error))?;
                (fits, given_up) = (found.order, found.given_up);
            }
            order = Some(fits);
            Programme::measuring(&fits, bench.max_c)
        }
        other => other.programme(from_c, bench.max_c),
    }
    .map_err(|error| cannot(&error))?;
    let found = estimate(&programme, from_c, &ability);
    let mut said = cautions(&programme, &ability, from_c);
    if let (None, Some(within_min)) = (order, asked.within_min)
        && found.minutes > within_min
    {
        said.push(format!(
            "it takes {:.1} min, and there are {within_min} min",
            found.minutes
        ));
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

/// Every bench of the book: those that files describe, then those that are only named.
async fn all_benches(state: &AppState) -> Result<Vec<PlanningBench>, Problem> {
    let mut benches: Vec<PlanningBench> = state
        .live()
        .files()
        .into_iter()
        .filter_map(|found| found.file.ok())
        .map(|file| PlanningBench::of_file(&file, indicated_c(state, &file.name)))
        .collect();
    for row in state.book().store().benches().await? {
        if !benches.iter().any(|bench| bench.name == row.bench.name) {
            benches.push(PlanningBench::ordinary(
                row.bench.name,
                Some(u32::from(row.bench.places)),
                row.bench.max_c,
            ));
        }
    }
    benches.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(benches)
}

async fn named(state: &AppState, name: &str) -> Result<PlanningBench, Problem> {
    let known = all_benches(state).await?;
    known
        .into_iter()
        .find(|bench| bench.name == name)
        .ok_or_else(|| {
            let shown: String = name.chars().take(60).collect();
            Problem::field("bench", format!("\"{shown}\""), "a bench of this book")
        })
}

fn indicated_c(state: &AppState, bench: &str) -> Option<f64> {
    let live = state.live().get(bench)?;
    let view = live.bench.view();
    let now_c = view.borrow().temperature_c;
    now_c
}

/// What cannot be planned, with the planner's words.
pub(super) fn cannot(error: &dyn std::error::Error) -> Problem {
    Problem::new(
        StatusCode::UNPROCESSABLE_ENTITY,
        "plan",
        "This cannot be planned",
        crate::problem::in_full(error),
    )
}
