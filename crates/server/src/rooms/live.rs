//! Benches at work.

use crate::extract::{Acting, Asked, Body};
use crate::kept_run::{Afterwards, begin_kept_run};
use crate::limits::{EVENT_KEEP_ALIVE, PICTURE_PATIENCE};
use crate::live_benches::{Live, Opened};
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{
    FaultRequest, KeyedTemperature, LiveBench, LiveBenchList, LiveView, MomentRequest, OpenRequest,
    PlanRequest, Planned, PressRequest, RunBegun, RunRequest,
};
use axum::Json;
use axum::extract::{Path, State};
use axum::http::{HeaderName, StatusCode, header};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use futures_util::Stream;
use meltrange_bench::{MarkedMoment, Press, RunOrder};
use meltrange_labbook::LoadedTube;
use meltrange_planning::Programme;
use serde::Deserialize;
use std::convert::Infallible;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(benches))
        .routes(routes!(open))
        .routes(routes!(close))
        .routes(routes!(events))
        .routes(routes!(picture))
        .routes(routes!(seen))
        .routes(routes!(plan))
        .routes(routes!(begin))
        .routes(routes!(press))
        .routes(routes!(temperature))
        .routes(routes!(fault))
}

/// Benches that can be run
///
/// Those that bench files in the folder `benches` of the book describe; files with faults are listed with what is wrong.
#[utoipa::path(get, path = "/api/live", tag = "live", responses((status = 200, body = LiveBenchList), Problems))]
async fn benches(State(state): State<AppState>) -> Result<Json<LiveBenchList>, Problem> {
    let files = state.live().files();
    let benches = files
        .into_iter()
        .map(|found| {
            let live = state.live().get(&found.name);
            LiveBench::of(
                found.name,
                found.file,
                live.as_ref().map(|live| &live.bench),
            )
        })
        .collect();
    Ok(Json(LiveBenchList { benches }))
}

/// Set a bench's devices to work
#[utoipa::path(post, path = "/api/live/{bench}/open", tag = "live", security(("person" = [])), params(("bench" = String, Path)), request_body = OpenRequest, responses((status = 204), Problems))]
async fn open(
    State(state): State<AppState>,
    _: Acting,
    Path(name): Path<String>,
    Body(asked): Body<OpenRequest>,
) -> Result<StatusCode, Problem> {
    let speed = asked.speed.unwrap_or(1.0);
    if !(1.0..=60.0).contains(&speed) {
        return Err(Problem::field("speed", speed.to_string(), "1 to 60"));
    }
    let file = state.live().file(&name)?;
    if speed != 1.0 && !file.is_simulated() {
        return Err(Problem::field(
            "speed",
            speed.to_string(),
            "1: only a simulated bench's clock can run fast",
        ));
    }
    let (live, opened) = state.live().open(&name, speed)?;
    if let (Opened::Now, Some(inlet)) = (opened, live.bench.pictures()) {
        state
            .camera_links()
            .offer(&name, inlet.clone(), live.bench.clock());
    }
    Ok(StatusCode::NO_CONTENT)
}

/// Let a bench's devices go
#[utoipa::path(post, path = "/api/live/{bench}/close", tag = "live", security(("person" = [])), params(("bench" = String, Path)), responses((status = 204), Problems))]
async fn close(
    State(state): State<AppState>,
    _: Acting,
    Path(name): Path<String>,
) -> Result<StatusCode, Problem> {
    state.live().close(&name)?;
    state.camera_links().withdraw(&name);
    Ok(StatusCode::NO_CONTENT)
}

