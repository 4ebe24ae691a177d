//! Sessions: what a browser holds after somebody came in.

use crate::access_log::AccessKind;
use crate::chance::{digest, secret};
use crate::coming_in::Knock;
use crate::error::AccountError;
use crate::limits::{SEEN_EVERY_S, SESSION_IDLE_S, SESSION_LONGEST_S, SESSIONS_EACH};
use crate::store::Accounts;
use sqlx::{Any, Row as _, Transaction};

/// Who asks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Visit {
    /// Their id in the book.
    pub person: String,
    /// The session's or the token's id.
    pub id: String,
    /// Since when [s since 1970].
    pub since_s: i64,
    /// Whether they have to change their passphrase first.
    pub must_change: bool,
    /// When they last showed who they are, by passphrase or elsewhere [s since 1970]; 0 by a token, never.
    pub proved_s: i64,
}

/// A session as its owner sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Session {
    /// Its id; not what lets anybody in.
    pub id: String,
    /// When it began [s since 1970].
    pub begun_s: i64,
    /// When it was used last, to a minute [s since 1970].
    pub seen_s: i64,
    /// From which address it began.
    pub place: String,
    /// What the browser called itself.
    pub agent: String,
}

impl Accounts {
    /// Begin a session for somebody who was let in and showed who they are at `proved_s`; the secret that its
    /// cookie holds, and its id.
    pub(crate) async fn begin(
        &self,
        change: &mut Transaction<'static, Any>,
        person: &str,
        proved_s: i64,
        knock: &Knock,
    ) -> Result<(String, String), AccountError> {
        let failed = |source| self.failed(source);
        let secret = secret()?;
        let id = uuid::Uuid::now_v7().to_string();
        let agent: String = knock
            .agent
            .chars()
            .filter(|letter| !letter.is_control())
            .take(200)
            .collect();
        sqlx::query(
            "INSERT INTO login_session (digest, id, person, begun_at, seen_at, place, agent, proved_at) VALUES ($1, $2, $3, $4, $4, $5, $6, $7)",
        )
        .bind(digest(&secret))
        .bind(id.as_str())
        .bind(person)
        .bind(knock.now_s)
        .bind(knock.from.as_str())
        .bind(agent)
        .bind(proved_s)
        .execute(&mut **change)
        .await
        .map_err(failed)?;
        sqlx::query(
            "DELETE FROM login_session WHERE person = $1 AND id NOT IN \
             (SELECT id FROM login_session WHERE person = $1 ORDER BY seen_at DESC, id DESC LIMIT $2)",
        )
        .bind(person)
        .bind(i64::try_from(SESSIONS_EACH).unwrap_or(i64::MAX))
        .execute(&mut **change)
        .await
        .map_err(failed)?;
        Ok((secret, id))
    }

    /// Whose session this secret is, if it is one's that still lasts.
    ///
    /// # Errors
    /// [`AccountError::Database`].
    pub async fn visit(&self, secret: &str, now_s: i64) -> Result<Option<Visit>, AccountError> {
        let failed = |source| self.failed(source);
        let digest = digest(secret);
        let row = sqlx::query(
            "SELECT login_session.person, login_session.id, login_session.begun_at, login_session.seen_at, login_session.proved_at, account.must_change \
             FROM login_session JOIN account ON account.person = login_session.person \
             WHERE login_session.digest = $1 AND login_session.seen_at > $2 AND login_session.begun_at > $3 AND account.locked = 0",
        )
        .bind(digest.as_str())
        .bind(now_s - SESSION_IDLE_S)
        .bind(now_s - SESSION_LONGEST_S)
        .fetch_optional(self.pool())
        .await
        .map_err(failed)?;
        let Some(row) = row else { return Ok(None) };
        let seen_s: i64 = row.try_get("seen_at").map_err(failed)?;
        if seen_s + SEEN_EVERY_S <= now_s {
            sqlx::query("UPDATE login_session SET seen_at = $2 WHERE digest = $1")
                .bind(digest.as_str())
                .bind(now_s)
                .execute(self.pool())
                .await
                .map_err(failed)?;
        }
        Ok(Some(Visit {
            person: row.try_get("person").map_err(failed)?,
            id: row.try_get("id").map_err(failed)?,
            since_s: row.try_get("begun_at").map_err(failed)?,
            must_change: row.try_get::<i64, _>("must_change").map_err(failed)? != 0,
            proved_s: row.try_get("proved_at").map_err(failed)?,
        }))
    }

