//! Reference substances.

use crate::extract::{Acting, Body, Named, no_student};
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{StandardContent, StandardRevision, StandardRow, Standards};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use meltrange_labbook::{self as kept, Draft, StandardId, When};
use meltrange_metrology::usual_standards;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(standards, add_standard))
        .routes(routes!(revise_standard))
}

/// All reference substances, and those that are usual
#[utoipa::path(get, path = "/api/standards", tag = "standards", responses((status = 200, body = Standards), Problems))]
async fn standards(State(state): State<AppState>) -> Result<Json<Standards>, Problem> {
    let found = state.book().store().thermometers().await?;
    Ok(Json(Standards {
        rows: found.standards.into_iter().map(row).collect(),
        usual: usual_standards(),
    }))
}

fn row(found: kept::StandardRow) -> StandardRow {
    StandardRow {
        id: found.id,
        record: found.record,
        who: found.who,
        when: found.when,
        expired: found.standard.expired_on(When::now().date()),
        standard: found.standard.into(),
    }
}

/// Add a reference substance
#[utoipa::path(post, path = "/api/standards", tag = "standards", security(("person" = [])), request_body = StandardContent, responses((status = 201, body = StandardRow), Problems))]
async fn add_standard(
    State(state): State<AppState>,
    Acting(who): Acting,
    Body(given): Body<StandardContent>,
) -> Result<(StatusCode, Json<StandardRow>), Problem> {
    let draft = Draft::new(content(given)?);
    let id = draft.subject().into();
    super::append_one(&state, who.id, draft).await?;
    Ok((StatusCode::CREATED, Json(one(&state, id).await?)))
}

/// Say anew what a reference substance is, or retire it
///
/// For analysts and supervisors. The whole content takes the place of the record named; calibrations
/// keep the value they were made with.
#[utoipa::path(post, path = "/api/standards/{id}", tag = "standards", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = StandardRevision, responses((status = 200, body = StandardRow), Problems))]
async fn revise_standard(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<StandardId>,
    Body(given): Body<StandardRevision>,
) -> Result<Json<StandardRow>, Problem> {
    // Answers for what is no standard as if it were not there.
    one(&state, id).await?;
    no_student(who, "a standard is changed or retired")?;
    let revised = content(given.standard)?;
    keeps_its_value(&state, id, &revised).await?;
    let mut draft = Draft::revision(id, given.supersedes, revised);
    if let Some(reason) = given.reason {
        draft = draft.because(reason);
    }
    super::append_one(&state, who.id, draft).await?;
    Ok(Json(one(&state, id).await?))
}

/// A value that checks were compared with stays: another lot is another standard.
async fn keeps_its_value(
    state: &AppState,
    id: StandardId,
    revised: &kept::Standard,
) -> Result<(), Problem> {
    let all = state.book().store().thermometers().await?;
    let Some(before) = all.standard(id).map(|row| &row.standard) else {
        return Ok(());
    };
    let same = before.reference_c == revised.reference_c
        && before.convention == revised.convention
        && before.end == revised.end;
    let used = all
        .checks
        .iter()
        .any(|row| row.check.standard == id && !row.check.void);
    if same || !used {
        return Ok(());
    }
    Err(Problem::field(
        "standard.reference_c",
        format!(
            "changed from {} to {} °C, or what it means was",
            before.reference_c, revised.reference_c
        ),
        "the value that checks were compared with; enter a new lot as a standard of its own, or declare those checks void first",
    ))
}

async fn one(state: &AppState, id: StandardId) -> Result<StandardRow, Problem> {
    let found = state.book().store().thermometers().await?;
    found
        .standard(id)
        .cloned()
        .map(row)
        .ok_or_else(|| Problem::unknown(format!("there is no standard {id} in this book")))
}

fn content(given: StandardContent) -> Result<kept::Standard, Problem> {
    Ok(kept::Standard {
        expires: given
            .expires
            .as_deref()
            .map(|text| super::date("expires", text))
            .transpose()?,
        substance: given.substance,
        cas: given.cas,
        reference_c: given.reference_c,
        standard_uncertainty_c: given.standard_uncertainty_c,
        convention: given.convention,
        end: given.end.into(),
        lot: given.lot,
        source: given.source,
        cautions: given.cautions,
        remarks: given.remarks,
        retired: given.retired,
    })
}
