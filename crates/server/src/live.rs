//! One page that listens.

use crate::limits::MISSED_CHANGES;
use crate::problem::Problem;
use crate::state::AppState;
use crate::wire::{Change, Work};
use axum::response::sse::Event;
use meltrange_labbook as kept;
use serde::Serialize;
use std::collections::VecDeque;
use tokio::sync::broadcast::Receiver;
use tokio::sync::broadcast::error::RecvError;
use tokio::sync::watch;

/// Records asked for at a time.
const PIECE: u32 = 500;

/// Milliseconds until a page tries again.
const RETRY: std::time::Duration = std::time::Duration::from_secs(1);

/// One page that listens: what it has seen, and what it is to be told next.
#[derive(Debug)]
pub(crate) struct Listener {
    state: AppState,
    changes: Receiver<kept::Change>,
    works: Receiver<Work>,
    closing: watch::Receiver<bool>,
    seen: u64,
    next: VecDeque<Event>,
}

enum Heard {
    Change(Result<kept::Change, RecvError>),
    Work(Result<Work, RecvError>),
}

#[derive(Serialize)]
struct Stand {
    seq: u64,
}

impl Listener {
    /// From after the change `last`, or from now on.
    pub async fn begin(state: AppState, last: Option<u64>) -> Result<Self, Problem> {
        // Heard first, asked then: nothing falls in between.
        let changes = state.book().changes();
        let works = state.works().listen();
        let head = state.book().store().head().await?.seq;
        let mut listener = Self {
            changes,
            works,
            closing: state.closing(),
            seen: last.unwrap_or(head),
            next: VecDeque::new(),
            state,
        };
        match last {
            None => listener.stand("begin", head),
            Some(last) if last > head || head - last > MISSED_CHANGES => {
                listener.seen = head;
                listener.stand("afresh", head);
            }
            Some(_) => listener.catch_up().await?,
        }
        for work in listener.state.works().under_way() {
            listener.push(event("work", &work));
        }
        Ok(listener)
    }

    /// The next event; none when the program is to end.
    pub async fn next(&mut self) -> Option<Event> {
        loop {
            if let Some(event) = self.next.pop_front() {
                return Some(event);
            }
            let Self {
                changes,
                works,
                closing,
                ..
            } = self;
            let heard = tokio::select! {
                _ = closing.wait_for(|closing| *closing) => return None,
                change = changes.recv() => Heard::Change(change),
                work = works.recv() => Heard::Work(work),
            };
            match heard {
                Heard::Change(change) => match change {
                    Ok(change) => self.change(change),
                    // It fell behind: the book knows what it missed.
                    Err(RecvError::Lagged(_)) => {
                        if let Err(problem) = self.catch_up().await {
                            tracing::warn!(detail = %problem.detail, "an event connection ended");
                            return None;
                        }
                    }
                    Err(RecvError::Closed) => return None,
                },
                Heard::Work(work) => match work {
                    Ok(work) => self.push(event("work", &work)),
                    Err(RecvError::Lagged(_)) => {
                        for work in self.state.works().latest() {
                            self.push(event("work", &work));
                        }
                    }
                    Err(RecvError::Closed) => return None,
                },
            }
        }
    }

    async fn catch_up(&mut self) -> Result<(), Problem> {
        loop {
            let missed = self.state.book().store().after(self.seen, PIECE).await?;
            if missed.is_empty() {
                return Ok(());
            }
            for record in &missed {
                self.change(kept::Change::from(record));
            }
        }
    }

    fn change(&mut self, change: kept::Change) {
        // Heard and asked for: told once.
        if change.seq > self.seen {
            self.seen = change.seq;
            let told = event("change", &Change::from(change)).id(change.seq.to_string());
            self.push(told);
        }
    }

    fn stand(&mut self, name: &'static str, seq: u64) {
        let told = event(name, &Stand { seq }).id(seq.to_string()).retry(RETRY);
        self.push(told);
    }

    fn push(&mut self, event: Event) {
        self.next.push_back(event);
    }
}

fn event(name: &'static str, data: &impl Serialize) -> Event {
    let text = serde_json::to_string(data).unwrap_or_default();
    Event::default().event(name).data(text)
}
