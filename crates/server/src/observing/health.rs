//! Whether a server is well.

use crate::state::AppState;
use serde::Serialize;

/// How well a server is.
#[derive(Debug, Serialize)]
pub(super) struct Health {
    /// "well"; "apart" where the shared book is out of reach and the server goes on with its copy; "ill" where the
    /// book cannot be read or the server is ending.
    pub state: &'static str,
    /// In words, what is not as it should be.
    pub found: Vec<String>,
}

impl Health {
    /// Whether requests can be sent here.
    pub fn is_ready(&self) -> bool {
        self.state != "ill"
    }

    /// As it is now.
    pub async fn of(state: &AppState) -> Self {
        let mut found = Vec::new();
        let mut ill = false;
        if *state.closing().borrow() {
            found.push("the server is ending".into());
            ill = true;
        }
        if let Err(error) = state.book().store().head().await {
            found.push(format!("the book cannot be read: {error}"));
            ill = true;
        }
        let mut apart = false;
        if let Some(sharing) = state.book().sharing().await {
            if sharing.behind.is_none() {
                found.push(
                    "the database of the shared book does not answer; benches go on, what they record waits here"
                        .into(),
                );
                apart = true;
            }
            if sharing.waiting > 0 {
                found.push(format!(
                    "{} batches wait to be recorded in the shared book",
                    sharing.waiting
                ));
            }
            if sharing.refused > 0 {
                found.push(format!(
                    "{} batches were refused by the shared book; look into outbox/refused",
                    sharing.refused
                ));
            }
        }
        Self {
            state: match (ill, apart) {
                (true, _) => "ill",
                (false, true) => "apart",
                (false, false) => "well",
            },
            found,
        }
    }
}
