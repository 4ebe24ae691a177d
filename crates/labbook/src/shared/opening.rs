//! Opening the copy of a shared book that this process keeps.

use super::address::Address;
use super::central::Central;
use crate::book::{Access, DATABASE, RECORDINGS};
use crate::error::BookError;
use crate::lock::Lock;
use crate::sqlite::{Mode, SqliteStore};
use crate::store::Store as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A copy that is of another chain is put aside under this name.
const SET_ASIDE: &str = "book.sqlite.set-aside";

/// A copy, open.
#[derive(Debug)]
pub(crate) struct LocalCopy {
    /// Where it is.
    pub folder: PathBuf,
    /// Held while it is open.
    pub lock: Lock,
    /// The copy.
    pub store: SqliteStore,
    /// What it is a copy of.
    pub central: Arc<Central>,
}

/// Open the copy, made if there is none, and bring it up to the chain. A server goes on with what it has
/// where the database is out of reach; a command says that it is.
pub(crate) async fn open_copy(address: &Address, access: Access) -> Result<LocalCopy, BookError> {
    let (folder, lock) = free_folder(address, access)?;
    let recordings = folder.join(RECORDINGS);
    std::fs::create_dir_all(&recordings)
        .map_err(|error| BookError::file(&recordings, "written", error))?;
    let central = Arc::new(Central::at(address));
    let path = folder.join(DATABASE);
    let store = open_store(&path, &central).await?;
    let copy = |store| LocalCopy {
        folder: folder.clone(),
        lock,
        store,
        central: Arc::clone(&central),
    };
    match bring_up(&store, &central).await {
        Ok(true) => Ok(copy(store)),
        Ok(false) => {
            store.close().await;
            set_aside(&path)?;
            let store = open_store(&path, &central).await?;
            bring_up(&store, &central).await?;
            Ok(copy(store))
        }
        Err(error)
            if error.is_out_of_reach()
                && access == Access::Serve
                && store.head().await?.seq > 0 =>
        {
            Ok(copy(store))
        }
        Err(error) => {
            store.close().await;
            Err(error)
        }
    }
}

async fn open_store(path: &Path, central: &Arc<Central>) -> Result<SqliteStore, BookError> {
    let store = SqliteStore::open(path, Mode::Create).await?;
    Ok(store.copy_of(Arc::clone(central)))
}

/// False where the copy is one of another chain, e.g. since the database was restored from an older backup.
async fn bring_up(store: &SqliteStore, central: &Central) -> Result<bool, BookError> {
    central.known_form().await?;
    let mut connection = central.connection().await?;
    if !store.is_copy_of(central, &mut connection).await? {
        return Ok(false);
    }
    store
        .catch_up(central, &mut connection, &mut Vec::new())
        .await?;
    Ok(true)
}

/// A server has one folder, where its benches and what waits to be handed over are found again; commands
/// take the first of others that nobody has.
fn free_folder(address: &Address, access: Access) -> Result<(PathBuf, Lock), BookError> {
    let mut busy = None;
    for folder in address.local_folders(access)? {
        std::fs::create_dir_all(&folder)
            .map_err(|error| BookError::file(&folder, "written", error))?;
        match Lock::take(&folder) {
            Ok(lock) => return Ok((folder, lock)),
            Err(error @ BookError::InUse { .. }) => busy = Some(error),
            Err(other) => return Err(other),
        }
    }
    Err(busy.unwrap_or_else(|| BookError::Task {
        found: "no folder for a copy of the shared book is free".into(),
    }))
}

fn set_aside(path: &Path) -> Result<(), BookError> {
    for ending in ["-wal", "-shm"] {
        // Closed cleanly there are none.
        let _ = std::fs::remove_file(format!("{}{ending}", path.display()));
    }
    std::fs::rename(path, path.with_file_name(SET_ASIDE))
        .map_err(|error| BookError::file(path, "written", error))
}
