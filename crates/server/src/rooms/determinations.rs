//! Results: tried, then stated.

use crate::determining::{
    Asked, Corrections, Ranged, WorkedOut, as_recorded, heating_rate, run_corrections, work_out,
};
use crate::extract::{Acting, Body, Looking, Named, Somebody};
use crate::problem::{Problem, Problems};
use crate::sample_view::{Known, counting, keeps_back, ranged};
use crate::sight::Sight;
use crate::state::AppState;
use crate::thermometers::Standings;
use crate::wire::{Determination, DeterminationTried, DetermineRequest, RunOfResult, TubeRef};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use meltrange_labbook::{self as kept, Draft, RunCorrection, SampleDetail, SampleId};
use std::sync::Arc;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(try_determination))
        .routes(routes!(determine))
}

/// Try what a result would be
///
/// Nothing is recorded. Without `from`, of each tube that was heated the reading that counts. Why there
/// is no result is said in `refused`.
#[utoipa::path(post, path = "/api/samples/{id}/determinations/try", tag = "samples", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = DetermineRequest, responses((status = 200, body = DeterminationTried), Problems))]
async fn try_determination(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<SampleId>,
    Body(given): Body<DetermineRequest>,
) -> Result<Json<DeterminationTried>, Problem> {
    let found = state.book().store().sample(id).await?;
    let tried = Tried::of(&state, who, &found, &given).await?;
    Ok(Json(tried.shown()))
}

/// State a result
///
/// From the tubes named, as they hold now, each run with the correction in force on its day; what it
/// rests on is recorded with it.
#[utoipa::path(post, path = "/api/samples/{id}/determinations", tag = "samples", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = DetermineRequest, responses((status = 201, body = Determination), Problems))]
async fn determine(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<SampleId>,
    Body(given): Body<DetermineRequest>,
) -> Result<(StatusCode, Json<Determination>), Problem> {
    // A calibration that is just being recorded is in it, or changes it afterwards.
    let turn = state.results_turn().await;
    let found = state.book().store().sample(id).await?;
    let Tried {
        tubes,
        corrections,
        worked_out,
        ..
    } = Tried::of(&state, who, &found, &given).await?;
    let worked_out = worked_out.map_err(|why| {
        Problem::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "result",
            "There is no result",
            why,
        )
    })?;
    let from = tubes.iter().map(|tube| tube.tube).collect();
    let draft = Draft::new(as_recorded(id, from, worked_out, corrections));
    let determination = draft.subject().into();
    super::append_one(&state, who.id, draft).await?;
    drop(turn);
    let found = state.book().store().sample(id).await?;
    let known = Known::of(&state, &found.tubes).await?;
    known
        .results(&found.tubes, found.determinations)
        .into_iter()
        .find(|row| row.id == determination)
        .map(|row| (StatusCode::CREATED, Json(row)))
        .ok_or_else(|| Problem::unknown("the result that was just stated is not there"))
}

/// A result worked out, or why not, with its runs.
#[derive(Debug)]
struct Tried {
    tubes: Vec<Ranged>,
    corrections: Vec<RunCorrection>,
    worked_out: Result<WorkedOut, String>,
    known: Arc<Known>,
}

impl Tried {
    async fn of(
        state: &AppState,
        who: Somebody,
        found: &SampleDetail,
        given: &DetermineRequest,
    ) -> Result<Self, Problem> {
        let sight = Sight::of(Looking(Some(who)), None);
        if keeps_back(state, sight, &found.tubes).await? {
            return Err(Problem::new(
                StatusCode::FORBIDDEN,
                "role",
                "Decide first",
                "opinions on recordings of this sample are kept back until you have decided on them; read them first",
            ));
        }
        let tubes = match &given.from {
            Some(from) => named(&ranged(&found.tubes), from)?,
            None => counting(&found.tubes),
        };
        if tubes.is_empty() && given.from.is_some() {
            return Err(Problem::field("from", "empty", "at least one tube"));
        }
        let asked = Asked::of(given);
        let known = Arc::new(Known::of(state, &found.tubes).await?);
        let (worker, worked_on) = (known.clone(), tubes.clone());
        // Drawing takes a while.
        let worked_out = tokio::task::spawn_blocking(move || {
            let corrections = Corrections::of(&worker.thermometers);
            work_out(&worked_on, &worker.runs, &corrections, asked)
        })
        .await
        .map_err(|error| Problem::internal(&error))?;
        let corrections = {
            let corrections = Corrections::of(&known.thermometers);
            let mut standings = Standings::of(&known.thermometers);
            run_corrections(&tubes, &known.runs, &corrections, &mut standings)
        };
        Ok(Self {
            tubes,
            corrections,
            worked_out,
            known,
        })
    }

    fn shown(self) -> DeterminationTried {
        let all = &self.known.thermometers;
        let mut standings = Standings::of(all);
        let runs = self
            .corrections
            .iter()
            .map(|one| {
                let place = self.known.runs.get(&one.run).copied();
                let bench = place.and_then(|place| all.bench(place.bench?));
                let standing = place.and_then(|place| standings.of_run(place));
                RunOfResult {
                    run: one.run,
                    bench: bench.map(|bench| bench.row.id),
                    name: bench.map(|bench| bench.row.bench.name.clone()),
                    calibration: one.calibration,
                    state: one.state.map(Into::into),
                    reasons: standing.map_or_else(Vec::new, |found| found.reasons.clone()),
                    heating_rate_c_per_min: heating_rate(&self.tubes, one.run),
                }
            })
            .collect();
        let (found, refused) = match self.worked_out {
            Ok(found) => (Some(found), None),
            Err(why) => (None, Some(why)),
        };
        DeterminationTried {
            zero_rate: found
                .as_ref()
                .and_then(|found| found.result.zero_rate.clone()),
            required: found
                .as_ref()
                .and_then(|found| found.required)
                .map(Into::into),
            result: found.map(|found| found.result),
            from: self
                .tubes
                .iter()
                .map(|tube| TubeRef {
                    reading: tube.tube.reading,
                    place: tube.tube.place,
                })
                .collect(),
            runs,
            refused,
        }
    }
}

/// These tubes, each once.
fn named(tubes: &[Ranged], asked: &[TubeRef]) -> Result<Vec<Ranged>, Problem> {
    let mut from: Vec<Ranged> = Vec::with_capacity(asked.len());
    for asked in asked {
        let asked = kept::TubeRef {
            reading: asked.reading,
            place: asked.place,
        };
        let tube = tubes
            .iter()
            .find(|tube| tube.tube == asked)
            .ok_or_else(|| {
                Problem::field(
                    "from",
                    format!("place {} of reading {}", asked.place, asked.reading),
                    "tubes that hold this sample and have both a first liquid and a last crystal",
                )
            })?;
        if !from.contains(tube) {
            from.push(*tube);
        }
    }
    Ok(from)
}
