//! Imports and readings: one after the other in a bounded queue, their progress told as it happens.

use crate::engine;
use crate::limits::{REMEMBERED_WORK, WAITING_WORK, WORK_EVENT_SPACING};
use crate::problem::Problem;
use crate::state::{AppState, locked};
use crate::wire::{Work, WorkKind, WorkState};
use axum::http::StatusCode;
use meltrange_labbook::{ImportOrder, PersonId, RecordingId};
use std::collections::VecDeque;
use std::ops::ControlFlow;
use std::sync::Mutex;
use std::time::Instant;
use tokio::sync::{broadcast, mpsc};
use uuid::Uuid;

/// What is to be done.
#[derive(Debug)]
pub(crate) enum Order {
    /// Two files that were sent become a recording.
    Import {
        order: Box<ImportOrder>,
        /// Files to remove once it is done.
        uploads: [Uuid; 2],
        /// Whether the engine reads it at once.
        read: bool,
    },
    /// The engine reads a recording.
    Reading {
        recording: RecordingId,
        /// How many tubes to expect.
        tubes: Option<u8>,
    },
}

/// An order with its number and who gave it.
#[derive(Debug)]
pub(crate) struct Ordered {
    id: Uuid,
    who: PersonId,
    order: Order,
}

/// All work, waiting, under way and just ended.
#[derive(Debug)]
pub(crate) struct Works {
    queue: mpsc::Sender<Ordered>,
    known: Mutex<VecDeque<Known>>,
    told: broadcast::Sender<Work>,
}

#[derive(Debug)]
struct Known {
    work: Work,
    told_at: Instant,
}

impl Works {
    /// No work yet, and where orders arrive.
    pub fn new() -> (Self, mpsc::Receiver<Ordered>) {
        let (queue, orders) = mpsc::channel(WAITING_WORK);
        let works = Self {
            queue,
            known: Mutex::default(),
            told: broadcast::Sender::new(256),
        };
        (works, orders)
    }

    /// Put an order in the queue.
    pub fn order(&self, who: PersonId, order: Order) -> Result<Work, Problem> {
        let id = Uuid::now_v7();
        let (kind, recording) = match &order {
            Order::Import { .. } => (WorkKind::Import, None),
            Order::Reading { recording, .. } => (WorkKind::Reading, Some(*recording)),
        };
        let work = Work {
            id,
            kind,
            state: WorkState::Queued,
            done_fraction: 0.0,
            who,
            recording,
            reading: None,
            problem: None,
        };
        let place = self.queue.try_reserve().map_err(|_| {
            Problem::new(
                StatusCode::SERVICE_UNAVAILABLE,
                "busy",
                "Too much is under way",
                format!(
                    "{WAITING_WORK} imports and readings wait already; try again when some are done"
                ),
            )
        })?;
        // Known and told before the task can take it and tell what comes next.
        self.remember(work.clone());
        // Without listeners there is nobody to tell.
        let _ = self.told.send(work.clone());
        place.send(Ordered { id, who, order });
        Ok(work)
    }

    fn remember(&self, work: Work) {
        let mut known = locked(&self.known);
        known.push_back(Known {
            work,
            told_at: Instant::now(),
        });
        while known.len() > REMEMBERED_WORK {
            match known.iter().position(|known| known.work.state.is_over()) {
                Some(at) => known.remove(at),
                None => break,
            };
        }
    }

    /// Some work that is known.
    pub fn get(&self, id: Uuid) -> Option<Work> {
        locked(&self.known)
            .iter()
            .find(|known| known.work.id == id)
            .map(|known| known.work.clone())
    }

    /// What is waiting or under way, in order.
    pub fn under_way(&self) -> Vec<Work> {
        locked(&self.known)
            .iter()
            .filter(|known| !known.work.state.is_over())
            .map(|known| known.work.clone())
            .collect()
    }

    /// All that is remembered, in order.
    pub fn latest(&self) -> Vec<Work> {
        let known = locked(&self.known);
        known.iter().map(|known| known.work.clone()).collect()
    }

    /// Hear of every change from now on.
    pub fn listen(&self) -> broadcast::Receiver<Work> {
        self.told.subscribe()
    }