/// What goes on at a bench
///
/// A `view` event a few times a second, as [`LiveView`]; the first carries the whole curve.
#[utoipa::path(get, path = "/api/live/{bench}/events", tag = "live", params(("bench" = String, Path)), responses((status = 200, content_type = "text/event-stream", body = String), Problems))]
async fn events(
    State(state): State<AppState>,
    Path(name): Path<String>,
) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Problem> {
    let live = state.live().open_bench(&name)?;
    let mut view = live.bench.view();
    view.mark_changed();
    let closing = state.closing();
    let watching = (state, name, view, closing, 0usize, None);
    let stream = futures_util::stream::unfold(
        watching,
        |(state, name, mut view, mut closing, mut told, mut run)| async move {
            tokio::select! {
                _ = closing.wait_for(|closing| *closing) => return None,
                changed = view.changed() => changed.ok()?,
            }
            let live = state.live().get(&name)?;
            let bench = view.borrow_and_update().as_ref().clone();
            // A new run begins a new curve.
            if run != live.run || bench.points < told {
                (told, run) = (0, live.run);
            }
            let new_points = live.bench.series(told);
            let first_point = told;
            told += new_points.len();
            let said = LiveView {
                bench,
                first_point,
                new_points,
                run_id: live.run.map(|run| run.0),
                recording_id: live.run.map(|run| run.1),
            };
            let text = serde_json::to_string(&said).unwrap_or_default();
            let event = Event::default().event("view").data(text);
            Some((Ok(event), (state, name, view, closing, told, run)))
        },
    );
    Ok(Sse::new(stream).keep_alive(KeepAlive::new().interval(EVENT_KEEP_ALIVE)))
}

/// Which picture.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct PictureQuery {
    /// The number of the last one that is known.
    after: Option<u64>,
}

const PICTURE_NUMBER: HeaderName = HeaderName::from_static("x-picture-number");
const PICTURE_TIME: HeaderName = HeaderName::from_static("x-picture-time");

/// The newest picture
///
/// Waits up to a second for one that is newer than `after`. The headers x-picture-number and x-picture-time (bench clock, s) say which it is.
#[utoipa::path(get, path = "/api/live/{bench}/picture", tag = "live", params(("bench" = String, Path), PictureQuery), responses((status = 200, content_type = "image/jpeg", body = inline(Vec<u8>)), (status = 204, description = "nothing newer"), Problems))]
async fn picture(
    State(state): State<AppState>,
    Path(name): Path<String>,
    Asked(asked): Asked<PictureQuery>,
) -> Result<Response, Problem> {
    let live = state.live().open_bench(&name)?;
    let mut pictures = live.bench.picture();
    let after = asked.after.unwrap_or(0);
    let newer = pictures.wait_for(|picture| {
        picture
            .as_ref()
            .is_some_and(|picture| picture.number > after)
    });
    let found = match tokio::time::timeout(PICTURE_PATIENCE, newer).await {
        Ok(Ok(picture)) => picture.clone(),
        _ => None,
    };
    let Some(found) = found else {
        return Ok(StatusCode::NO_CONTENT.into_response());
    };
    let headers = [
        (header::CONTENT_TYPE, "image/jpeg".to_owned()),
        (PICTURE_NUMBER, found.number.to_string()),
        (PICTURE_TIME, format!("{:.3}", found.time_s)),
    ];
    Ok((headers, found.jpeg.to_vec()).into_response())
}

/// A page looks
///
/// Once every few seconds; with no page looking for a minute the heater goes off.
#[utoipa::path(post, path = "/api/live/{bench}/seen", tag = "live", params(("bench" = String, Path)), responses((status = 204), Problems))]
async fn seen(
    State(state): State<AppState>,
    Path(name): Path<String>,
) -> Result<StatusCode, Problem> {
    state.live().open_bench(&name)?.bench.seen();
    Ok(StatusCode::NO_CONTENT)
}

/// A programme with its curve, not run yet
#[utoipa::path(post, path = "/api/live/{bench}/plan", tag = "live", params(("bench" = String, Path)), request_body = PlanRequest, responses((status = 200, body = Planned), Problems))]
async fn plan(
    State(state): State<AppState>,
    Path(name): Path<String>,
    Body(asked): Body<PlanRequest>,
) -> Result<Json<Planned>, Problem> {
    let live = state.live().open_bench(&name)?;
    let now_c = indicated_c(&live);
    let programme = programme(&live, &asked)?;
    let heat = live.bench.file().heat();
    let found = heat
        .estimate(&programme, now_c)
        .map_err(|error| super::programmes::cannot(&error))?;
    Ok(Json(Planned {
        minutes_to_scan_end: found.minutes,
        cautions: super::programmes::heat_cautions(&programme, &heat, now_c),
        curve: found.curve,
        programme,
    }))
}

