//! The chain of a shared book, in PostgreSQL.

use super::address::Address;
use crate::digest::Digest;
use crate::error::BookError;
use crate::ids::RecordId;
use crate::sqlite::RawRecord;
use sqlx::migrate::{MigrateError, Migration, MigrationType, Migrator};
use sqlx::postgres::{PgConnection, PgListener, PgPool, PgPoolOptions};
use sqlx::{Connection as _, Executor as _, Postgres, SqlSafeStr as _, Transaction};
use std::time::Duration;

/// Each step from one form of the central database to the next. A released step is never edited.
const STEPS: [(i64, &str, &str); 2] = [
    (1, "chain", include_str!("migrations/0001_chain.sql")),
    (
        2,
        "rereading",
        include_str!("migrations/0002_rereading.sql"),
    ),
];

/// The newest form this program knows.
const NEWEST_FORM: i64 = STEPS[STEPS.len() - 1].0;

/// Connections of one process.
const CONNECTIONS: u32 = 4;

/// A server that does not answer is given up after this.
const PATIENCE: Duration = Duration::from_secs(5);

/// A whole exchange takes at most this long: writers take turns, and each may wait for others.
const EXCHANGE: Duration = Duration::from_secs(30);

/// The lock that writers take in turn; the trigger in `0001_chain.sql` takes the same.
const TURN: i64 = 7_236_898;

/// The channel on which new records are told.
const CHANNEL: &str = "book_record";

/// What every connection sets. A process that hangs while it holds the turn loses it.
const SETTINGS: &str = "SET idle_in_transaction_session_timeout = '30s'; SET lock_timeout = '25s'";

/// Drops every right but those of a writer, where the role was made.
const AS_WRITER: &str = "DO $$ BEGIN
    IF EXISTS (SELECT FROM pg_roles WHERE rolname = 'meltrange_writer')
        AND pg_has_role(current_user, 'meltrange_writer', 'MEMBER') THEN
        SET ROLE meltrange_writer;
    END IF;
END $$";

/// A record to be added: everything that has a column.
pub(crate) type Row = (i64, String, String, String, Option<String>, String, String);

/// The central database of a shared book.
#[derive(Debug)]
pub(crate) struct Central {
    pool: PgPool,
    shown: String,
}

impl Central {
    /// A pool that connects when it is first asked.
    pub fn at(address: &Address) -> Self {
        let pool = PgPoolOptions::new()
            .max_connections(CONNECTIONS)
            .acquire_timeout(PATIENCE)
            .after_connect(|connection, _| {
                Box::pin(async move {
                    connection.execute(SETTINGS).await?;
                    connection.execute(AS_WRITER).await?;
                    Ok(())
                })
            })
            .connect_lazy_with(address.options().clone());
        Self {
            pool,
            shown: address.shown().to_owned(),
        }
    }

    /// Make the tables of a shared book, or bring them to the newest form. Needs the rights of an owner.
    pub async fn prepare(address: &Address) -> Result<(), BookError> {
        let shown = address.shown();
        let failed = |source| BookError::central(shown, source);
        let options = address.options().clone().options([("search_path", "book")]);
        let connecting = PgConnection::connect_with(&options);
        let mut connection = tokio::time::timeout(PATIENCE, connecting)
            .await
            .map_err(|_| failed(sqlx::Error::PoolTimedOut))?
            .map_err(failed)?;
        connection
            .execute("CREATE SCHEMA IF NOT EXISTS book")
            .await
            .map_err(failed)?;
        let steps = STEPS.map(|(version, name, sql)| {
            Migration::new(
                version,
                name.into(),
                MigrationType::Simple,
                sql.into_sql_str(),
                false,
            )
        });
        Migrator::with_migrations(steps.into())
            .run(&mut connection)
            .await
            .map_err(|error| match error {
                MigrateError::Execute(source) | MigrateError::ExecuteMigration(source, _) => {
                    failed(source)
                }
                other => BookError::CentralForm {
                    address: shown.to_owned(),
                    found: other.to_string(),
                },
            })?;
        connection.close().await.map_err(failed)
    }

    /// The same where there are no tables yet; whoever may only write begins a book in what an owner prepared.
    pub async fn prepare_if_needed(address: &Address) -> Result<(), BookError> {
        let central = Self::at(address);
        let form = central.known_form().await;
        central.close().await;
        match form {
            Err(BookError::CentralForm { .. }) => Self::prepare(address).await,
            other => other,
        }
    }

