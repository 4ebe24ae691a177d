//! What is measured, agreement and results.

use crate::extract::{Acting, Asked, Body, Looking, Named, Raw};
use crate::limits::{CSV_BYTES, CSV_FAULTS, CSV_ROWS, PAGE_ROWS, SEARCH_CHARS};
use crate::problem::{Fault, Problem, Problems};
use crate::sample_view;
use crate::sight::Sight;
use crate::state::AppState;
use crate::wire::{
    ImportedSamples, SampleContent, SampleDetail, SampleOrder, SampleRevision, SampleRow, Samples,
    Standing,
};
use axum::Json;
use axum::extract::{DefaultBodyLimit, State};
use axum::http::StatusCode;
use meltrange_labbook::{self as kept, Draft, LONGEST_PAGE, Role, SampleId, SampleQuery};
use serde::Deserialize;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(samples, add_sample))
        .routes(routes!(sample, revise_sample))
        .merge(
            OpenApiRouter::new()
                .routes(routes!(import_samples))
                .layer(DefaultBodyLimit::max(CSV_BYTES)),
        )
}

/// Which samples.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct SamplesQuery {
    /// Every one of these words stands somewhere in label, origin or expected substance.
    #[param(max_length = 200)]
    text: Option<String>,
    /// Only samples that are this far.
    #[param(inline)]
    standing: Option<Standing>,
    /// In which order; the newest first if not said.
    #[param(inline)]
    order: Option<SampleOrder>,
    /// Which page, from 1.
    #[param(minimum = 1)]
    page: Option<u64>,
    /// Rows a page; 50 if not said.
    #[param(minimum = 1, maximum = 500)]
    per_page: Option<u32>,
}

/// A page of samples
#[utoipa::path(get, path = "/api/samples", tag = "samples", security((), ("person" = [])), params(SamplesQuery), responses((status = 200, body = Samples), Problems))]
async fn samples(
    State(state): State<AppState>,
    looking: Looking,
    Asked(asked): Asked<SamplesQuery>,
) -> Result<Json<Samples>, Problem> {
    let text = asked.text.unwrap_or_default();
    if text.chars().count() > SEARCH_CHARS {
        return Err(Problem::field(
            "text",
            format!("{} characters long", text.chars().count()),
            format!("at most {SEARCH_CHARS} characters"),
        ));
    }
    let (page, per_page) = super::paging(asked.page, asked.per_page)?;
    let query = SampleQuery {
        text,
        standing: asked.standing.map(Into::into),
        order: asked.order.map(Into::into).unwrap_or_default(),
        offset: super::offset(page, per_page),
        limit: per_page,
    };
    let found = state.book().store().samples(&query).await?;
    Ok(Json(Samples {
        rows: found
            .rows
            .into_iter()
            .map(|one| row(one, looking))
            .collect(),
        total: found.total,
        page,
        per_page,
    }))
}

/// A row as this person may see it: students read before they see a result.
pub(super) fn row(found: kept::SampleRow, looking: Looking) -> SampleRow {
    let mut row = SampleRow::from(found);
    if looking.0.is_some_and(|who| who.role == Role::Student) {
        row.range_text = None;
    }
    row
}

/// Add a sample
#[utoipa::path(post, path = "/api/samples", tag = "samples", security(("person" = [])), request_body = SampleContent, responses((status = 201, body = SampleDetail), Problems))]
async fn add_sample(
    State(state): State<AppState>,
    Acting(who): Acting,
    Body(given): Body<SampleContent>,
) -> Result<(StatusCode, Json<SampleDetail>), Problem> {
    let draft = Draft::new(kept::Sample::from(given));
    let id = draft.subject().into();
    super::append_one(&state, who.id, draft).await?;
    let sight = Sight::of(Looking(Some(who)), None);
    let detail = sample_view::detail(&state, sight, id).await?;
    Ok((StatusCode::CREATED, Json(detail)))
}

/// One sample with its runs, readings, agreement and results
#[utoipa::path(get, path = "/api/samples/{id}", tag = "samples", security((), ("person" = [])), params(("id" = String, Path, format = "uuid"), super::BlindQuery), responses((status = 200, body = SampleDetail), Problems))]
async fn sample(
    State(state): State<AppState>,
    looking: Looking,
    Named(id): Named<SampleId>,
    Asked(asked): Asked<super::BlindQuery>,
) -> Result<Json<SampleDetail>, Problem> {
    let sight = Sight::of(looking, asked.blind);
    Ok(Json(sample_view::detail(&state, sight, id).await?))
}