    /// Change what is known of some work and tell it, not too often.
    fn change(&self, id: Uuid, change: impl FnOnce(&mut Work)) {
        let mut known = locked(&self.known);
        let Some(known) = known.iter_mut().find(|known| known.work.id == id) else {
            return;
        };
        let before = known.work.state;
        change(&mut known.work);
        if known.work.state != before || known.told_at.elapsed() >= WORK_EVENT_SPACING {
            known.told_at = Instant::now();
            // Without listeners there is nobody to tell.
            let _ = self.told.send(known.work.clone());
        }
    }
}

/// Do what is ordered until the program is to end.
pub(crate) fn begin(state: AppState, mut orders: mpsc::Receiver<Ordered>) {
    let mut closing = state.closing();
    tokio::spawn(async move {
        loop {
            let next = tokio::select! {
                _ = closing.wait_for(|closing| *closing) => break,
                next = orders.recv() => next,
            };
            let Some(Ordered { id, who, order }) = next else {
                break;
            };
            let task = Task {
                state: &state,
                id,
                who,
            };
            let done = tokio::select! {
                // What was under way is put in order when the book is opened again.
                _ = closing.wait_for(|closing| *closing) => break,
                done = task.run(order) => done,
            };
            state.works().change(id, |work| match done {
                Ok(()) => {
                    work.state = WorkState::Done;
                    work.done_fraction = 1.0;
                }
                Err(problem) => {
                    work.state = WorkState::Failed;
                    work.problem = Some(problem);
                }
            });
        }
    });
}

/// One order being done.
struct Task<'a> {
    state: &'a AppState,
    id: Uuid,
    who: PersonId,
}

impl Task<'_> {
    async fn run(&self, order: Order) -> Result<(), Problem> {
        match order {
            Order::Import {
                order,
                uploads,
                read,
            } => self.import(*order, uploads, read).await,
            Order::Reading { recording, tubes } => self.read(recording, tubes).await,
        }
    }

    async fn import(
        &self,
        order: ImportOrder,
        uploads: [Uuid; 2],
        read: bool,
    ) -> Result<(), Problem> {
        self.enter(WorkState::Copying);
        // Messages name files as the person knows them.
        let names = uploads.map(|id| self.state.uploads().get(id).ok());
        let named = |mut problem: Problem| {
            for held in names.iter().flatten() {
                problem = problem.naming(&held.path, &held.upload.name);
            }
            problem
        };
        let imported = self
            .state
            .book()
            .import(self.who, order, self.progress())
            .await
            .map_err(|error| named(error.into()))?;
        for id in uploads {
            self.state.uploads().remove(id);
        }
        let recording = imported.recording;
        self.state
            .works()
            .change(self.id, |work| work.recording = Some(recording));
        self.enter(WorkState::MakingPictures);
        let mut progress = self.progress();
        let mut closing = self.state.closing();
        self.state
            .book()
            .make_pictures(recording, move |done| {
                progress(done);
                if *closing.borrow_and_update() {
                    ControlFlow::Break(())
                } else {
                    ControlFlow::Continue(())
                }
            })
            .await?;
        self.state.pictures().forget(recording);
        if read {
            self.read(recording, None).await?;
        }
        Ok(())
    }

    async fn read(&self, recording: RecordingId, tubes: Option<u8>) -> Result<(), Problem> {
        self.enter(WorkState::Reading);
        let reading = engine::read(self.state, self.who, recording, tubes, self.progress()).await?;
        self.state
            .works()
            .change(self.id, |work| work.reading = Some(reading));
        Ok(())
    }

    fn enter(&self, state: WorkState) {
        self.state.works().change(self.id, |work| {
            work.state = state;
            work.done_fraction = 0.0;
        });
    }

    /// Told how much is done, on whatever thread does it.
    fn progress(&self) -> impl FnMut(f64) + Send + 'static {
        let (state, id) = (self.state.clone(), self.id);
        move |done| {
            state
                .works()
                .change(id, |work| work.done_fraction = done.clamp(0.0, 1.0));
        }
    }
}