    /// Say where `what` is kept. Needs the rights of an owner.
    pub async fn keep_place(address: &Address, what: &str, place: &str) -> Result<(), BookError> {
        let failed = |source| BookError::central(address.shown(), source);
        let mut connection = PgConnection::connect_with(address.options())
            .await
            .map_err(failed)?;
        sqlx::query(
            "INSERT INTO book.place (what, address) VALUES ($1, $2)
             ON CONFLICT (what) DO UPDATE SET address = excluded.address",
        )
        .bind(what)
        .bind(place)
        .execute(&mut connection)
        .await
        .map_err(failed)?;
        connection.close().await.map_err(failed)
    }

    /// Where it is, without user and passphrase.
    pub fn shown(&self) -> &str {
        &self.shown
    }

    /// For questions that are not of the chain.
    pub fn pool(&self) -> &PgPool {
        &self.pool
    }

    fn failed(&self, source: sqlx::Error) -> BookError {
        BookError::central(&self.shown, source)
    }

    /// Wait for an exchange, not for ever.
    pub async fn within<T>(
        &self,
        exchange: impl Future<Output = Result<T, BookError>>,
    ) -> Result<T, BookError> {
        tokio::time::timeout(EXCHANGE, exchange)
            .await
            .unwrap_or_else(|_| {
                Err(BookError::Unanswered {
                    address: self.shown.clone(),
                    source: sqlx::Error::PoolTimedOut,
                })
            })
    }

    /// Refuse what is no shared book, or has a form that this program does not know.
    pub async fn known_form(&self) -> Result<(), BookError> {
        let form = |found: String| BookError::CentralForm {
            address: self.shown.clone(),
            found,
        };
        let table: Option<String> =
            sqlx::query_scalar("SELECT to_regclass('book._sqlx_migrations')::text")
                .fetch_one(&self.pool)
                .await
                .map_err(|source| self.failed(source))?;
        if table.is_none() {
            return Err(form("it has no tables of a lab book".into()));
        }
        let found: Option<i64> =
            sqlx::query_scalar("SELECT max(version) FROM book._sqlx_migrations")
                .fetch_one(&self.pool)
                .await
                .map_err(|source| self.failed(source))?;
        match found {
            Some(NEWEST_FORM) => Ok(()),
            Some(found) if found > NEWEST_FORM => Err(form(format!(
                "its form is {found} and this program knows up to {NEWEST_FORM}: a newer version made it"
            ))),
            found => Err(form(format!(
                "its form is {} and this program needs {NEWEST_FORM}",
                found.unwrap_or_default()
            ))),
        }
    }

    /// A connection for reading.
    pub async fn connection(&self) -> Result<sqlx::pool::PoolConnection<Postgres>, BookError> {
        self.pool
            .acquire()
            .await
            .map_err(|source| self.failed(source))
    }

    /// Records after number `seq`, at most `limit`.
    pub async fn after(
        &self,
        connection: &mut PgConnection,
        seq: u64,
        limit: i64,
    ) -> Result<Vec<RawRecord>, BookError> {
        sqlx::query_as(
            "SELECT seq, hash, content FROM book.record WHERE seq > $1 ORDER BY seq LIMIT $2",
        )
        .bind(seq.cast_signed())
        .bind(limit)
        .fetch_all(connection)
        .await
        .map_err(|source| self.failed(source))
    }

    /// The hash of record `seq`.
    pub async fn hash_at(
        &self,
        connection: &mut PgConnection,
        seq: u64,
    ) -> Result<Option<String>, BookError> {
        sqlx::query_scalar("SELECT hash FROM book.record WHERE seq = $1")
            .bind(seq.cast_signed())
            .fetch_optional(connection)
            .await
            .map_err(|source| self.failed(source))
    }

    /// How many records there are.
    pub async fn last_seq(&self, connection: &mut PgConnection) -> Result<u64, BookError> {
        let last: i64 = sqlx::query_scalar("SELECT coalesce(max(seq), 0) FROM book.record")
            .fetch_one(connection)
            .await
            .map_err(|source| self.failed(source))?;
        Ok(last.unsigned_abs())
    }