/// Begin a run
///
/// Its recording begins with it. While it is under way a page has to say every few seconds that it looks.
#[utoipa::path(post, path = "/api/live/{bench}/runs", tag = "live", security(("person" = [])), params(("bench" = String, Path)), request_body = RunRequest, responses((status = 201, body = RunBegun), Problems))]
async fn begin(
    State(state): State<AppState>,
    Acting(who): Acting,
    Path(name): Path<String>,
    Body(asked): Body<RunRequest>,
) -> Result<(StatusCode, Json<RunBegun>), Problem> {
    let live = state.live().open_bench(&name)?;
    let samples = super::load(&state, &asked.tubes).await?;
    let places = live.bench.file().places;
    if samples.len() > usize::from(places) {
        return Err(Problem::field(
            "tubes",
            format!("place {}", samples.len()),
            format!("places 1 to {places}: the bench has no more"),
        ));
    }
    let order = RunOrder {
        programme: programme(&live, &asked.plan)?,
        end_when_clear: asked.end_when_clear,
        watched: true,
    };
    let load = (1..)
        .zip(samples)
        .map(|(place, sample)| LoadedTube { place, sample })
        .collect();
    let kept = begin_kept_run(&state, &live.bench, who.id, order, load, Afterwards::Read).await?;
    state.live().set_run(&name, kept.run, kept.recording);
    // The engine's state stands beside the picture: what this person reads of it later is not blind.
    state.remember_shown(who.id, kept.recording);
    let begun = RunBegun {
        run: kept.run,
        recording: kept.recording,
    };
    Ok((StatusCode::CREATED, Json(begun)))
}

/// Press a key
#[utoipa::path(post, path = "/api/live/{bench}/press", tag = "live", security(("person" = [])), params(("bench" = String, Path)), request_body = PressRequest, responses((status = 204), Problems))]
async fn press(
    State(state): State<AppState>,
    Acting(who): Acting,
    Path(name): Path<String>,
    Body(asked): Body<PressRequest>,
) -> Result<StatusCode, Problem> {
    let live = state.live().open_bench(&name)?;
    let press = match asked {
        PressRequest::Hold => Press::Hold,
        PressRequest::Pause => Press::Pause,
        PressRequest::Resume => Press::Resume,
        PressRequest::Skip => Press::Skip,
        PressRequest::Stop => Press::Stop,
        PressRequest::Attend => Press::Attend,
        PressRequest::Mark { place, moment } => Press::Mark {
            place,
            moment: match moment {
                MomentRequest::FirstLiquid => MarkedMoment::FirstLiquid,
                MomentRequest::LastCrystal => MarkedMoment::LastCrystal,
            },
            by: super::person_name(&state, who.id).await?,
        },
    };
    live.bench.press(press).await?;
    Ok(StatusCode::NO_CONTENT)
}

/// Key a temperature in
#[utoipa::path(post, path = "/api/live/{bench}/temperature", tag = "live", security(("person" = [])), params(("bench" = String, Path)), request_body = KeyedTemperature, responses((status = 204), Problems))]
async fn temperature(
    State(state): State<AppState>,
    _: Acting,
    Path(name): Path<String>,
    Body(asked): Body<KeyedTemperature>,
) -> Result<StatusCode, Problem> {
    let live = state.live().open_bench(&name)?;
    live.bench.key_in(asked.temperature_c)?;
    Ok(StatusCode::NO_CONTENT)
}

/// Make something go wrong, for practice
///
/// Simulated benches only.
#[utoipa::path(post, path = "/api/live/{bench}/faults", tag = "live", security(("person" = [])), params(("bench" = String, Path)), request_body = FaultRequest, responses((status = 204), Problems))]
async fn fault(
    State(state): State<AppState>,
    _: Acting,
    Path(name): Path<String>,
    Body(asked): Body<FaultRequest>,
) -> Result<StatusCode, Problem> {
    let live = state.live().open_bench(&name)?;
    let Some(simulated) = live.bench.simulated() else {
        return Err(Problem::field(
            "bench",
            name,
            "a simulated bench; real ones go wrong by themselves",
        ));
    };
    if asked.on {
        simulated.faults().provoke(asked.fault);
    } else {
        simulated.faults().mend(asked.fault);
    }
    Ok(StatusCode::NO_CONTENT)
}

/// The indication, or the room's where nothing is told yet [°C].
fn indicated_c(live: &Live) -> f64 {
    let view = live.bench.view();
    let known = view.borrow().temperature_c;
    known.unwrap_or(live.bench.file().room_c)
}

fn programme(live: &Live, asked: &PlanRequest) -> Result<Programme, Problem> {
    asked
        .programme(indicated_c(live), live.bench.file().max_c)
        .map_err(|error| super::programmes::cannot(&error))
}
