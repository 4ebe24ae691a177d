//! Who measures, reads and decides.

use crate::extract::{Acting, Body};
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{NewPerson, People, Person};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use meltrange_labbook::{self as kept, Draft};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new().routes(routes!(people, add_person))
}

/// Everybody in the book
#[utoipa::path(get, path = "/api/people", tag = "people", responses((status = 200, body = People), Problems))]
async fn people(State(state): State<AppState>) -> Result<Json<People>, Problem> {
    let people = state.book().store().people().await?;
    Ok(Json(People {
        people: people.into_iter().map(Person::from).collect(),
    }))
}

/// Add somebody
#[utoipa::path(post, path = "/api/people", tag = "people", security(("person" = [])), request_body = NewPerson, responses((status = 201, body = Person), Problems))]
async fn add_person(
    State(state): State<AppState>,
    Acting(who): Acting,
    Body(given): Body<NewPerson>,
) -> Result<(StatusCode, Json<Person>), Problem> {
    let draft = Draft::new(kept::Person {
        name: given.name.clone(),
        role: given.role.into(),
    });
    let id = draft.subject().into();
    let record = super::append_one(&state, who.id, draft).await?;
    let person = Person {
        id,
        record: record.id,
        name: given.name,
        role: given.role,
    };
    Ok((StatusCode::CREATED, Json(person)))
}
