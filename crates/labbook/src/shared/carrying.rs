//! Recordings between this machine and the store of a shared book: those made here are handed over once
//! their end is recorded, those made elsewhere are brought here when they are looked at.

use super::central::Central;
use super::depot::Depot;
use crate::announcing::Announcing;
use crate::book::RECORDINGS;
use crate::digest::Digest;
use crate::error::BookError;
use crate::ids::RecordingId;
use crate::records::Entry;
use crate::store::Store as _;
use std::collections::BTreeSet;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{Mutex, OnceCell};

/// Its folder in the local folder of a shared book: an empty file for each recording that the store has.
const HANDED: &str = "handed";

/// Begins the name of a recording's folder that is being removed.
const LET_GO: &str = ".let-go-";

/// What is stored under this name is the address of the recordings.
pub(crate) const PLACE: &str = "recordings";

/// How often it is looked whether something is to be handed over.
const LOOKED: Duration = Duration::from_secs(2);

/// Carries recordings.
#[derive(Debug)]
pub(crate) struct Carrying {
    folder: PathBuf,
    chain: Announcing,
    central: Arc<Central>,
    /// None where the book has no store.
    depot: OnceCell<Option<Depot>>,
    /// What the store has; also the turn: one recording at a time goes or comes.
    handed: Mutex<BTreeSet<RecordingId>>,
}

impl Carrying {
    /// For the local folder of a shared book.
    pub fn of(local: &Path, chain: Announcing, central: Arc<Central>) -> Result<Self, BookError> {
        let folder = local.join(HANDED);
        fs::create_dir_all(&folder).map_err(|error| BookError::file(&folder, "written", error))?;
        clear_let_go(&local.join(RECORDINGS));
        Ok(Self {
            handed: Mutex::new(ids_in(&folder)?),
            folder: local.into(),
            chain,
            central,
            depot: OnceCell::new(),
        })
    }

    async fn depot(&self) -> Result<Option<&Depot>, BookError> {
        let depot = self.depot.get_or_try_init(|| async {
            let address = self.central.place(PLACE).await?;
            address.as_deref().map(Depot::at).transpose()
        });
        Ok(depot.await?.as_ref())
    }

    /// Hand over until the task is ended. A store or database out of reach is tried again.
    pub async fn carry(self: Arc<Self>) {
        loop {
            // What could not be handed over stays here and is looked for again.
            let _ = self.hand_over().await;
            tokio::time::sleep(LOOKED).await;
        }
    }

    /// Hand over every recording of this folder whose end is recorded.
    ///
    /// # Errors
    /// The last of what went wrong; one that cannot be read does not keep the others.
    pub async fn hand_over(&self) -> Result<(), BookError> {
        let mut handed = self.handed.lock().await;
        let recordings = self.folder.join(RECORDINGS);
        let waiting: Vec<RecordingId> = ids_in(&recordings)?.difference(&handed).copied().collect();
        if waiting.is_empty() {
            return Ok(());
        }
        let Some(depot) = self.depot().await? else {
            return Ok(());
        };
        let mut outcome = Ok(());
        for id in waiting {
            // Those under way have no manifest yet.
            if self.manifest_of(id).await?.is_some() {
                match depot.put(id, &recordings.join(id.to_string())).await {
                    Ok(()) => self.remember(&mut handed, id)?,
                    Err(error) => outcome = Err(error),
                }
            }
        }
        outcome
    }

    /// Bring a recording here, unless it is, or is under way.
    pub async fn bring(&self, id: RecordingId) -> Result<(), BookError> {
        let recordings = self.folder.join(RECORDINGS);
        if recordings.join(id.to_string()).exists() {
            self.note_opened(id);
            return Ok(());
        }
        let mut handed = self.handed.lock().await;
        if recordings.join(id.to_string()).exists() {
            return Ok(());
        }
        let elsewhere = || BookError::Elsewhere {
            recording: id.to_string(),
        };
        let Some(manifest) = self.manifest_of(id).await? else {
            return Err(elsewhere());
        };
        let depot = self.depot().await?.ok_or_else(elsewhere)?;
        match depot.fetch(id, manifest, &recordings).await {
            Err(BookError::Depot {
                source: object_store::Error::NotFound { .. },
                ..
            }) => Err(elsewhere()),
            other => {
                other?;
                self.remember(&mut handed, id)
            }
        }
    }

