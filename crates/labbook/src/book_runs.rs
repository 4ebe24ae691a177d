//! A book's runs: begun, what happened in them, ended.

use crate::book::{Book, Handed};
use crate::error::BookError;
use crate::ids::{PersonId, RunId};
use crate::records::{Draft, Entry, Event, EventKind, Run, RunState};

impl Book {
    /// Begin a run: whatever state `run` names, it is under way.
    ///
    /// # Errors
    /// [`BookError`]; then nothing was recorded.
    pub async fn begin_run(&self, who: PersonId, run: Run) -> Result<RunId, BookError> {
        let draft = Draft::new(Run {
            state: RunState::UnderWay,
            ..run
        });
        let id = draft.subject().into();
        self.append(who, vec![draft]).await?;
        Ok(id)
    }

    /// Say how a run under way ended; one that broke needs a reason.
    ///
    /// # Errors
    /// [`BookError`]: there is no such run, it is over already, `state` is no end, or the reason is
    /// missing.
    pub async fn end_run(
        &self,
        who: PersonId,
        run: RunId,
        state: RunState,
        reason: Option<&str>,
    ) -> Result<Handed, BookError> {
        let state_is = |found: RunState, expected| BookError::Field {
            field: "run.state",
            found: found.name().into(),
            expected,
        };
        if state == RunState::UnderWay {
            return Err(state_is(state, "ended or broken"));
        }
        let unknown = || BookError::Unknown {
            what: "run",
            name: run.to_string(),
        };
        let latest = match self.store().latest(run.into()).await {
            Err(BookError::Unknown { .. }) => return Err(unknown()),
            other => other?,
        };
        let Entry::Run(begun) = latest.entry else {
            return Err(unknown());
        };
        if begun.state != RunState::UnderWay {
            return Err(state_is(begun.state, "a run that is still under way"));
        }
        let mut draft = Draft::revision(run, latest.id, Run { state, ..begun });
        if let Some(reason) = reason {
            draft = draft.because(reason);
        }
        self.append_or_keep(who, vec![draft]).await
    }

    /// Record what happened in a run, in this order: time from its start [s], what, in words. All of
    /// it or nothing.
    ///
    /// # Errors
    /// [`BookError`]; then nothing was recorded.
    pub async fn record_events(
        &self,
        who: PersonId,
        run: RunId,
        happened: Vec<(f64, EventKind, String)>,
    ) -> Result<Handed, BookError> {
        if happened.is_empty() {
            return Ok(Handed::Recorded(Vec::new()));
        }
        let drafts = happened
            .into_iter()
            .map(|(time_s, what, text)| {
                Draft::new(Event {
                    run,
                    time_s,
                    what,
                    text,
                })
            })
            .collect();
        self.append_or_keep(who, drafts).await
    }
}
