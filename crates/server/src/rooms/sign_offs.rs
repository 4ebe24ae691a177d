//! Review by a second person.

use super::me::{failed, knock};
use crate::admission::{AtTheDoor, How, now_s};
use crate::extract::{Acting, Body, Looking, Named};
use crate::problem::{Problem, Problems};
use crate::reports::pictures_signed;
use crate::sample_view::keeps_back;
use crate::sight::{Sight, decide_first};
use crate::state::AppState;
use crate::wire::{SignOff, SignOffRequest, TakeBackRequest};
use axum::extract::State;
use axum::http::{Extensions, HeaderMap, StatusCode};
use axum::{Extension, Json};
use meltrange_accounts::{AccountError, Knock, PROVED_S};
use meltrange_labbook::{self as kept, Draft, Entry, SampleId, SignOffId};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(sign_off))
        .routes(routes!(take_back))
}

/// Sign a sample's result off
///
/// As a second person: a supervisor or an analyst who had no part in it. Refused unless the records named are
/// the newest; a later change of any of them makes the report a draft again. Where people have accounts, the signer's passphrase
/// goes with it, or they logged in within the last five minutes: 403 (`prove`, `refused-signature`) otherwise.
#[utoipa::path(post, path = "/api/samples/{id}/sign-offs", tag = "reports", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = SignOffRequest, responses((status = 201, body = SignOff), Problems))]
async fn sign_off(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<SampleId>,
    door: Option<Extension<AtTheDoor>>,
    headers: HeaderMap,
    extensions: Extensions,
    Body(given): Body<SignOffRequest>,
) -> Result<(StatusCode, Json<SignOff>), Problem> {
    let knock = knock(&extensions, &headers);
    let passphrase = given.passphrase.as_deref();
    shows_who_they_are(&state, door, passphrase, &knock).await?;
    // The result that is signed does not change under it.
    let turn = state.results_turn().await;
    let found = state.book().store().sample(id).await?;
    let sight = Sight::of(Looking(Some(who)), None);
    if keeps_back(&state, sight, &found.tubes).await? {
        return Err(decide_first());
    }
    let Some(result) = found.determinations.first() else {
        return Err(Problem::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "result",
            "There is no result",
            "nothing has been stated of this sample that could be signed off; state a result first",
        ));
    };
    let draft = Draft::new(kept::SignOff {
        sample: id,
        sample_record: given.sample_record,
        determination: result.id,
        result_record: given.result_record,
        verdict_record: given.verdict_record,
        range_text: result.determination.range_text.clone(),
        meaning: given.meaning.into(),
        statement: given.statement.filter(|text| !text.trim().is_empty()),
        pictures_sha256: pictures_signed(state.book(), id).await?,
        withdrawn: false,
    });
    super::append_one(&state, who.id, draft).await?;
    drop(turn);
    newest(&state, id)
        .await
        .map(|one| (StatusCode::CREATED, one))
}

/// A signature is a person's own: whoever signs showed just now who they are, or does so with it. An open book takes
/// everybody at their word.
async fn shows_who_they_are(
    state: &AppState,
    door: Option<Extension<AtTheDoor>>,
    passphrase: Option<&str>,
    knock: &Knock,
) -> Result<(), Problem> {
    let Some(guarded) = state.guarded() else {
        return Ok(());
    };
    let visitor = door.and_then(|Extension(door)| door.visitor);
    // The table lets no token come here; nothing rests on that.
    let Some(visitor) = visitor.filter(|visitor| visitor.how == How::Session) else {
        return Err(prove());
    };
    let Some(passphrase) = passphrase else {
        let is_fresh = visitor.proved_s + PROVED_S > now_s();
        return if is_fresh { Ok(()) } else { Err(prove()) };
    };
    let id = visitor.who.id.to_string();
    guarded
        .accounts()
        .prove(&id, &visitor.name, passphrase, "sign-off", knock)
        .await
        .map_err(|error| match error {
            AccountError::Refused => Problem::new(
                StatusCode::FORBIDDEN,
                "refused-signature",
                "Not signed",
                "this is not your passphrase; nothing was signed. Check it and try again",
            ),
            other => failed(&other),
        })
}

fn prove() -> Problem {
    Problem::new(
        StatusCode::FORBIDDEN,
        "prove",
        "Show that it is you",
        "a signature needs your passphrase, or that you logged in within the last five minutes; give the passphrase with it, or log in again, and sign then",
    )
}

/// Take a signature back
#[utoipa::path(post, path = "/api/sign-offs/{id}/withdraw", tag = "reports", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = TakeBackRequest, responses((status = 200, body = SignOff), Problems))]
async fn take_back(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<SignOffId>,
    Body(given): Body<TakeBackRequest>,
) -> Result<Json<SignOff>, Problem> {
    let record = state.book().store().latest(id.into()).await?;
    let Entry::SignOff(signed) = record.entry else {
        return Err(Problem::unknown(format!("{id} is no sign-off")));
    };
    let sample = signed.sample;
    let back = kept::SignOff {
        withdrawn: true,
        ..signed
    };
    let draft = Draft::revision(id, given.supersedes, back).because(given.reason);
    super::append_one(&state, who.id, draft).await?;
    let found = state.book().store().sample(sample).await?;
    found
        .sign_offs
        .iter()
        .find(|row| row.id == id)
        .map(|row| Json(row.into()))
        .ok_or_else(|| Problem::unknown("the sign-off that was just taken back is not there"))
}

async fn newest(state: &AppState, sample: SampleId) -> Result<Json<SignOff>, Problem> {
    let found = state.book().store().sample(sample).await?;
    found
        .sign_offs
        .first()
        .map(|row| Json(row.into()))
        .ok_or_else(|| Problem::unknown("the sign-off that was just given is not there"))
}
