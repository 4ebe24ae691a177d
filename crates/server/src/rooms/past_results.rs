//! Results from before the book: looked through first, then taken in.

use crate::extract::{Acting, Asked, Body, Looking, Named, Raw};
use crate::limits::{CSV_BYTES, CSV_ROWS};
use crate::problem::{Problem, Problems};
use crate::sample_view::keeps_back;
use crate::sight::{Sight, decide_first};
use crate::state::AppState;
use crate::wire::{PastPreview, PastResult, PastRow, PastTaken, TakeBackRequest};
use axum::Json;
use axum::extract::{DefaultBodyLimit, State};
use axum::http::StatusCode;
use meltrange_labbook::{self as kept, Draft, Entry, PastList, PastResultId, parse_past};
use serde::Deserialize;
use std::collections::BTreeSet;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new().routes(routes!(void)).merge(
        OpenApiRouter::new()
            .routes(routes!(preview))
            .routes(routes!(take_in))
            .layer(DefaultBodyLimit::max(CSV_BYTES)),
    )
}

/// What the file is called.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct NameQuery {
    /// Its name, as the person knows it; kept with each result.
    #[param(max_length = 120)]
    name: String,
}

impl NameQuery {
    /// The last part of it on one line.
    fn kept(&self) -> String {
        let last = self.name.rsplit(['/', '\\']).next().unwrap_or_default();
        let clean: String = last.chars().filter(|letter| !letter.is_control()).collect();
        let clean: String = clean.trim().chars().take(120).collect();
        if clean.is_empty() {
            "table".into()
        } else {
            clean
        }
    }
}

fn listed(name: &str, bytes: &[u8]) -> Result<PastList, Problem> {
    let list = parse_past(name, bytes).map_err(|error| {
        Problem::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "list",
            "The table cannot be taken",
            error.to_string(),
        )
    })?;
    if list.rows.len() > CSV_ROWS {
        return Err(Problem::field(
            "list",
            format!("{} rows long", list.rows.len()),
            format!("at most {CSV_ROWS} rows; split it"),
        ));
    }
    Ok(list)
}

/// Look through a table of past results
///
/// CSV as spreadsheets write it, with headings in English, German, French or Spanish. Says what each column and each row was
/// taken for and what was not understood; nothing is recorded.
#[utoipa::path(post, path = "/api/past-results/preview", tag = "imports", params(NameQuery), request_body(content = String, content_type = "text/csv"), responses((status = 200, body = PastPreview), Problems))]
async fn preview(
    State(state): State<AppState>,
    Asked(asked): Asked<NameQuery>,
    Raw(bytes): Raw,
) -> Result<Json<PastPreview>, Problem> {
    let name = asked.kept();
    let list = listed(&name, &bytes)?;
    let placed = state.book().place_past(&name, list.rows).await?;
    let new: BTreeSet<String> = placed
        .iter()
        .filter(|one| one.sample.is_none())
        .map(|one| one.row.label.to_lowercase())
        .collect();
    Ok(Json(PastPreview {
        separator: list.separator.to_string(),
        columns: list.columns.into_iter().map(Into::into).collect(),
        rows: placed.into_iter().map(PastRow::from).collect(),
        faults: list.faults.into_iter().map(Into::into).collect(),
        remarks: list.remarks,
        new_samples: new.len() as u64,
    }))
}

/// Take a table of past results in
///
/// Everything that the preview understands is recorded, all or nothing; samples that are not there are added. Rows that are in
/// the book already, from the same file and line, are passed over.
#[utoipa::path(post, path = "/api/past-results", tag = "imports", security(("person" = [])), params(NameQuery), request_body(content = String, content_type = "text/csv"), responses((status = 201, body = PastTaken), Problems))]
async fn take_in(
    State(state): State<AppState>,
    Acting(who): Acting,
    Asked(asked): Asked<NameQuery>,
    Raw(bytes): Raw,
) -> Result<(StatusCode, Json<PastTaken>), Problem> {
    let name = asked.kept();
    let list = listed(&name, &bytes)?;
    let left_out = list.faults.iter().filter(|fault| fault.left_out).count() as u64;
    // Two that come at once do not both find that nothing is there.
    let turn = state.results_turn().await;
    let taken = state.book().take_past(who.id, &name, list).await?;
    drop(turn);
    Ok((
        StatusCode::CREATED,
        Json(PastTaken {
            past_results: taken.past_results,
            samples_added: taken.samples_added,
            there_already: taken.there_already,
            left_out,
        }),
    ))
}

/// Let a past result no longer count
#[utoipa::path(post, path = "/api/past-results/{id}/void", tag = "imports", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = TakeBackRequest, responses((status = 200, body = PastResult), Problems))]
async fn void(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<PastResultId>,
    Body(given): Body<TakeBackRequest>,
) -> Result<Json<PastResult>, Problem> {
    let record = state.book().store().latest(id.into()).await?;
    let Entry::PastResult(past) = record.entry else {
        return Err(Problem::unknown(format!("{id} is no past result")));
    };
    let sample = past.sample;
    let found = state.book().store().sample(sample).await?;
    let sight = Sight::of(Looking(Some(who)), None);
    if keeps_back(&state, sight, &found.tubes).await? {
        return Err(decide_first());
    }
    let void = kept::PastResult { void: true, ..past };
    let draft = Draft::revision(id, given.supersedes, void).because(given.reason);
    super::append_one(&state, who.id, draft).await?;
    let found = state.book().store().sample(sample).await?;
    found
        .past_results
        .iter()
        .find(|row| row.id == id)
        .map(|row| Json(row.into()))
        .ok_or_else(|| Problem::unknown("the past result that was just changed is not there"))
}
