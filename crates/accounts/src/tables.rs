//! The tables that accounts are kept in, and how older ones are brought up to date. Times are seconds since
//! 1970; secrets are here as digests alone.

use sqlx::{Any, Row as _, Transaction};

/// The newest form that this program knows.
pub(crate) const FORM: i64 = 2;

/// Form 1.
const FIRST: &[&str] = &[
    "CREATE TABLE IF NOT EXISTS form (version BIGINT NOT NULL)",
    // No passphrase yet: ''. must_change and locked: 0 or 1.
    "CREATE TABLE IF NOT EXISTS account (person TEXT PRIMARY KEY, passphrase TEXT NOT NULL, must_change BIGINT NOT NULL, \
     locked BIGINT NOT NULL, changed_at BIGINT NOT NULL, last_at BIGINT NOT NULL)",
    "CREATE TABLE IF NOT EXISTS login_session (digest TEXT PRIMARY KEY, id TEXT NOT NULL UNIQUE, person TEXT NOT NULL, \
     begun_at BIGINT NOT NULL, seen_at BIGINT NOT NULL, place TEXT NOT NULL, agent TEXT NOT NULL)",
    "CREATE INDEX IF NOT EXISTS login_session_person ON login_session (person)",
    "CREATE TABLE IF NOT EXISTS token (digest TEXT PRIMARY KEY, id TEXT NOT NULL UNIQUE, person TEXT NOT NULL, name TEXT NOT NULL, \
     made_at BIGINT NOT NULL, expires_at BIGINT NOT NULL, used_at BIGINT NOT NULL)",
    "CREATE INDEX IF NOT EXISTS token_person ON token (person)",
    "CREATE TABLE IF NOT EXISTS invitation (person TEXT PRIMARY KEY, digest TEXT NOT NULL UNIQUE, made_by TEXT NOT NULL, \
     made_at BIGINT NOT NULL, expires_at BIGINT NOT NULL)",
    "CREATE TABLE IF NOT EXISTS attempt (whose TEXT PRIMARY KEY, failures BIGINT NOT NULL, last_at BIGINT NOT NULL, wait_until BIGINT NOT NULL)",
    // Ids rise with time.
    "CREATE TABLE IF NOT EXISTS access_log (id TEXT PRIMARY KEY, at BIGINT NOT NULL, person TEXT NOT NULL, kind TEXT NOT NULL, \
     about TEXT NOT NULL, place TEXT NOT NULL)",
    "CREATE INDEX IF NOT EXISTS access_log_at ON access_log (at)",
];

/// Form 2: accounts elsewhere, groups, when somebody last showed who they are, and more words in the log.
const SECOND: &[&str] = &[
    "CREATE TABLE IF NOT EXISTS outside (issuer TEXT NOT NULL, subject TEXT NOT NULL, person TEXT NOT NULL, bound_at BIGINT NOT NULL, \
     PRIMARY KEY (issuer, subject))",
    "CREATE INDEX IF NOT EXISTS outside_person ON outside (person)",
    // `lower_name` is the one that no other group has.
    "CREATE TABLE IF NOT EXISTS person_group (id TEXT PRIMARY KEY, lower_name TEXT NOT NULL UNIQUE, name TEXT NOT NULL, made_at BIGINT NOT NULL)",
    "CREATE TABLE IF NOT EXISTS group_member (group_id TEXT NOT NULL, person TEXT NOT NULL, since_at BIGINT NOT NULL, PRIMARY KEY (group_id, person))",
    "ALTER TABLE login_session ADD COLUMN proved_at BIGINT NOT NULL DEFAULT 0",
    "ALTER TABLE access_log ADD COLUMN detail TEXT NOT NULL DEFAULT ''",
];

/// What brings accounts of each form to the next, from the first on.
const STEPS: [&[&str]; 2] = [FIRST, SECOND];

