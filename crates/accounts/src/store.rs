//! Where accounts are kept: a file beside the book, or a schema of a PostgreSQL database. The statements are
//! the same for both.

use crate::attempts;
use crate::error::AccountError;
use crate::hashing::{self, Cost};
use crate::limits::{HASHED_AT_ONCE, HASHED_WAITING};
use crate::tables;
use sqlx::any::{AnyConnectOptions, AnyPoolOptions};
use sqlx::{Any, AnyConnection, AnyPool, Transaction};
use std::path::{Path, PathBuf};
use std::str::FromStr as _;
use std::sync::Arc;
use tokio::sync::{OnceCell, Semaphore};

/// The file in the book's folder.
const FILE: &str = "accounts.sqlite";

/// Where accounts are kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// In `accounts.sqlite` of this folder, which only its owner may read.
    Folder(PathBuf),
    /// In the schema `accounts` of this database, `postgres://…`.
    Address(String),
}

impl Place {
    /// In words, without what an address may hold of passwords.
    fn said(&self) -> String {
        match self {
            Self::Folder(folder) => folder.join(FILE).display().to_string(),
            Self::Address(address) => {
                let after = address.rsplit_once('@').map(|(_, host)| host);
                format!("postgres://{}", after.unwrap_or("…"))
            }
        }
    }
}

/// Accounts of the people of one book; cheap to clone.
#[derive(Debug, Clone)]
pub struct Accounts {
    pool: AnyPool,
    place: Arc<str>,
    cost: Cost,
    hashing: Arc<Hashing>,
}

#[derive(Debug)]
struct Hashing {
    waiting: Semaphore,
    working: Semaphore,
    /// What is compared with where there is nothing to compare with, so that it takes as long.
    nobody: OnceCell<String>,
}

impl Accounts {
    /// Open the accounts kept there; they are made where there are none.
    ///
    /// # Errors
    /// [`AccountError`]: not an address, not to be written, of a newer form, or the database fails.
    pub async fn open(place: &Place) -> Result<Self, AccountError> {
        Self::open_at_cost(place, Cost::default()).await
    }

    /// The same, where a new hash costs this much.
    ///
    /// # Errors
    /// As [`Accounts::open`].
    pub async fn open_at_cost(place: &Place, cost: Cost) -> Result<Self, AccountError> {
        sqlx::any::install_default_drivers();
        let options = match place {
            Place::Folder(folder) => AnyConnectOptions::from_str(&file_address(folder)?),
            Place::Address(address) => {
                let is_postgres =
                    address.starts_with("postgres://") || address.starts_with("postgresql://");
                if !is_postgres {
                    let found: String =
                        address.chars().take_while(|c| *c != ':').take(20).collect();
                    return Err(AccountError::Address { found });
                }
                AnyConnectOptions::from_str(address)
            }
        };
        let failed = |source| AccountError::Database {
            place: place.said(),
            source,
        };
        let options = options.map_err(failed)?;
        let is_file = matches!(place, Place::Folder(_));
        let pool = AnyPoolOptions::new()
            // One at a time suffices for a file: nothing here takes longer than a moment.
            .max_connections(if is_file { 1 } else { 8 })
            .after_connect(move |connection, _| Box::pin(set_up(connection, is_file)))
            .connect_with(options)
            .await
            .map_err(failed)?;
        let accounts = Self {
            pool,
            place: place.said().into(),
            cost,
            hashing: Arc::new(Hashing {
                waiting: Semaphore::new(HASHED_AT_ONCE + HASHED_WAITING),
                working: Semaphore::new(HASHED_AT_ONCE),
                nobody: OnceCell::new(),
            }),
        };
        accounts.make(is_file).await?;
        Ok(accounts)
    }

    async fn make(&self, is_file: bool) -> Result<(), AccountError> {
        let mut change = self.change().await?;
        let found = tables::make(&mut change, is_file).await;
        match found.map_err(|source| self.failed(source))? {
            tables::Found::Known => {}
            tables::Found::Newer(found) => {
                return Err(AccountError::Newer {
                    place: self.place.to_string(),
                    found,
                    known: tables::FORM,
                });
            }
            tables::Found::Older(found) => {
                return Err(AccountError::Older {
                    place: self.place.to_string(),
                    found,
                    known: tables::FORM,
                });
            }
        }
        self.keep(change).await
    }

    /// End all connections.
    pub async fn close(&self) {
        self.pool.close().await;
    }

    pub(crate) fn pool(&self) -> &AnyPool {
        &self.pool
    }

    pub(crate) fn failed(&self, source: sqlx::Error) -> AccountError {
        AccountError::Database {
            place: self.place.to_string(),
            source,
        }
    }

