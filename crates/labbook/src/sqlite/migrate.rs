//! The forms a book's database has had, and the way from each to the newest.

use super::{Connection, Mode};
use crate::error::BookError;
use sqlx::SqlSafeStr as _;
use sqlx::migrate::{MigrateError, Migration, MigrationType, Migrator};
use std::path::Path;

/// Each step from one form to the next. A released step is never edited: a new one is added.
const STEPS: [(i64, &str, &str); 6] = [
    (
        1,
        "records and state",
        include_str!("migrations/0001_records_and_state.sql"),
    ),
    (2, "events", include_str!("migrations/0002_events.sql")),
    (
        3,
        "thermometers",
        include_str!("migrations/0003_thermometers.sql"),
    ),
    (4, "verdicts", include_str!("migrations/0004_verdicts.sql")),
    (
        5,
        "sign-offs and past results",
        include_str!("migrations/0005_out_and_in.sql"),
    ),
    (6, "teaching", include_str!("migrations/0006_teaching.sql")),
];

/// The newest form this program knows.
pub(crate) const NEWEST_FORM: i64 = STEPS[STEPS.len() - 1].0;

/// "mrlb" in the header of the file, for programs that tell files apart.
const APPLICATION_ID: i64 = 0x6d72_6c62;

fn migrator(form: i64) -> Migrator {
    Migrator::with_migrations(
        STEPS
            .into_iter()
            .filter(|(version, ..)| *version <= form)
            .map(|(version, name, sql)| {
                Migration::new(
                    version,
                    name.into(),
                    MigrationType::Simple,
                    sql.into_sql_str(),
                    false,
                )
            })
            .collect(),
    )
}

/// The form of an open database; none when it has none.
pub(crate) async fn form_of(connection: &mut Connection) -> Result<Option<i64>, sqlx::Error> {
    let known: i64 =
        sqlx::query_scalar("SELECT count(*) FROM sqlite_schema WHERE name = '_sqlx_migrations'")
            .fetch_one(&mut *connection)
            .await?;
    if known == 0 {
        return Ok(None);
    }
    sqlx::query_scalar("SELECT max(version) FROM _sqlx_migrations")
        .fetch_one(connection)
        .await
}

/// Bring a database to the newest form.
pub(crate) async fn migrate(
    connection: &mut Connection,
    path: &Path,
    mode: Mode,
) -> Result<(), BookError> {
    migrate_to(connection, path, mode, NEWEST_FORM).await
}

/// Bring a database to `form`: an older book is compared with an empty one of its own form.
pub(crate) async fn migrate_to(
    connection: &mut Connection,
    path: &Path,
    mode: Mode,
    to_form: i64,
) -> Result<(), BookError> {
    let failed = |source| BookError::database(path, source);
    let form = form_of(connection).await.map_err(failed)?;
    match (form, mode) {
        (Some(found), _) if found > NEWEST_FORM => {
            return Err(BookError::Newer {
                path: path.into(),
                found,
                known: NEWEST_FORM,
            });
        }
        (None, Mode::Write | Mode::Read) => {
            return Err(BookError::NotABook {
                path: path.into(),
                found: "a database without the tables of a lab book".into(),
            });
        }
        (Some(found), Mode::Read) if found < NEWEST_FORM => {
            // An older form cannot be brought up to date where nothing can be written.
            return Err(BookError::ReadOnly { path: path.into() });
        }
        (_, Mode::Read) => return Ok(()),
        (None, Mode::Create) => {
            sqlx::query(sqlx::AssertSqlSafe(format!(
                "PRAGMA application_id = {APPLICATION_ID}"
            )))
            .execute(&mut *connection)
            .await
            .map_err(failed)?;
        }
        (Some(_), Mode::Write | Mode::Create) => {}
    }
    migrator(to_form)
        .run(&mut *connection)
        .await
        .map_err(|error| match error {
            MigrateError::Execute(source) | MigrateError::ExecuteMigration(source, _) => {
                failed(source)
            }
            other => BookError::Damaged {
                path: path.into(),
                found: other.to_string(),
            },
        })
}
