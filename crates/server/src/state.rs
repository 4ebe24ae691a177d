//! What all requests share.

use crate::admission::Guarded;
use crate::cameras::{CameraLinks, Passes, Share};
use crate::live_benches::LiveBenches;
use crate::observing::Meters;
use crate::own_library::OwnLibrary;
use crate::pictures::OpenPictures;
use crate::practicals::PracticalRoom;
use crate::practice::{DrawnExercises, EngineMarks};
use crate::sessions::{KeptSessions, Searches};
use crate::uploads::Uploads;
use crate::work::Works;
use meltrange_labbook::{Book, PersonId, RecordingId};
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};
use tokio::sync::watch;

/// How often, and how long each time, whoever still holds the state is waited for.
const HOLDS_ON: u32 = 50;
const HOLD: Duration = Duration::from_millis(20);

/// What all requests share; cheap to clone.
#[derive(Debug, Clone)]
pub struct AppState(Arc<Shared>);

#[derive(Debug)]
struct Shared {
    book: Book,
    /// Who is let in; none: whoever is on this machine.
    guarded: Option<Guarded>,
    uploads: Uploads,
    works: Works,
    pictures: OpenPictures,
    live: LiveBenches,
    sessions: KeptSessions,
    searches: Searches,
    practicals: PracticalRoom,
    exercises: DrawnExercises,
    engine_marks: EngineMarks,
    library: OwnLibrary,
    camera_links: CameraLinks,
    passes: Passes,
    share: Share,
    meters: Meters,
    /// Held while results are worked out and recorded: a calibration and what it changes are one.
    results: tokio::sync::Mutex<()>,
    /// Whose eyes saw an opinion on which recording since the program began.
    shown: Mutex<BTreeSet<(PersonId, RecordingId)>>,
    closing: watch::Sender<bool>,
}

impl AppState {
    /// Serve this book. Needs a tokio runtime: imports and readings run in a task of it.
    ///
    /// # Errors
    /// When the folder for files that are sent cannot be made in the book's folder.
    pub fn new(book: Book) -> Result<Self, meltrange_labbook::BookError> {
        Self::of(book, None)
    }

    /// Serve this book to people with accounts alone.
    ///
    /// # Errors
    /// As [`AppState::new`].
    pub fn guarded_by(book: Book, guarded: Guarded) -> Result<Self, meltrange_labbook::BookError> {
        Self::of(book, Some(guarded))
    }

    fn of(book: Book, guarded: Option<Guarded>) -> Result<Self, meltrange_labbook::BookError> {
        crate::rooms::downloads::sweep(book.folder());
        let uploads = Uploads::in_book(book.folder())?;
        let live = LiveBenches::in_book(book.folder());
        let sessions = KeptSessions::in_book(book.folder());
        let practicals = PracticalRoom::in_book(book.folder());
        let library = OwnLibrary::in_book(book.folder());
        let (works, orders) = Works::new();
        let state = Self(Arc::new(Shared {
            book,
            guarded,
            uploads,
            works,
            pictures: OpenPictures::default(),
            live,
            sessions,
            searches: Searches::default(),
            practicals,
            exercises: DrawnExercises::default(),
            engine_marks: EngineMarks::default(),
            library,
            camera_links: CameraLinks::default(),
            passes: Passes::default(),
            share: Share::default(),
            meters: Meters::default(),
            results: tokio::sync::Mutex::default(),
            shown: Mutex::default(),
            closing: watch::Sender::new(false),
        }));
        crate::work::begin(state.clone(), orders);
        crate::rereading::go_on_accepting(&state);
        Ok(state)
    }

    /// The book.
    pub fn book(&self) -> &Book {
        &self.0.book
    }

    /// Who is let in; none where the book is open to whoever is on this machine.
    pub(crate) fn guarded(&self) -> Option<&Guarded> {
        self.0.guarded.as_ref()
    }

    /// Its folder.
    pub fn folder(&self) -> &Path {
        self.0.book.folder()
    }

    pub(crate) fn uploads(&self) -> &Uploads {
        &self.0.uploads
    }

