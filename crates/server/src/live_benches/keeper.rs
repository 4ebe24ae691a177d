//! Keeps what a run gives in the book: pictures and temperatures through the recording's writer, events
//! and the end as records. Nothing here makes the run wait.

use super::marks;
use crate::kept_run::Afterwards;
use crate::state::AppState;
use crate::work::Order;
use meltrange_bench::{Happening, Mark, Phase, Recorder, RunEvent};
use meltrange_labbook::{
    BookError, EventKind, LoadedTube, PersonId, RecordingId, RecordingWriter, Run, RunId, RunState,
};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{mpsc, oneshot};

/// The book is tried again after this.
const AGAIN: Duration = Duration::from_secs(1);
/// So often; then what could not be recorded is given up, loudly.
const TRIES: u32 = 120;

/// A run that is being kept.
pub(crate) struct Kept {
    pub run: RunId,
    pub recording: RecordingId,
    /// For the bench.
    pub keeper: Box<Keeper>,
    /// Resolves when everything of it is in the book, with what went wrong.
    pub done: oneshot::Receiver<Option<String>>,
}

/// The bench's side.
pub(crate) struct Keeper {
    writer: Option<RecordingWriter>,
    to: mpsc::UnboundedSender<Note>,
}

enum Note {
    Events(Vec<RunEvent>),
    Recorded(Box<RecordingWriter>, Vec<Mark>),
    Over { broken: bool, why: String },
}

impl Keeper {
    /// Begin to keep a run: its record and that of its recording are written first.
    pub async fn begin(
        state: &AppState,
        who: PersonId,
        run: Run,
        afterwards: Afterwards,
    ) -> Result<Kept, BookError> {
        let load = run.load.clone();
        let id = state.book().begin_run(who, run).await?;
        let writer = state.book().begin_recording(who, id).await?;
        let recording = writer.recording();
        let (to, notes) = mpsc::unbounded_channel();
        let (tell, done) = oneshot::channel();
        let desk = Desk {
            state: state.clone(),
            who,
            run: id,
            recording,
            load,
            afterwards,
        };
        tokio::spawn(async move {
            // Whoever waited may have gone.
            let _ = tell.send(desk.work(notes).await);
        });
        Ok(Kept {
            run: id,
            recording,
            keeper: Box::new(Self {
                writer: Some(writer),
                to,
            }),
            done,
        })
    }

    fn note(&self, note: Note) {
        // The other side ends with the program only.
        let _ = self.to.send(note);
    }

    fn writer(&mut self) -> Result<&mut RecordingWriter, String> {
        self.writer
            .as_mut()
            .ok_or_else(|| "the recording has ended".to_owned())
    }
}

impl Recorder for Keeper {
    fn picture(&mut self, time_s: f64, jpeg: Arc<[u8]>) -> Result<(), String> {
        self.writer()?
            .frame(time_s, jpeg.to_vec())
            .map_err(|error| error.to_string())
    }

    fn temperature(&mut self, time_s: f64, temperature_c: f64) -> Result<(), String> {
        self.writer()?
            .temperature(time_s, temperature_c)
            .map_err(|error| error.to_string())
    }

    fn events(&mut self, events: Vec<RunEvent>) {
        self.note(Note::Events(events));
    }

    fn trouble(&self) -> Option<String> {
        self.writer.as_ref().and_then(RecordingWriter::trouble)
    }

    fn recorded(&mut self, marks: &[Mark]) {
        if let Some(writer) = self.writer.take() {
            self.note(Note::Recorded(Box::new(writer), marks.to_vec()));
        }
    }

    fn over(mut self: Box<Self>, phase: Phase, why: &str, marks: &[Mark]) {
        self.recorded(marks);
        self.note(Note::Over {
            broken: phase == Phase::Broken,
            why: why.to_owned(),
        });
    }
}

/// The book's side.
struct Desk {
    state: AppState,
    who: PersonId,
    run: RunId,
    recording: RecordingId,
    load: Vec<LoadedTube>,
    afterwards: Afterwards,
}