    pub(crate) async fn change(&self) -> Result<Transaction<'static, Any>, AccountError> {
        self.pool
            .begin()
            .await
            .map_err(|source| self.failed(source))
    }

    pub(crate) async fn keep(&self, change: Transaction<'static, Any>) -> Result<(), AccountError> {
        change.commit().await.map_err(|source| self.failed(source))
    }

    /// The hash of a passphrase, in its turn.
    pub(crate) async fn hash(&self, passphrase: &str) -> Result<String, AccountError> {
        let (passphrase, cost) = (passphrase.to_owned(), self.cost);
        self.in_turn(move || hashing::hash(&passphrase, cost)).await
    }

    /// Whether the passphrase is that of the hash, in its turn; where there is no hash it is not, and that
    /// takes as long.
    pub(crate) async fn matches(
        &self,
        passphrase: &str,
        hash: Option<String>,
    ) -> Result<bool, AccountError> {
        let is_somebody = hash.is_some();
        let hash = match hash {
            Some(hash) => hash,
            None => self.nobody().await?,
        };
        let passphrase = passphrase.to_owned();
        let same = self
            .in_turn(move || hashing::matches(&passphrase, &hash))
            .await?;
        Ok(same && is_somebody)
    }

    async fn nobody(&self) -> Result<String, AccountError> {
        let made = self
            .hashing
            .nobody
            .get_or_try_init(|| async { self.hash(&crate::chance::secret()?).await });
        made.await.cloned()
    }

    /// Whether new hashes cost more than this one.
    pub(crate) fn outgrown(&self, hash: &str) -> bool {
        self.cost.is_above(hash)
    }

    async fn in_turn<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> Result<T, AccountError> + Send + 'static,
    ) -> Result<T, AccountError> {
        let _place = self
            .hashing
            .waiting
            .try_acquire()
            .map_err(|_| AccountError::Busy)?;
        let _turn = self
            .hashing
            .working
            .acquire()
            .await
            .map_err(|_| AccountError::Busy)?;
        tokio::task::spawn_blocking(work)
            .await
            .map_err(|error| AccountError::Hash {
                found: error.to_string(),
            })?
    }

    /// Forget what is over at `now_s`: sessions, tokens, invitations, failures.
    ///
    /// # Errors
    /// [`AccountError::Database`].
    pub async fn sweep(&self, now_s: i64) -> Result<(), AccountError> {
        use crate::limits::{SESSION_IDLE_S, SESSION_LONGEST_S};
        let failed = |source| self.failed(source);
        sqlx::query("DELETE FROM login_session WHERE seen_at <= $1 OR begun_at <= $2")
            .bind(now_s - SESSION_IDLE_S)
            .bind(now_s - SESSION_LONGEST_S)
            .execute(&self.pool)
            .await
            .map_err(failed)?;
        sqlx::query("DELETE FROM token WHERE expires_at <= $1")
            .bind(now_s)
            .execute(&self.pool)
            .await
            .map_err(failed)?;
        sqlx::query("DELETE FROM invitation WHERE expires_at <= $1")
            .bind(now_s)
            .execute(&self.pool)
            .await
            .map_err(failed)?;
        attempts::forget(&self.pool, now_s).await.map_err(failed)
    }
}

/// Each new connection.
async fn set_up(connection: &mut AnyConnection, is_file: bool) -> Result<(), sqlx::Error> {
    let statements: &[&'static str] = if is_file {
        &[
            "PRAGMA journal_mode = WAL",
            "PRAGMA synchronous = FULL",
            "PRAGMA busy_timeout = 5000",
        ]
    } else {
        &["SET search_path TO accounts"]
    };
    for statement in statements {
        sqlx::raw_sql(*statement).execute(&mut *connection).await?;
    }
    Ok(())
}

/// The file as an address; it is made first, so that nobody else can ever read it.
fn file_address(folder: &Path) -> Result<String, AccountError> {
    let path = folder.join(FILE);
    let failed = |source| AccountError::File {
        path: path.clone(),
        source,
    };
    let mut options = std::fs::OpenOptions::new();
    options.read(true).write(true).create(true).truncate(false);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(&path).map_err(failed)?;
    let whole = std::path::absolute(&path).map_err(failed)?;
    let text = whole
        .to_str()
        .ok_or_else(|| failed(std::io::Error::other("its name is not written in Unicode")))?;
    let mut address = "sqlite://".to_owned();
    for byte in text.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => {
                address.push(char::from(byte));
            }
            _ => address.push_str(&format!("%{byte:02X}")),
        }
    }
    Ok(address)
}