/// Say anew what a sample is
///
/// The whole content takes the place of the record named; nothing is lost.
#[utoipa::path(post, path = "/api/samples/{id}", tag = "samples", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = SampleRevision, responses((status = 200, body = SampleDetail), Problems))]
async fn revise_sample(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<SampleId>,
    Body(given): Body<SampleRevision>,
) -> Result<Json<SampleDetail>, Problem> {
    // Answers for what is no sample as if it were not there.
    state.book().store().sample(id).await?;
    let mut draft = Draft::revision(id, given.supersedes, kept::Sample::from(given.sample));
    if let Some(reason) = given.reason {
        draft = draft.because(reason);
    }
    super::append_one(&state, who.id, draft).await?;
    let sight = Sight::of(Looking(Some(who)), None);
    Ok(Json(sample_view::detail(&state, sight, id).await?))
}

/// Add samples from a list
///
/// CSV with a header line; columns by name in any order: label, origin, expected_substance, hazards,
/// dried, ground, column_height_mm, solvent, remarks. All are added or none; faults name line and column.
#[utoipa::path(post, path = "/api/samples/import", tag = "samples", security(("person" = [])), request_body(content = String, content_type = "text/csv"), responses((status = 201, body = ImportedSamples), Problems))]
async fn import_samples(
    State(state): State<AppState>,
    Acting(who): Acting,
    Raw(list): Raw,
) -> Result<(StatusCode, Json<ImportedSamples>), Problem> {
    let listed = kept::parse_samples("list", &list).map_err(|errors| {
        list_problem(errors.into_iter().map(|error| Fault {
            line: Some(error.line),
            field: error.column.unwrap_or_default().into(),
            found: error.what,
            expected: String::new(),
        }))
    })?;
    if listed.is_empty() || listed.len() > CSV_ROWS {
        return Err(Problem::field(
            "list",
            format!("{} samples long", listed.len()),
            format!("1 to {CSV_ROWS} samples"),
        ));
    }
    let mut taken = Vec::new();
    for one in &listed {
        let label = &one.sample.label;
        if state.book().store().sample_labelled(label).await?.is_some() {
            taken.push(Fault {
                line: Some(one.line),
                field: "label".into(),
                found: format!("\"{label}\", which is in the book already"),
                expected: "a label that is not taken".into(),
            });
        }
    }
    if !taken.is_empty() {
        return Err(list_problem(taken.into_iter()));
    }
    let drafts: Vec<Draft> = listed
        .into_iter()
        .map(|one| Draft::new(one.sample))
        .collect();
    let samples = drafts.iter().map(|draft| draft.subject().into()).collect();
    state.book().append(who.id, drafts).await?;
    Ok((StatusCode::CREATED, Json(ImportedSamples { samples })))
}

fn list_problem(faults: impl ExactSizeIterator<Item = Fault>) -> Problem {
    let count = faults.len();
    let faults: Vec<Fault> = faults.take(CSV_FAULTS).collect();
    let first = faults.first();
    let detail = format!(
        "the list has {count} fault(s), the first in line {}{}: {}; nothing was added",
        first.and_then(|fault| fault.line).unwrap_or_default(),
        first
            .filter(|fault| !fault.field.is_empty())
            .map(|fault| format!(", column {}", fault.field))
            .unwrap_or_default(),
        first.map(|fault| fault.found.as_str()).unwrap_or_default(),
    );
    Problem {
        faults,
        ..Problem::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "list",
            "The list cannot be taken",
            detail,
        )
    }
}

/// Page and rows a page, within the limits.
pub(crate) fn checked_paging(
    page: Option<u64>,
    per_page: Option<u32>,
) -> Result<(u64, u32), Problem> {
    let (page, per_page) = (page.unwrap_or(1), per_page.unwrap_or(PAGE_ROWS));
    // Beyond what the database can count to there is nothing.
    if page == 0 || page > u64::from(u32::MAX) {
        return Err(Problem::field("page", page.to_string(), "a page from 1"));
    }
    if !(1..=LONGEST_PAGE).contains(&per_page) {
        return Err(Problem::field(
            "per_page",
            per_page.to_string(),
            format!("1 to {LONGEST_PAGE} rows"),
        ));
    }
    Ok((page, per_page))
}
