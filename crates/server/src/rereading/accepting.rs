//! What was accepted is recorded, piece by piece, by whichever process comes to it.

use crate::state::AppState;
use meltrange_labbook::{Book, BookError, RereadState};
use std::time::Duration;
use uuid::Uuid;

/// How long a database that is out of reach is left alone.
const AGAIN: Duration = Duration::from_secs(10);

/// Record all that was accepted; `progress` hears how many are left.
///
/// # Errors
/// [`BookError`]; what was not recorded is recorded by a later call.
pub async fn accept_all(
    book: &Book,
    id: Uuid,
    mut progress: impl FnMut(u64),
) -> Result<u64, BookError> {
    let mut recorded = 0;
    loop {
        let some = book.rereadings()?.accept_some(id).await?;
        recorded += some.recorded;
        progress(some.left);
        // Those that another process records at this moment are its to end.
        if some.left == 0 || some.recorded == 0 {
            return Ok(recorded);
        }
    }
}

/// The one that is being accepted, if there is one.
pub(super) async fn under_way(book: &Book) -> Result<Option<Uuid>, BookError> {
    let all = book.rereadings()?.all().await?;
    Ok(all
        .into_iter()
        .find(|one| one.state == RereadState::Accepting)
        .map(|one| one.id))
}

/// Begin, or go on with, what was accepted, in a task that ends with the program: where it is cut off, the next
/// one to begin goes on.
pub(crate) fn go_on_accepting(state: &AppState) {
    if state.book().shared_at().is_none() {
        return;
    }
    let state = state.clone();
    tokio::spawn(async move {
        let mut closing = state.closing();
        let work = async {
            loop {
                let done = match under_way(state.book()).await {
                    Ok(Some(id)) => accept_all(state.book(), id, |_| ()).await.map(|_| ()),
                    Ok(None) => Ok(()),
                    Err(error) => Err(error),
                };
                match done {
                    Ok(()) => return,
                    Err(error) if error.is_out_of_reach() => tokio::time::sleep(AGAIN).await,
                    Err(error) => {
                        tracing::warn!(%error, "what was accepted could not be recorded");
                        return;
                    }
                }
            }
        };
        tokio::select! {
            () = work => {}
            _ = closing.wait_for(|closing| *closing) => {}
        }
    });
}