/// The log is added to and nothing else, in the words of either database.
const KEPT_SQLITE: &[&str] = &[
    "CREATE TRIGGER IF NOT EXISTS access_log_stays BEFORE DELETE ON access_log BEGIN SELECT RAISE(ABORT, 'the access log is only added to'); END",
    "CREATE TRIGGER IF NOT EXISTS access_log_is_as_written BEFORE UPDATE ON access_log BEGIN SELECT RAISE(ABORT, 'the access log is only added to'); END",
];
const KEPT_POSTGRES: &[&str] = &[
    "CREATE OR REPLACE FUNCTION access_log_stays() RETURNS trigger LANGUAGE plpgsql AS \
     'BEGIN RAISE EXCEPTION ''the access log is only added to''; END'",
    "CREATE OR REPLACE TRIGGER access_log_stays BEFORE DELETE OR UPDATE OR TRUNCATE ON access_log FOR EACH STATEMENT EXECUTE FUNCTION access_log_stays()",
    // Servers of a shared book log in as writers of that book, who made none of this.
    "DO 'BEGIN IF EXISTS (SELECT FROM pg_roles WHERE rolname = ''meltrange_writer'') THEN \
     GRANT USAGE ON SCHEMA accounts TO meltrange_writer; \
     GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA accounts TO meltrange_writer; \
     REVOKE UPDATE, DELETE ON access_log FROM meltrange_writer; \
     REVOKE INSERT, UPDATE, DELETE ON form FROM meltrange_writer; \
     END IF; END'",
];

/// Whether the tables are there, in the words of either database.
const HAS_FORM_SQLITE: &str = "SELECT COUNT(*) FROM sqlite_master WHERE name = 'form'";
const HAS_FORM_POSTGRES: &str = "SELECT COUNT(*) FROM pg_catalog.pg_tables WHERE schemaname = 'accounts' AND tablename = 'form'";

/// What PostgreSQL says of somebody who may not (insufficient_privilege).
const MAY_NOT: &str = "42501";

/// What was found.
pub(crate) enum Found {
    /// Tables as this program knows them, now.
    Known,
    /// Those of a newer program.
    Newer(i64),
    /// Older ones, and whoever asks may not change them.
    Older(i64),
}

/// Make the tables, or bring them up to date.
pub(crate) async fn make(
    change: &mut Transaction<'static, Any>,
    is_file: bool,
) -> Result<Found, sqlx::Error> {
    if !is_file {
        // Two programs that begin at once make the same tables one after the other.
        run(change, &["SELECT pg_advisory_xact_lock(7236833)"]).await?;
    }
    let is_made = if is_file {
        HAS_FORM_SQLITE
    } else {
        HAS_FORM_POSTGRES
    };
    let row = sqlx::query(is_made).fetch_one(&mut **change).await?;
    let found = if row.try_get::<i64, _>(0)? == 0 {
        // Asked for only where it is needed: whoever uses the tables need not be allowed to make them.
        if !is_file {
            run(change, &["CREATE SCHEMA IF NOT EXISTS accounts"]).await?;
        }
        0
    } else {
        let row = sqlx::query("SELECT version FROM form")
            .fetch_one(&mut **change)
            .await?;
        row.try_get(0)?
    };
    if found > FORM {
        return Ok(Found::Newer(found));
    }
    if found == FORM {
        return Ok(Found::Known);
    }
    match bring_up(change, is_file, found).await {
        Ok(()) => Ok(Found::Known),
        Err(sqlx::Error::Database(error))
            if found > 0 && error.code().as_deref() == Some(MAY_NOT) =>
        {
            Ok(Found::Older(found))
        }
        Err(error) => Err(error),
    }
}

async fn bring_up(
    change: &mut Transaction<'static, Any>,
    is_file: bool,
    found: i64,
) -> Result<(), sqlx::Error> {
    let done = usize::try_from(found).unwrap_or(0);
    for step in STEPS.iter().skip(done) {
        run(change, step).await?;
    }
    run(change, if is_file { KEPT_SQLITE } else { KEPT_POSTGRES }).await?;
    let written = if found == 0 {
        "INSERT INTO form (version) VALUES ($1)"
    } else {
        "UPDATE form SET version = $1"
    };
    sqlx::query(written)
        .bind(FORM)
        .execute(&mut **change)
        .await?;
    Ok(())
}

async fn run(
    change: &mut Transaction<'static, Any>,
    statements: &[&'static str],
) -> Result<(), sqlx::Error> {
    for statement in statements {
        sqlx::query(*statement).execute(&mut **change).await?;
    }
    Ok(())
}