impl Desk {
    /// Until the run is over; what could not be recorded, in words.
    async fn work(self, mut notes: mpsc::UnboundedReceiver<Note>) -> Option<String> {
        let mut lost = None;
        while let Some(note) = notes.recv().await {
            let kept = match note {
                Note::Events(events) => self.events(&events).await,
                Note::Recorded(writer, marks) => self.recorded(*writer, &marks).await,
                Note::Over { broken, why } => {
                    let kept = self.over(broken, &why).await;
                    if let Err(error) = kept {
                        lost = Some(self.lose(&error));
                    }
                    return lost;
                }
            };
            if let Err(error) = kept {
                lost = Some(self.lose(&error));
            }
        }
        lost
    }

    fn lose(&self, error: &BookError) -> String {
        let said = crate::problem::in_full(error);
        tracing::error!(run = %self.run, error = %said, "something of a run was not recorded");
        said
    }

    async fn events(&self, events: &[RunEvent]) -> Result<(), BookError> {
        let rows: Vec<(f64, EventKind, String)> = events
            .iter()
            .map(|event| (event.time_s, kind(event.what), event.text.clone()))
            .collect();
        let mut tries = 0;
        loop {
            let kept = self
                .state
                .book()
                .record_events(self.who, self.run, rows.clone());
            match kept.await {
                Ok(_) => return Ok(()),
                Err(error) if tries >= TRIES => return Err(error),
                Err(error) => {
                    tries += 1;
                    tracing::warn!(%error, "an event waits to be recorded");
                    tokio::time::sleep(AGAIN).await;
                }
            }
        }
    }

    async fn recorded(&self, writer: RecordingWriter, marks: &[Mark]) -> Result<(), BookError> {
        let ended = self.state.book().end_recording(self.who, writer).await?;
        self.state.pictures().forget(self.recording);
        self.marked(marks).await?;
        // A recording whose end waits to be recorded cannot have a reading yet; it will wait as one to be read.
        if self.afterwards == Afterwards::Read && ended.recorded().is_some() {
            let order = Order::Reading {
                recording: self.recording,
                tubes: None,
            };
            if let Err(problem) = self.state.works().order(self.who, order) {
                // It waits as a recording to be read.
                tracing::warn!(detail = %problem.detail, "a recording is not read by itself");
            }
        }
        Ok(())
    }

    /// What each person marked, as their own reading.
    async fn marked(&self, marks: &[Mark]) -> Result<(), BookError> {
        let people = self.state.book().store().people().await?;
        let mut names: Vec<&str> = marks.iter().map(|mark| mark.by.as_str()).collect();
        names.sort_unstable();
        names.dedup();
        for name in names {
            let own: Vec<Mark> = marks
                .iter()
                .filter(|mark| mark.by == name)
                .cloned()
                .collect();
            let known = people.iter().find(|person| person.name == name);
            let person = known.map_or(self.who, |person| person.id);
            if let Some(reading) = marks::reading(self.recording, person, &own, &self.load) {
                let draft = meltrange_labbook::Draft::new(reading);
                self.state
                    .book()
                    .append_or_keep(person, vec![draft])
                    .await?;
            }
        }
        Ok(())
    }

    async fn over(&self, broken: bool, why: &str) -> Result<(), BookError> {
        let (state, why) = if broken {
            (RunState::Broken, Some(why))
        } else {
            (RunState::Ended, None)
        };
        self.state
            .book()
            .end_run(self.who, self.run, state, why)
            .await?;
        Ok(())
    }
}

fn kind(what: Happening) -> EventKind {
    match what {
        Happening::Leg => EventKind::Leg,
        Happening::Pressed => EventKind::Pressed,
        Happening::Marked => EventKind::Marked,
        Happening::Called => EventKind::Called,
        Happening::Fault => EventKind::Fault,
        Happening::Mended => EventKind::Mended,
        Happening::Device => EventKind::Device,
        Happening::Doubt => EventKind::Doubt,
        Happening::Over => EventKind::Over,
    }
}
