//! What a recording took in and the disk did not take yet: shared by whoever gives and the thread
//! that writes. The lock is never held while the disk is waited for.

use crate::error::BookError;
use std::path::{Path, PathBuf};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// Bytes in a mebibyte.
const MIB: f64 = 1_048_576.0;

/// A disk that does not answer for this long is spoken of.
const SLOW_AFTER: Duration = Duration::from_secs(2);

/// Shorter than this, nothing is known of how fast pictures come.
const RATE_AFTER: Duration = Duration::from_secs(1);

/// How much may wait, and for how long.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bounds {
    /// Bytes of pictures.
    pub picture_bytes: u64,
    /// Temperatures.
    pub temperatures: u64,
    /// How long an end waits for a disk that takes nothing.
    pub patience: Duration,
}

impl Bounds {
    /// Of a run at a bench: 256 MiB are some ten minutes of ten pictures a second of 40 kB; a million
    /// temperatures more than a day of ten a second.
    pub const USUAL: Self = Self {
        picture_bytes: 256 << 20,
        temperatures: 1_000_000,
        patience: Duration::from_secs(10),
    };
}

/// A picture with its time [s].
pub(super) type Picture = (f64, Box<[u8]>);

/// A temperature [°C] with its time [s].
pub(super) type Row = (f64, f64);

/// What the thread has to do.
pub(super) struct Turn {
    pub pictures: Vec<Picture>,
    pub rows: Vec<Row>,
    /// Somebody waits for everything to be on the disk.
    pub flush: bool,
    pub ending: bool,
}

#[derive(Debug)]
struct Trouble {
    said: String,
    since: Instant,
    /// Bytes of pictures given until then.
    given_then: u64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Phase {
    Going,
    Ending {
        since: Instant,
        patience: Duration,
    },
    /// Nobody waits any more: the thread must not touch the files again.
    Abandoned,
}

#[derive(Default)]
struct Flush {
    asked: bool,
    answer: Option<Result<(), BookError>>,
}

struct State {
    /// Not taken over by the thread yet.
    pictures: Vec<Picture>,
    rows: Vec<Row>,
    /// Not known to be on the disk, wherever they wait.
    held_pictures: u64,
    held_bytes: u64,
    held_rows: u64,
    /// Of all pictures so far [bytes].
    given_bytes: u64,
    lost: u64,
    flush: Flush,
    phase: Phase,
    trouble: Option<Trouble>,
    /// Since when the thread waits for the disk.
    at_disk: Option<Instant>,
    /// When something was last found to be on the disk.
    last_good: Instant,
    /// How the thread ended.
    end: Option<Result<(), BookError>>,
}

/// What waits.
pub(super) struct Waiting {
    folder: PathBuf,
    bounds: Bounds,
    state: Mutex<State>,
    /// For the thread: there is something to do.
    work: Condvar,
    /// For whoever waits for the thread.
    news: Condvar,
}

impl std::fmt::Debug for Waiting {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.debug_struct("Waiting").finish_non_exhaustive()
    }
}

impl Waiting {
    pub fn new(folder: &Path, bounds: Bounds) -> Self {
        Self {
            folder: folder.into(),
            bounds,
            state: Mutex::new(State {
                pictures: Vec::new(),
                rows: Vec::new(),
                held_pictures: 0,
                held_bytes: 0,
                held_rows: 0,
                given_bytes: 0,
                lost: 0,
                flush: Flush::default(),
                phase: Phase::Going,
                trouble: None,
                at_disk: None,
                last_good: Instant::now(),
                end: None,
            }),
            work: Condvar::new(),
            news: Condvar::new(),
        }
    }

