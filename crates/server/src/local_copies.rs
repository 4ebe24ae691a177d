//! This machine's copies of recordings that the store of a shared book has: kept for a while, not for ever.

use crate::state::AppState;
use std::time::Duration;

/// How often it is looked for some that nobody opens any more.
const LOOKED: Duration = Duration::from_secs(3600);

const DAY_S: u64 = 86_400;

/// Remove those that nobody opened for so many days, from time to time, until the state closes.
pub(crate) fn keep_for(state: &AppState, days: u32) {
    if state.book().shared_at().is_none() {
        return;
    }
    let state = state.clone();
    let unopened = Duration::from_secs(u64::from(days) * DAY_S);
    tokio::spawn(async move {
        let mut closing = state.closing();
        loop {
            match state.book().let_go_unopened(unopened).await {
                Ok(0) => {}
                Ok(gone) => {
                    state.pictures().forget_all();
                    tracing::info!(gone, days, "copies of recordings were removed here");
                }
                Err(error) => {
                    tracing::warn!(%error, "copies of recordings could not be removed here");
                }
            }
            tokio::select! {
                () = tokio::time::sleep(LOOKED) => {}
                _ = closing.wait_for(|closing| *closing) => return,
            }
        }
    });
}
