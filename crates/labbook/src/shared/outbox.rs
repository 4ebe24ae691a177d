//! What waits on this machine's disk to be recorded in a shared book that is out of reach.
//!
//! One file for each batch, numbered in order. A batch is recorded once: its records have their ids before it
//! is tried, and are looked for before it is tried again.

use super::central::Central;
use crate::announcing::Announcing;
use crate::error::BookError;
use crate::ids::PersonId;
use crate::records::Draft;
use crate::store::Batch;
use crate::when::When;
use serde::{Deserialize, Serialize};
use std::fs::{self, File};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use tokio::sync::{Mutex, Notify};

/// Its folder in the local folder of a shared book.
const OUTBOX: &str = "outbox";

/// Where batches go that the book refused; nothing is thrown away.
const REFUSED: &str = "refused";

/// A batch that waits.
#[derive(Debug, Serialize, Deserialize)]
struct Waiting {
    who: PersonId,
    when: When,
    drafts: Vec<Draft>,
}

/// What waits to be recorded.
#[derive(Debug)]
pub(crate) struct Outbox {
    folder: PathBuf,
    /// Held while batches are put in or handed over: they keep their order.
    turn: Mutex<()>,
    filled: Notify,
}

impl Outbox {
    /// The one in this folder, made if it is not there.
    pub fn in_folder(local: &Path) -> Result<Self, BookError> {
        let folder = local.join(OUTBOX);
        let refused = folder.join(REFUSED);
        fs::create_dir_all(&refused)
            .map_err(|error| BookError::file(&refused, "written", error))?;
        Ok(Self {
            folder,
            turn: Mutex::default(),
            filled: Notify::new(),
        })
    }

    /// Returns when something was put in.
    pub async fn filled(&self) {
        self.filled.notified().await;
    }

    /// How many batches wait.
    pub fn waiting(&self) -> Result<usize, BookError> {
        Ok(self.numbers()?.len())
    }

    /// How many batches were refused.
    pub fn refused(&self) -> usize {
        let entries = fs::read_dir(self.folder.join(REFUSED));
        entries.map_or(0, |entries| {
            entries
                .flatten()
                .filter(|entry| entry.path().extension().is_some_and(|end| end == "json"))
                .count()
        })
    }

    /// Put a batch in after all others, on the disk when this returns.
    async fn put(&self, waiting: &Waiting) -> Result<(), BookError> {
        let next = self.numbers()?.last().map_or(1, |last| last + 1);
        let path = self.file(next);
        let beside = path.with_extension("part");
        let text = serde_json::to_vec(waiting)?;
        File::create(&beside)
            .and_then(|mut file| {
                file.write_all(&text)?;
                file.sync_all()
            })
            .and_then(|()| fs::rename(&beside, &path))
            .and_then(|()| File::open(&self.folder)?.sync_all())
            .map_err(|error| BookError::file(&path, "written", error))?;
        self.filled.notify_one();
        Ok(())
    }

    fn file(&self, number: u64) -> PathBuf {
        self.folder.join(format!("{number:012}.json"))
    }

    /// Numbers of what waits, in order.
    fn numbers(&self) -> Result<Vec<u64>, BookError> {
        let entries = fs::read_dir(&self.folder)
            .map_err(|error| BookError::file(&self.folder, "read", error))?;
        let mut numbers: Vec<u64> = entries
            .flatten()
            .filter_map(|entry| {
                entry
                    .file_name()
                    .to_str()?
                    .strip_suffix(".json")?
                    .parse()
                    .ok()
            })
            .collect();
        numbers.sort_unstable();
        Ok(numbers)
    }

    /// Record this now, or keep it here where the book is out of reach or earlier ones wait; none then.
    pub async fn record(
        &self,
        chain: &Announcing,
        who: PersonId,
        drafts: Vec<Draft>,
    ) -> Result<Option<Vec<crate::records::Record>>, BookError> {
        let turn = self.turn.lock().await;
        let drafts: Vec<Draft> = drafts.into_iter().map(Draft::with_record_id).collect();
        let when = When::now();
        if self.numbers()?.is_empty() {
            let batch = Batch {
                who: Some(who),
                drafts: drafts.clone(),
                attachments: Vec::new(),
            };
            match chain.write(batch, Some(when)).await {
                Ok(records) => return Ok(Some(records)),
                Err(error) if error.is_out_of_reach() => {}
                Err(other) => return Err(other),
            }
        }
        self.put(&Waiting { who, when, drafts }).await?;
        drop(turn);
        Ok(None)
    }

    /// Record what waits, oldest first, until nothing does or the book is out of reach again.
    pub async fn hand_over(&self, chain: &Announcing, central: &Central) -> Result<(), BookError> {
        let turn = self.turn.lock().await;
        for number in self.numbers()? {
            let path = self.file(number);
            let text = fs::read(&path).map_err(|error| BookError::file(&path, "read", error))?;
            let refusal = match serde_json::from_slice::<Waiting>(&text) {
                Ok(waiting) => match record_once(chain, central, waiting).await {
                    Ok(()) => None,
                    Err(error) if error.is_out_of_reach() => return Err(error),
                    Err(other) => Some(other.to_string()),
                },
                Err(error) => Some(error.to_string()),
            };
            match refusal {
                None => fs::remove_file(&path)
                    .map_err(|error| BookError::file(&path, "written", error))?,
                Some(why) => self.refuse(&path, &why)?,
            }
        }
        drop(turn);
        Ok(())
    }

    /// Keep what the book does not take, with its reason, for a person to look at.
    fn refuse(&self, path: &Path, why: &str) -> Result<(), BookError> {
        let name = path.file_name().unwrap_or_default();
        let place = self.folder.join(REFUSED).join(name);
        fs::write(place.with_extension("txt"), why)
            .and_then(|()| fs::rename(path, &place))
            .map_err(|error| BookError::file(&place, "written", error))
    }
}

async fn record_once(
    chain: &Announcing,
    central: &Central,
    waiting: Waiting,
) -> Result<(), BookError> {
    // All of a batch is recorded or nothing: one record speaks for all.
    if let Some(id) = waiting.drafts.first().and_then(|draft| draft.record)
        && central.has(id).await?
    {
        return Ok(());
    }
    let batch = Batch {
        who: Some(waiting.who),
        drafts: waiting.drafts,
        attachments: Vec::new(),
    };
    chain.write(batch, Some(waiting.when)).await.map(|_| ())
}