    fn state(&self) -> MutexGuard<'_, State> {
        // Nothing under the lock can panic half-way.
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Take in a picture, unless too much waits already.
    pub fn give_picture(&self, time_s: f64, picture: Box<[u8]>) -> Result<(), BookError> {
        let mut state = self.state();
        let bytes = picture.len() as u64;
        if state.held_bytes + bytes > self.bounds.picture_bytes {
            state.lost += 1;
            return Err(BookError::MemoryFull {
                path: self.folder.clone(),
                lost: format!("the picture at {time_s} s"),
                lost_pictures: state.lost,
                waits: format!("{} of pictures wait", mib(state.held_bytes)),
                found: said(&state),
            });
        }
        state.held_bytes += bytes;
        state.held_pictures += 1;
        state.given_bytes += bytes;
        state.pictures.push((time_s, picture));
        self.work.notify_one();
        Ok(())
    }

    /// Take in a temperature, unless too many wait already.
    pub fn give_row(&self, row: Row) -> Result<(), BookError> {
        let mut state = self.state();
        if state.held_rows >= self.bounds.temperatures {
            return Err(BookError::MemoryFull {
                path: self.folder.clone(),
                lost: format!("the temperature at {} s", row.0),
                lost_pictures: state.lost,
                waits: format!("{} temperatures wait", state.held_rows),
                found: said(&state),
            });
        }
        state.held_rows += 1;
        state.rows.push(row);
        self.work.notify_one();
        Ok(())
    }

    /// Pictures that found no room in memory.
    pub fn lost(&self) -> u64 {
        self.state().lost
    }

    /// What is wrong, in words.
    pub fn trouble(&self) -> Option<String> {
        let state = self.state();
        let now = Instant::now();
        let slow = |since: Instant| now.duration_since(since) >= SLOW_AFTER;
        if state.trouble.is_none() && !state.at_disk.is_some_and(slow) {
            return None;
        }
        let waits = format!(
            "{}; {} of pictures wait in memory",
            said(&state),
            mib(state.held_bytes)
        );
        let room = self.bounds.picture_bytes.saturating_sub(state.held_bytes);
        let rate = state.trouble.as_ref().and_then(|trouble| {
            let elapsed = now.duration_since(trouble.since);
            let bytes = state.given_bytes.saturating_sub(trouble.given_then);
            (elapsed >= RATE_AFTER && bytes > 0).then(|| bytes as f64 / elapsed.as_secs_f64())
        });
        let until = match rate {
            Some(rate) => format!(", there is room for about {:.0} s more", room as f64 / rate),
            None => format!(", there is room for {} more", mib(room)),
        };
        let lost = match state.lost {
            0 => String::new(),
            1 => "; 1 picture found none and is lost".into(),
            lost => format!("; {lost} pictures found none and are lost"),
        };
        Some(waits + &until + &lost)
    }

    /// Ask for everything to be brought to the disk and wait for what it says.
    pub fn flush(&self) -> Result<(), BookError> {
        let mut state = self.state();
        state.flush = Flush {
            asked: true,
            answer: None,
        };
        self.work.notify_one();
        loop {
            if let Some(answer) = state.flush.answer.take() {
                return answer;
            }
            if state.end.is_some() {
                return Err(ended_early());
            }
            state = wait(&self.news, state, None);
        }
    }

    /// Have the thread end and wait for it, as long as the disk takes something now and then. A disk
    /// that fails is tried again for `patience`.
    pub fn end(&self, patience: Duration) -> Result<(), BookError> {
        let mut state = self.state();
        let begun = Instant::now();
        state.phase = Phase::Ending {
            since: begun,
            patience,
        };
        self.work.notify_one();
        loop {
            let error = match state.end.take() {
                Some(Ok(())) => return Ok(()),
                Some(Err(error)) => error,
                None => {
                    // One that does not even answer gets a little longer than one that says no.
                    let hangs_from = begun.max(state.last_good) + self.bounds.patience * 2;
                    let left = hangs_from.saturating_duration_since(Instant::now());
                    if !left.is_zero() {
                        state = wait(&self.news, state, Some(left));
                        continue;
                    }
                    state.phase = Phase::Abandoned;
                    BookError::Task {
                        found: "the disk does not answer".into(),
                    }
                }
            };
            return Err(BookError::EndLost {
                path: self.folder.clone(),
                waited_s: begun.elapsed().as_secs(),
                pictures: state.held_pictures,
                temperatures: state.held_rows,
                source: Box::new(error),
            });
        }
    }