    /// Remove the files of a recording that the store has.
    pub async fn let_go(&self, id: RecordingId) -> Result<bool, BookError> {
        let handed = self.handed.lock().await;
        let folder = self.folder.join(RECORDINGS).join(id.to_string());
        if !handed.contains(&id) || !folder.exists() {
            return Ok(false);
        }
        // Away under another name first: half a recording is never found under its own.
        let beside = self.folder.join(RECORDINGS).join(format!("{LET_GO}{id}"));
        fs::rename(&folder, &beside)
            .and_then(|()| fs::remove_dir_all(&beside))
            .map_err(|error| BookError::file(&folder, "removed", error))?;
        Ok(true)
    }

    /// How many recordings have their files here, and how many of these the store does not have.
    pub async fn counts(&self) -> (usize, usize) {
        let here = ids_in(&self.folder.join(RECORDINGS)).unwrap_or_default();
        let handed = self.handed.lock().await;
        (here.len(), here.difference(&handed).count())
    }

    /// Remove the files of recordings that the store has and that were not opened for this long.
    pub async fn let_go_unopened(&self, unopened: Duration) -> Result<u64, BookError> {
        let here = ids_in(&self.folder.join(RECORDINGS))?;
        let handed = self.handed.lock().await.clone();
        let mut gone = 0;
        for &id in here.intersection(&handed) {
            let path = self.folder.join(HANDED).join(id.to_string());
            let opened = path.metadata().and_then(|found| found.modified());
            // A clock that was set back makes nothing old.
            let is_old = opened.is_ok_and(|at| at.elapsed().is_ok_and(|past| past > unopened));
            if is_old && self.let_go(id).await? {
                gone += 1;
            }
        }
        Ok(gone)
    }

    /// Note that a recording was opened now.
    fn note_opened(&self, id: RecordingId) {
        let path = self.folder.join(HANDED).join(id.to_string());
        // One that is not handed over has no such file, and is not let go.
        if let Ok(file) = File::options().append(true).open(path) {
            let _ = file.set_modified(std::time::SystemTime::now());
        }
    }

    /// The digest of a recording's manifest, once its end is recorded.
    async fn manifest_of(&self, id: RecordingId) -> Result<Option<Digest>, BookError> {
        match self.chain.store.latest(id.into()).await {
            Ok(record) => match record.entry {
                Entry::Recording(recording) => Ok(recording.end.map(|end| end.manifest)),
                _ => Ok(None),
            },
            Err(BookError::Unknown { .. }) => Ok(None),
            Err(other) => Err(other),
        }
    }

    fn remember(
        &self,
        handed: &mut BTreeSet<RecordingId>,
        id: RecordingId,
    ) -> Result<(), BookError> {
        let path = self.folder.join(HANDED).join(id.to_string());
        File::create(&path).map_err(|error| BookError::file(&path, "written", error))?;
        handed.insert(id);
        Ok(())
    }
}

/// What was being removed when the program ended; it is in nobody's way where it stays.
fn clear_let_go(recordings: &Path) {
    for entry in fs::read_dir(recordings).into_iter().flatten().flatten() {
        if entry.file_name().to_string_lossy().starts_with(LET_GO) {
            let _ = fs::remove_dir_all(entry.path());
        }
    }
}

fn ids_in(folder: &Path) -> Result<BTreeSet<RecordingId>, BookError> {
    let entries = fs::read_dir(folder).map_err(|error| BookError::file(folder, "read", error))?;
    Ok(entries
        .flatten()
        .filter_map(|entry| entry.file_name().to_str()?.parse().ok())
        .collect())
}