    /// Whether this record is in the book.
    pub async fn has(&self, id: RecordId) -> Result<bool, BookError> {
        sqlx::query_scalar("SELECT EXISTS (SELECT FROM book.record WHERE id = $1)")
            .bind(id.to_string())
            .fetch_one(&self.pool)
            .await
            .map_err(|source| self.failed(source))
    }

    /// Attached bytes, by digest.
    pub async fn attachment(
        &self,
        connection: &mut PgConnection,
        digest: Digest,
    ) -> Result<Option<Vec<u8>>, BookError> {
        sqlx::query_scalar("SELECT bytes FROM book.attachment WHERE sha256 = $1")
            .bind(digest.to_string())
            .fetch_optional(connection)
            .await
            .map_err(|source| self.failed(source))
    }

    /// Where `what` is kept, if that was said.
    pub async fn place(&self, what: &str) -> Result<Option<String>, BookError> {
        sqlx::query_scalar("SELECT address FROM book.place WHERE what = $1")
            .bind(what)
            .fetch_optional(&self.pool)
            .await
            .map_err(|source| self.failed(source))
    }

    /// Take the turn: until it ends nobody else writes, and everything before it can be seen.
    pub async fn turn(&self) -> Result<Turn<'_>, BookError> {
        let mut transaction = self
            .pool
            .begin()
            .await
            .map_err(|source| self.failed(source))?;
        sqlx::query("SELECT pg_advisory_xact_lock($1)")
            .bind(TURN)
            .execute(&mut *transaction)
            .await
            .map_err(|source| self.failed(source))?;
        Ok(Turn {
            central: self,
            transaction,
        })
    }

    /// Hear of new records.
    pub async fn listen(&self) -> Result<PgListener, BookError> {
        let mut listener = PgListener::connect_with(&self.pool)
            .await
            .map_err(|source| self.failed(source))?;
        listener
            .listen(CHANNEL)
            .await
            .map_err(|source| self.failed(source))?;
        Ok(listener)
    }

    /// End all connections.
    pub async fn close(&self) {
        self.pool.close().await;
    }
}

/// The turn to write.
pub(crate) struct Turn<'a> {
    central: &'a Central,
    transaction: Transaction<'static, Postgres>,
}

impl Turn<'_> {
    /// To read with.
    pub fn connection(&mut self) -> &mut PgConnection {
        &mut self.transaction
    }

    /// Add bytes and records, in this order.
    pub async fn add(&mut self, attachments: &[Vec<u8>], rows: Vec<Row>) -> Result<(), BookError> {
        for bytes in attachments {
            sqlx::query(
                "INSERT INTO book.attachment (sha256, bytes) VALUES ($1, $2) ON CONFLICT DO NOTHING",
            )
            .bind(Digest::of(bytes).to_string())
            .bind(bytes)
            .execute(&mut *self.transaction)
            .await
            .map_err(|source| self.central.failed(source))?;
        }
        let mut columns = (
            Vec::new(),
            Vec::new(),
            Vec::new(),
            Vec::new(),
            Vec::new(),
            Vec::new(),
            Vec::new(),
        );
        for row in rows {
            columns.0.push(row.0);
            columns.1.push(row.1);
            columns.2.push(row.2);
            columns.3.push(row.3);
            columns.4.push(row.4);
            columns.5.push(row.5);
            columns.6.push(row.6);
        }
        sqlx::query(
            "INSERT INTO book.record (seq, id, kind, subject, supersedes, hash, content)
             SELECT * FROM unnest($1::bigint[], $2::text[], $3::text[], $4::text[], $5::text[], $6::text[],
                                  $7::text[])",
        )
        .bind(columns.0)
        .bind(columns.1)
        .bind(columns.2)
        .bind(columns.3)
        .bind(columns.4)
        .bind(columns.5)
        .bind(columns.6)
        .execute(&mut *self.transaction)
        .await
        .map_err(|source| self.central.failed(source))?;
        Ok(())
    }

    /// End the turn: everything is durable. `last` tells, where the answer is lost on the way, whether it
    /// was written all the same.
    pub async fn commit(self, last: RecordId) -> Result<(), BookError> {
        let Self {
            central,
            transaction,
        } = self;
        let Err(source) = transaction.commit().await else {
            return Ok(());
        };
        match central.has(last).await {
            Ok(true) => Ok(()),
            Ok(false) => Err(central.failed(source)),
            Err(_) => Err(BookError::Unanswered {
                address: central.shown.clone(),
                source,
            }),
        }
    }
}
