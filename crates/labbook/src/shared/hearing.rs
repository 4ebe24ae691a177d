//! Hearing of what others record in a shared book, and handing over what waits on this machine.

use super::central::Central;
use super::outbox::Outbox;
use crate::announcing::Announcing;
use crate::error::BookError;
use sqlx::postgres::PgListener;
use std::sync::Arc;
use std::time::Duration;

/// A database out of reach is tried again after this.
const AGAIN: Duration = Duration::from_secs(1);

/// Whatever was told, the chain is asked after this: a lost message costs no more.
const ASKED: Duration = Duration::from_secs(20);

/// What hears and hands over.
#[derive(Debug, Clone)]
pub(crate) struct Hearing {
    /// The copy that is brought up to date, and whoever listens in this process.
    pub chain: Announcing,
    /// The chain.
    pub central: Arc<Central>,
    /// What waits.
    pub outbox: Arc<Outbox>,
}

impl Hearing {
    /// Until the task is ended.
    pub async fn hear(self) {
        loop {
            if let Ok(mut listener) = self.central.listen().await {
                // It is out of reach; what is missed meanwhile is taken over when it is back.
                let _ = self.follow(&mut listener).await;
            }
            tokio::time::sleep(AGAIN).await;
        }
    }

    async fn follow(&self, listener: &mut PgListener) -> Result<(), BookError> {
        loop {
            // What was told before the listener was there, or while it was lost, is asked for.
            self.chain.catch_up(&self.central).await?;
            self.outbox.hand_over(&self.chain, &self.central).await?;
            let heard = tokio::select! {
                heard = listener.recv() => heard.map(|_| ()),
                () = self.outbox.filled() => Ok(()),
                () = tokio::time::sleep(ASKED) => Ok(()),
            };
            heard.map_err(|source| BookError::central(self.central.shown(), source))?;
        }
    }
}