    pub(crate) fn works(&self) -> &Works {
        &self.0.works
    }

    pub(crate) fn pictures(&self) -> &OpenPictures {
        &self.0.pictures
    }

    /// Benches at work.
    pub(crate) fn live(&self) -> &LiveBenches {
        &self.0.live
    }

    /// Sessions that are kept.
    pub(crate) fn sessions(&self) -> &KeptSessions {
        &self.0.sessions
    }

    /// Plans of sessions that are looked for.
    pub(crate) fn searches(&self) -> &Searches {
        &self.0.searches
    }

    /// Class sessions.
    pub(crate) fn practicals(&self) -> &PracticalRoom {
        &self.0.practicals
    }

    /// Exercises in reading that were asked for lately.
    pub(crate) fn exercises(&self) -> &DrawnExercises {
        &self.0.exercises
    }

    /// What the engine marked in them.
    pub(crate) fn engine_marks(&self) -> &EngineMarks {
        &self.0.engine_marks
    }

    /// Compound library with the own list before it.
    pub(crate) fn library(&self) -> &OwnLibrary {
        &self.0.library
    }

    /// Where open benches take pictures from pages.
    pub fn camera_links(&self) -> &CameraLinks {
        &self.0.camera_links
    }

    /// What lets phones be cameras.
    pub(crate) fn passes(&self) -> &Passes {
        &self.0.passes
    }

    /// The listener for phones.
    pub(crate) fn share(&self) -> &Share {
        &self.0.share
    }

    /// Set a bench's devices to work, by the name in its bench file, as a page does.
    ///
    /// # Errors
    /// In words: no such bench file, or a device that cannot be used.
    pub fn open_bench(&self, name: &str) -> Result<meltrange_bench::OpenBench, String> {
        let opened = self.live().open(name, 1.0);
        opened
            .map(|(live, _)| live.bench)
            .map_err(|problem| problem.detail)
    }

    /// What is counted.
    pub(crate) fn meters(&self) -> &Meters {
        &self.0.meters
    }

    /// Let no phone show at this bench any more.
    pub(crate) async fn take_back_passes(&self, bench: &str) {
        self.passes().revoke(bench);
        if let Some(link) = self.camera_links().link(bench) {
            link.hang_up_pass().await;
        }
        if self.passes().is_empty(Instant::now()) {
            self.share().close().await;
        }
    }

    /// Wait until nobody else works results out; nobody else does until this is dropped.
    pub(crate) async fn results_turn(&self) -> tokio::sync::MutexGuard<'_, ()> {
        self.0.results.lock().await
    }

    /// Remember that this person saw an opinion on this recording.
    pub(crate) fn remember_shown(&self, person: PersonId, recording: RecordingId) {
        locked(&self.0.shown).insert((person, recording));
    }

    /// Whether this person saw an opinion on this recording.
    pub(crate) fn was_shown(&self, person: PersonId, recording: RecordingId) -> bool {
        locked(&self.0.shown).contains(&(person, recording))
    }

    /// Returns once no import and no reading is waiting or under way.
    pub async fn rest(&self) {
        while !self.0.works.under_way().is_empty() {
            tokio::time::sleep(HOLD).await;
        }
    }

    /// End event streams and take no more work.
    pub fn close(&self) {
        self.0.live.close_all();
        self.0.closing.send_replace(true);
    }

    /// Turns true when the program is to end.
    pub(crate) fn closing(&self) -> watch::Receiver<bool> {
        self.0.closing.subscribe()
    }

    /// Close the book once nobody else holds this state any more, after [`AppState::close`]. What
    /// holds on for too long is left: then the write-ahead log stays beside the database, whole.
    pub async fn close_book(self) {
        let mut shared = self.0;
        for _ in 0..HOLDS_ON {
            match Arc::try_unwrap(shared) {
                Ok(alone) => return alone.book.close().await,
                Err(held) => shared = held,
            }
            tokio::time::sleep(HOLD).await;
        }
    }
}

/// A panic elsewhere leaves these maps whole: each change is one call.
pub(crate) fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
