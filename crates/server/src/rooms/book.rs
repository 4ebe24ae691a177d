//! The book that is open.

use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::Book;
use axum::Json;
use axum::extract::State;
use meltrange_labbook::{Entry, RecordingQuery, SampleQuery};
use meltrange_metrology::AGREE_WITHIN_C;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// The usual cautions. They defer to local rules and to whoever answers for the room.
const CAUTIONS: [&str; 5] = [
    "A heating block stays hot long after a run: let it cool, or use tongs, before touching it or the tubes in it.",
    "Capillaries break easily and are sharp: wear eye protection, push them in without force, and put broken glass into the container for it.",
    "Many solids give off vapour or decompose when heated: work under an extract where there is one, and do not lean over the block.",
    "Treat an unknown as harmful. Nothing noted as a hazard does not mean that there is none; energetic substances do not belong into a melting range apparatus.",
    "Local rules, the safety data sheet and the responsible person come before anything this program says.",
];

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new().routes(routes!(book))
}

/// The book that is open
///
/// Its title, where its chain ends, how much it holds, and the usual cautions.
#[utoipa::path(get, path = "/api/book", tag = "book", responses((status = 200, body = Book), Problems))]
async fn book(State(state): State<AppState>) -> Result<Json<Book>, Problem> {
    let store = state.book().store();
    let head = store.head().await?;
    let opening = store.after(0, 1).await?.into_iter().next();
    let (title, made_by) = match opening.map(|record| record.entry) {
        Some(Entry::Opening(opening)) => (opening.title, opening.program),
        _ => (String::new(), String::new()),
    };
    let none = SampleQuery {
        limit: 0,
        ..SampleQuery::default()
    };
    let no_recordings = RecordingQuery {
        limit: 0,
        ..RecordingQuery::default()
    };
    Ok(Json(Book {
        title,
        made_by,
        served_by: concat!("meltrange ", env!("CARGO_PKG_VERSION")).into(),
        records: head.seq,
        head_sha256: head.hash.map(|hash| hash.to_string()),
        people: store.people().await?.len() as u64,
        samples: store.samples(&none).await?.total,
        recordings: store.recordings(&no_recordings).await?.total,
        agree_within_c: AGREE_WITHIN_C,
        cautions: CAUTIONS.map(str::to_owned).into(),
    }))
}