    /// For the thread: wait until `due`, or until there is something to do; none when it must go.
    /// While the disk is failing new pictures are no reason to try it.
    pub fn next(&self, due: Option<Instant>, failing: bool) -> Option<Turn> {
        let mut state = self.state();
        state.at_disk = None;
        loop {
            let now = Instant::now();
            let ending = match state.phase {
                Phase::Abandoned => return None,
                Phase::Ending { .. } => true,
                Phase::Going => false,
            };
            let new = !(state.pictures.is_empty() && state.rows.is_empty());
            let due_in = due.map(|due| due.saturating_duration_since(now));
            if due_in == Some(Duration::ZERO) || state.flush.asked || (!failing && (new || ending))
            {
                state.at_disk = Some(now);
                return Some(Turn {
                    pictures: std::mem::take(&mut state.pictures),
                    rows: std::mem::take(&mut state.rows),
                    flush: std::mem::take(&mut state.flush.asked),
                    ending,
                });
            }
            state = wait(&self.work, state, due_in);
        }
    }

    /// For the thread: this much is on the disk now. Whether it may go on.
    pub fn good(&self, pictures: u64, bytes: u64, rows: u64) -> bool {
        let mut state = self.state();
        state.held_pictures = state.held_pictures.saturating_sub(pictures);
        state.held_bytes = state.held_bytes.saturating_sub(bytes);
        state.held_rows = state.held_rows.saturating_sub(rows);
        let now = Instant::now();
        if pictures + rows > 0 {
            state.last_good = now;
            state.at_disk = Some(now);
        }
        state.phase != Phase::Abandoned
    }

    /// For the thread: what an attempt to bring everything to the disk came to. Whether it is over.
    pub fn tell(&self, turn: &Turn, outcome: Result<(), BookError>) -> bool {
        let mut state = self.state();
        let state = &mut *state;
        match &outcome {
            Ok(()) => state.trouble = None,
            Err(error) => {
                let said = error.in_short();
                match &mut state.trouble {
                    Some(trouble) => trouble.said = said,
                    None => {
                        state.trouble = Some(Trouble {
                            said,
                            since: Instant::now(),
                            given_then: state.given_bytes,
                        });
                    }
                }
            }
        }
        let over = match state.phase {
            Phase::Going => false,
            Phase::Abandoned => true,
            // Only an attempt that knew of the end has tried to write everything.
            Phase::Ending { since, patience } => {
                turn.ending && (outcome.is_ok() || since.max(state.last_good).elapsed() >= patience)
            }
        };
        if over {
            state.end = Some(outcome);
        } else if turn.flush {
            state.flush.answer = Some(outcome);
        }
        self.news.notify_all();
        over
    }

    /// For the thread: it is gone, however that came.
    pub fn gone(&self) {
        self.state().end.get_or_insert_with(|| Err(ended_early()));
        self.news.notify_all();
    }
}

fn wait<'a>(
    condition: &Condvar,
    state: MutexGuard<'a, State>,
    patience: Option<Duration>,
) -> MutexGuard<'a, State> {
    match patience {
        Some(patience) => {
            condition
                .wait_timeout(state, patience)
                .unwrap_or_else(PoisonError::into_inner)
                .0
        }
        None => condition
            .wait(state)
            .unwrap_or_else(PoisonError::into_inner),
    }
}

fn said(state: &State) -> String {
    match (&state.trouble, state.at_disk) {
        (Some(trouble), _) => trouble.said.clone(),
        (None, Some(since)) => format!(
            "the disk has not answered for {:.1} s",
            since.elapsed().as_secs_f64()
        ),
        (None, None) => "the disk is slower than the camera".into(),
    }
}

fn mib(bytes: u64) -> String {
    format!("{:.1} MiB", bytes as f64 / MIB)
}

fn ended_early() -> BookError {
    BookError::Task {
        found: "the recording had failed before".into(),
    }
}
