//! What samples are said to be: worked out, then confirmed by a person.

use crate::extract::{Acting, Body, Looking, Named, Somebody};
use crate::mixed_tubes::judged;
use crate::problem::{Problem, Problems};
use crate::sample_view::{keeps_back, verdicts};
use crate::sight::{Sight, decide_first};
use crate::state::AppState;
use crate::verdicts::{Evidence, worked_out};
use crate::wire::{MixedTubesJudged, MixedTubesRequest, Verdict, VerdictRequest};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use meltrange_labbook::{
    Draft, Entry, RecordingDetail, RecordingId, SampleDetail, SampleId, SampleVerdict,
};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// Mixed meltings of one verdict.
const MOST_MIXED: usize = 20;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(judge_mixed_melting))
        .routes(routes!(try_verdict))
        .routes(routes!(state_verdict))
}

/// Judge the mixed melting in a recording
///
/// Sample, reference and their mixture stood side by side in one load. Of each tube the reading counts
/// behind which a person stands, else the newest. Nothing is recorded.
#[utoipa::path(post, path = "/api/recordings/{id}/mixed-melting", tag = "recordings", security((), ("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = MixedTubesRequest, responses((status = 200, body = MixedTubesJudged), Problems))]
async fn judge_mixed_melting(
    State(state): State<AppState>,
    looking: Looking,
    Named(id): Named<RecordingId>,
    Body(asked): Body<MixedTubesRequest>,
) -> Result<Json<MixedTubesJudged>, Problem> {
    let found = state.book().store().recording(id).await?;
    let sight = Sight::of(looking, None);
    if sight.hides(&found.readings) {
        return Err(decide_first());
    }
    sight.remember(&state, id);
    judged(&found, asked).map(Json)
}

/// Try what could be said of a sample
///
/// From its latest result, the mixed meltings named and the library. Nothing is recorded; `words` are a
/// proposal where none are given.
#[utoipa::path(post, path = "/api/samples/{id}/verdicts/try", tag = "samples", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = VerdictRequest, responses((status = 200, body = SampleVerdict), Problems))]
async fn try_verdict(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<SampleId>,
    Body(asked): Body<VerdictRequest>,
) -> Result<Json<SampleVerdict>, Problem> {
    let found = state.book().store().sample(id).await?;
    said(&state, who, found, asked).await.map(Json)
}

/// State what a sample is
///
/// Worked out anew as `try` does it, and recorded with the words of the person who confirms it. One that
/// takes the place of another names its record and says why.
#[utoipa::path(post, path = "/api/samples/{id}/verdicts", tag = "samples", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = VerdictRequest, responses((status = 201, body = Verdict), Problems))]
async fn state_verdict(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<SampleId>,
    Body(asked): Body<VerdictRequest>,
) -> Result<(StatusCode, Json<Verdict>), Problem> {
    // The result that it rests on does not change under it.
    let turn = state.results_turn().await;
    let found = state.book().store().sample(id).await?;
    let before = found.verdicts.first().map(|row| (row.id, row.record));
    let (supersedes, reason) = (asked.supersedes, asked.reason.clone());
    let looked_at = asked.result_record;
    let verdict = said(&state, who, found, asked).await?;
    if looked_at.is_some_and(|record| record != verdict.result_record) {
        return Err(stale(
            "there is another result of this sample than the one you looked at",
        ));
    }
    let mut draft = match (before, supersedes) {
        (None, None) => Draft::new(verdict),
        (Some((id, _)), Some(record)) => Draft::revision(id, record, verdict),
        (Some(_), None) | (None, Some(_)) => {
            return Err(stale(
                "what is said of this sample is not what this page knows",
            ));
        }
    };
    if let Some(reason) = reason {
        draft = draft.because(reason);
    }
    super::append_one(&state, who.id, draft).await?;
    drop(turn);
    let found = state.book().store().sample(id).await?;
    verdicts(&found)
        .into_iter()
        .next()
        .map(|row| (StatusCode::CREATED, Json(row)))
        .ok_or_else(|| Problem::unknown("the verdict that was just stated is not there"))
}

/// Label and expected substance of what stands in a place; none where the book names nothing.
async fn in_place(
    state: &AppState,
    recording: &RecordingDetail,
    place: u8,
) -> Result<Option<(String, Option<String>)>, Problem> {
    let load = &recording.row.load;
    let Some(id) = load
        .iter()
        .find(|tube| tube.place == place)
        .and_then(|tube| tube.sample)
    else {
        return Ok(None);
    };
    let latest = state.book().store().latest(id.into()).await?;
    Ok(match latest.entry {
        Entry::Sample(sample) => Some((sample.label, sample.expected_substance)),
        _ => None,
    })
}

fn stale(what: &str) -> Problem {
    Problem::new(
        StatusCode::CONFLICT,
        "stale",
        "Something else was recorded since",
        format!("{what}; look at it again before you confirm"),
    )
}

async fn said(
    state: &AppState,
    who: Somebody,
    found: SampleDetail,
    asked: VerdictRequest,
) -> Result<SampleVerdict, Problem> {
    let sight = Sight::of(Looking(Some(who)), None);
    if keeps_back(state, sight, &found.tubes).await? {
        return Err(decide_first());
    }
    if asked.mixed_meltings.len() > MOST_MIXED {
        let given = asked.mixed_meltings.len().to_string();
        return Err(Problem::field(
            "mixed_meltings",
            given,
            format!("{MOST_MIXED} at most"),
        ));
    }
    let mut evidence = Vec::with_capacity(asked.mixed_meltings.len());
    for one in &asked.mixed_meltings {
        let recording = state.book().store().recording(one.recording).await?;
        if sight.hides(&recording.readings) {
            return Err(decide_first());
        }
        evidence.push(Evidence {
            reference: in_place(state, &recording, one.tubes.reference_place).await?,
            asked: one.clone(),
            recording,
        });
    }
    let library = state.clone();
    tokio::task::spawn_blocking(move || {
        worked_out(&*library.library().now()?, &found, &asked, &evidence)
    })
    .await
    .map_err(|error| Problem::internal(&error))?
}