    /// Whether a session or token with this id still lets its owner in. Asking is no use of it.
    ///
    /// # Errors
    /// [`AccountError::Database`].
    pub async fn still_lets_in(&self, id: &str, now_s: i64) -> Result<bool, AccountError> {
        let failed = |source| self.failed(source);
        let row = sqlx::query(
            "SELECT login_session.person FROM login_session JOIN account ON account.person = login_session.person \
             WHERE login_session.id = $1 AND login_session.seen_at > $2 AND login_session.begun_at > $3 AND account.locked = 0 \
             UNION ALL SELECT token.person FROM token JOIN account ON account.person = token.person \
             WHERE token.id = $1 AND token.expires_at > $4 AND account.locked = 0",
        )
        .bind(id)
        .bind(now_s - SESSION_IDLE_S)
        .bind(now_s - SESSION_LONGEST_S)
        .bind(now_s)
        .fetch_optional(self.pool())
        .await
        .map_err(failed)?;
        Ok(row.is_some())
    }

    /// Somebody's sessions, the one used last first.
    ///
    /// # Errors
    /// [`AccountError::Database`].
    pub async fn sessions(&self, person: &str, now_s: i64) -> Result<Vec<Session>, AccountError> {
        let failed = |source| self.failed(source);
        let rows = sqlx::query(
            "SELECT id, begun_at, seen_at, place, agent FROM login_session \
             WHERE person = $1 AND seen_at > $2 AND begun_at > $3 ORDER BY seen_at DESC, id DESC",
        )
        .bind(person)
        .bind(now_s - SESSION_IDLE_S)
        .bind(now_s - SESSION_LONGEST_S)
        .fetch_all(self.pool())
        .await
        .map_err(failed)?;
        rows.iter()
            .map(|row| {
                Ok(Session {
                    id: row.try_get("id")?,
                    begun_s: row.try_get("begun_at")?,
                    seen_s: row.try_get("seen_at")?,
                    place: row.try_get("place")?,
                    agent: row.try_get("agent")?,
                })
            })
            .collect::<Result<_, sqlx::Error>>()
            .map_err(failed)
    }

    /// End one session of somebody.
    ///
    /// # Errors
    /// [`AccountError`]: they have no such session.
    pub async fn log_out(
        &self,
        person: &str,
        id: &str,
        from: &str,
        now_s: i64,
    ) -> Result<(), AccountError> {
        let mut change = self.change().await?;
        let ended = sqlx::query("DELETE FROM login_session WHERE person = $1 AND id = $2")
            .bind(person)
            .bind(id)
            .execute(&mut *change)
            .await
            .map_err(|source| self.failed(source))?;
        if ended.rows_affected() == 0 {
            return Err(AccountError::Unknown { what: "session" });
        }
        self.note(
            &mut change,
            AccessKind::LoggedOut,
            person,
            person,
            from,
            now_s,
        )
        .await?;
        self.keep(change).await
    }

    /// End all sessions of somebody.
    ///
    /// # Errors
    /// [`AccountError::Database`].
    pub async fn log_out_everywhere(
        &self,
        person: &str,
        by: &str,
        from: &str,
        now_s: i64,
    ) -> Result<(), AccountError> {
        let mut change = self.change().await?;
        self.end_all(&mut change, person).await?;
        self.note(
            &mut change,
            AccessKind::LoggedOutEverywhere,
            by,
            person,
            from,
            now_s,
        )
        .await?;
        self.keep(change).await
    }

    pub(crate) async fn end_all(
        &self,
        change: &mut Transaction<'static, Any>,
        person: &str,
    ) -> Result<(), AccountError> {
        sqlx::query("DELETE FROM login_session WHERE person = $1")
            .bind(person)
            .execute(&mut **change)
            .await
            .map_err(|source| self.failed(source))?;
        Ok(())
    }
}
