//! What is learned of a bench from its runs.

use crate::bench_learning::{learn_from_runs, standing};
use crate::extract::Acting;
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::BenchLearning;
use axum::Json;
use axum::extract::{Path, State};
use std::time::Duration;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// Nobody asks in between; learning ends by itself.
const LONGEST: Duration = Duration::from_secs(120);

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(learned))
        .routes(routes!(learn))
}

/// What was learned of a bench, and whether its latest run still does the same
#[utoipa::path(get, path = "/api/live/{bench}/learned", tag = "live", params(("bench" = String, Path)), responses((status = 200, body = BenchLearning), Problems))]
async fn learned(
    State(state): State<AppState>,
    Path(name): Path<String>,
) -> Result<Json<BenchLearning>, Problem> {
    let file = state.live().file(&name)?;
    blocking(move || {
        let (run_logs, doubts) = standing(state.folder(), &file);
        Ok(BenchLearning {
            learned: file.learned,
            run_logs,
            doubts,
        })
    })
    .await
}

/// Learn a bench from its latest runs
///
/// Some seconds. Written into the bench file; a bench that is open takes it when it is opened anew.
#[utoipa::path(post, path = "/api/live/{bench}/learn", tag = "live", security(("person" = [])), params(("bench" = String, Path)), responses((status = 200, body = BenchLearning), Problems))]
async fn learn(
    State(state): State<AppState>,
    _: Acting,
    Path(name): Path<String>,
) -> Result<Json<BenchLearning>, Problem> {
    let (file, path) = state.live().file_and_path(&name)?;
    let book = state.folder().to_path_buf();
    // As many at once as plans of sessions: it takes all there is of the machine.
    let learned = state.searches().run(LONGEST, move |_| {
        let (run_logs, doubts) = standing(&book, &file);
        let learned = learn_from_runs(&book, &path, &file)?;
        Ok(BenchLearning {
            learned: Some(learned),
            run_logs,
            doubts,
        })
    });
    learned.await?.map(Json)
}

async fn blocking(
    work: impl FnOnce() -> Result<BenchLearning, Problem> + Send + 'static,
) -> Result<Json<BenchLearning>, Problem> {
    tokio::task::spawn_blocking(work)
        .await
        .map_err(|error| Problem::internal(&error))?
        .map(Json)
}
