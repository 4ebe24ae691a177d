//! A run at a bench kept in a book, without pages.

use crate::live_benches::Keeper;
use crate::state::AppState;
use meltrange_bench::{OpenBench, OrderError, RunOrder};
use meltrange_labbook::{
    Bench, BenchId, BookError, Draft, LoadedTube, PersonId, RecordingId, Run, RunId, RunState,
};
use tokio::sync::oneshot;

/// A run that began.
#[derive(Debug)]
pub struct KeptRun {
    /// It.
    pub run: RunId,
    /// Its recording.
    pub recording: RecordingId,
    /// Resolves once the run is over and everything of it is in the book, with what could not be
    /// recorded.
    pub done: oneshot::Receiver<Option<String>>,
}

/// Why a run did not begin.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum KeptRunError {
    /// The book does not take it.
    #[error(transparent)]
    Book(#[from] BookError),
    /// The bench does not.
    #[error(transparent)]
    Bench(#[from] OrderError),
}

/// Whether the engine reads the recording afterwards by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Afterwards {
    /// It does.
    Read,
    /// Somebody else sees to it.
    Leave,
}

/// Begin a run in the name of a person. The book's record of the bench is made when there is none.
///
/// # Errors
/// [`KeptRunError`]; then nothing heats.
pub async fn begin_kept_run(
    state: &AppState,
    bench: &OpenBench,
    who: PersonId,
    order: RunOrder,
    load: Vec<LoadedTube>,
    afterwards: Afterwards,
) -> Result<KeptRun, KeptRunError> {
    bench.could_begin().await?;
    let run = Run {
        bench: Some(bench_record(state, who, bench).await?),
        load,
        state: RunState::UnderWay,
        remarks: None,
        programme: Some(order.programme.clone()),
    };
    let kept = Keeper::begin(state, who, run, afterwards).await?;
    if let Err(error) = bench.begin(order, kept.keeper).await {
        // The run's record stands already; it must not look as if it went on.
        let why = format!("it did not begin: {error}");
        let broken = state
            .book()
            .end_run(who, kept.run, RunState::Broken, Some(&why));
        broken.await?;
        return Err(error.into());
    }
    crate::bench_learning::keep_when_over(state.folder(), bench, kept.run);
    Ok(KeptRun {
        run: kept.run,
        recording: kept.recording,
        done: kept.done,
    })
}

async fn bench_record(
    state: &AppState,
    who: PersonId,
    bench: &OpenBench,
) -> Result<BenchId, BookError> {
    let file = bench.file();
    let rows = state.book().store().benches().await?;
    if let Some(row) = rows.into_iter().find(|row| row.bench.name == file.name) {
        return Ok(row.id);
    }
    let draft = Draft::new(Bench {
        name: file.name.clone(),
        places: file.places,
        max_c: Some(file.max_c),
        ..Bench::default()
    });
    let id = draft.subject().into();
    state.book().append(who, vec![draft]).await?;
    Ok(id)
}
