//! Reader against reader.

use crate::extract::{Acting, Asked, no_student};
use crate::practicals::names_of;
use crate::practice::{ReaderOf, agreement, compared, observed, readers_of};
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{
    AgreementEnd, ComparedEnd, ComparedOf, ComparedReader, ReadEnd, ReaderAgreement,
    ReaderComparison,
};
use axum::Json;
use axum::extract::State;
use serde::Deserialize;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// In the place of a second reader: what is known.
const REFERENCE: &str = "reference";

const ENDS: [ReadEnd; 2] = [ReadEnd::FirstLiquid, ReadEnd::LastCrystal];

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(comparison))
        .routes(routes!(limits))
}

/// By what.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct ComparedQuery {
    /// Exercises, or the book's own recordings.
    of: ComparedOf,
}

/// Whom.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct LimitsQuery {
    /// Exercises, or the book's own recordings.
    of: ComparedOf,
    /// One reader, as the comparison names them.
    one: String,
    /// Another, or "reference".
    other: String,
}

fn id_of(reader: &ReaderOf) -> String {
    match reader {
        ReaderOf::Person(person) => person.to_string(),
        ReaderOf::Engine(program) => format!("engine {program}"),
    }
}

/// Readers compared
///
/// Bias and precision of each, and repeatability, reproducibility, Mandel's h and k, Cochran's and Grubbs' tests as ISO 5725-2
/// has them. Supervisors and analysts.
#[utoipa::path(get, path = "/api/readers/comparison", tag = "practice", security(("person" = [])), params(ComparedQuery), responses((status = 200, body = ReaderComparison), Problems))]
async fn comparison(
    State(state): State<AppState>,
    Acting(who): Acting,
    Asked(asked): Asked<ComparedQuery>,
) -> Result<Json<ReaderComparison>, Problem> {
    no_student(who, "readers are compared")?;
    let all = observed(&state, asked.of).await?;
    let readers = readers_of(&all);
    let ids: Vec<String> = readers.iter().map(id_of).collect();
    let names = names_of(&state).await?;
    let shown = readers.iter().map(|reader| ComparedReader {
        id: id_of(reader),
        name: match reader {
            ReaderOf::Person(person) => names.get(person).cloned().unwrap_or_default(),
            ReaderOf::Engine(program) => program.clone(),
        },
        engine: matches!(reader, ReaderOf::Engine(_)),
    });
    Ok(Json(ReaderComparison {
        of: asked.of,
        readers: shown.collect(),
        ends: ENDS
            .into_iter()
            .enumerate()
            .map(|(at, end)| {
                let found = compared(&all, &readers, &ids, at);
                ComparedEnd {
                    end,
                    missing: found.as_ref().err().map(ToString::to_string),
                    comparison: found.ok(),
                }
            })
            .collect(),
    }))
}

/// How far two readers agree
///
/// Limits of agreement of two readers who read the same, or of one with what is known. Supervisors and analysts.
#[utoipa::path(get, path = "/api/readers/agreement", tag = "practice", security(("person" = [])), params(LimitsQuery), responses((status = 200, body = ReaderAgreement), Problems))]
async fn limits(
    State(state): State<AppState>,
    Acting(who): Acting,
    Asked(asked): Asked<LimitsQuery>,
) -> Result<Json<ReaderAgreement>, Problem> {
    no_student(who, "readers are compared")?;
    let all = observed(&state, asked.of).await?;
    let readers = readers_of(&all);
    let named = |id: &str| {
        let found = readers.iter().find(|reader| id_of(reader) == id);
        found.ok_or_else(|| {
            Problem::unknown("there is no such reader; the comparison names those there are")
        })
    };
    let one = named(&asked.one)?;
    let other = match asked.other.as_str() {
        REFERENCE => None,
        id => Some(named(id)?),
    };
    Ok(Json(ReaderAgreement {
        ends: ENDS
            .into_iter()
            .enumerate()
            .map(|(at, end)| {
                let found = agreement(&all, one, other, at);
                AgreementEnd {
                    end,
                    missing: found.as_ref().err().map(ToString::to_string),
                    limits: found.ok(),
                }
            })
            .collect(),
    }))
}
