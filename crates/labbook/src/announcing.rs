//! Writing to a book's store and telling whoever listens, in the order of the chain.

use crate::book::Change;
use crate::error::BookError;
use crate::records::Record;
use crate::shared::Central;
use crate::sqlite::SqliteStore;
use crate::store::Batch;
use crate::when::When;
use std::sync::Arc;
use tokio::sync::{Mutex, broadcast};

/// Changes a slow listener may fall behind before it has to ask for what it missed.
const BACKLOG: usize = 1024;

/// Writes and tells.
#[derive(Debug, Clone)]
pub(crate) struct Announcing {
    /// What is written to.
    pub store: Arc<SqliteStore>,
    /// Whoever listens in this process.
    pub changes: broadcast::Sender<Change>,
    /// Keeps batches and their announcements in the same order.
    turn: Arc<Mutex<()>>,
}

impl Announcing {
    /// Nobody listens yet.
    pub fn of(store: SqliteStore) -> Self {
        Self {
            store: Arc::new(store),
            changes: broadcast::Sender::new(BACKLOG),
            turn: Arc::default(),
        }
    }

    /// Write a batch as of `when`; others' records that come before it are told, too.
    pub async fn write(&self, batch: Batch, when: Option<When>) -> Result<Vec<Record>, BookError> {
        let turn = self.turn.lock().await;
        let mut heard = Vec::new();
        let when = when.unwrap_or_else(When::now);
        let written = self.store.append_hearing(batch, when, &mut heard).await;
        heard.extend(written.iter().flatten().map(Change::from));
        self.tell(heard);
        drop(turn);
        written
    }

    /// Take over what others recorded in a shared book.
    pub async fn catch_up(&self, central: &Central) -> Result<(), BookError> {
        let turn = self.turn.lock().await;
        let mut heard = Vec::new();
        let outcome = central
            .within(async {
                let mut connection = central.connection().await?;
                self.store
                    .catch_up(central, &mut connection, &mut heard)
                    .await
            })
            .await;
        self.tell(heard);
        drop(turn);
        outcome
    }

    fn tell(&self, heard: Vec<Change>) {
        for change in heard {
            // Without listeners there is nobody to tell.
            let _ = self.changes.send(change);
        }
    }
}
