//! Tokens: what lets a person's own programs in (RFC 6750, bearer).

use crate::access_log::AccessKind;
use crate::chance::{digest, secret};
use crate::error::AccountError;
use crate::limits::{SEEN_EVERY_S, TOKEN_MOST_DAYS, TOKEN_NAME_CHARS, TOKENS_EACH};
use crate::sessions::Visit;
use crate::store::Accounts;
use sqlx::{Any, Row as _, Transaction};

/// What every token begins with, so that people and programs know one that lies about.
const BEGINS: &str = "meltrange_";

const DAY_S: i64 = 86_400;

/// A token as its owner sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Token {
    /// Its id; not what lets anybody in.
    pub id: String,
    /// What it is for.
    pub name: String,
    /// When it was made [s since 1970].
    pub made_s: i64,
    /// Until when it is good [s since 1970].
    pub expires_s: i64,
    /// When it was used last, to a minute [s since 1970]; 0 never.
    pub used_s: i64,
}

/// A token that was just made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewToken {
    /// The token.
    pub token: Token,
    /// What lets in. It is shown this once.
    pub secret: String,
}

impl Accounts {
    /// Make a token.
    ///
    /// # Errors
    /// [`AccountError`]: its name or its days are not taken, or there are too many.
    pub async fn make_token(
        &self,
        person: &str,
        name: &str,
        days: u32,
        from: &str,
        now_s: i64,
    ) -> Result<NewToken, AccountError> {
        let failed = |source| self.failed(source);
        let name = name.trim();
        let letters = name.chars().count();
        if letters == 0 || letters > TOKEN_NAME_CHARS || name.chars().any(char::is_control) {
            return Err(AccountError::Field {
                field: "name",
                found: format!("{letters} characters"),
                expected: format!("1 to {TOKEN_NAME_CHARS} characters that can be seen"),
            });
        }
        if !(1..=TOKEN_MOST_DAYS).contains(&days) {
            return Err(AccountError::Field {
                field: "days",
                found: days.to_string(),
                expected: format!("1 to {TOKEN_MOST_DAYS}"),
            });
        }
        let secret = format!("{BEGINS}{}", secret()?);
        let token = Token {
            id: uuid::Uuid::now_v7().to_string(),
            name: name.into(),
            made_s: now_s,
            expires_s: now_s + i64::from(days) * DAY_S,
            used_s: 0,
        };
        let mut change = self.change().await?;
        sqlx::query("DELETE FROM token WHERE expires_at <= $1")
            .bind(now_s)
            .execute(&mut *change)
            .await
            .map_err(failed)?;
        let row = sqlx::query("SELECT COUNT(*) FROM token WHERE person = $1")
            .bind(person)
            .fetch_one(&mut *change)
            .await
            .map_err(failed)?;
        let there: i64 = row.try_get(0).map_err(failed)?;
        if usize::try_from(there).unwrap_or(usize::MAX) >= TOKENS_EACH {
            return Err(AccountError::TooMany {
                what: "tokens",
                most: TOKENS_EACH,
            });
        }
        sqlx::query(
            "INSERT INTO token (digest, id, person, name, made_at, expires_at, used_at) VALUES ($1, $2, $3, $4, $5, $6, 0)",
        )
        .bind(digest(&secret))
        .bind(token.id.as_str())
        .bind(person)
        .bind(name)
        .bind(token.made_s)
        .bind(token.expires_s)
        .execute(&mut *change)
        .await
        .map_err(failed)?;
        self.note(
            &mut change,
            AccessKind::TokenMade,
            person,
            person,
            from,
            now_s,
        )
        .await?;
        self.keep(change).await?;
        Ok(NewToken { token, secret })
    }

    /// Whose token this secret is, if it is one's that is still good.
    ///
    /// # Errors
    /// [`AccountError::Database`].
    pub async fn visit_by_token(
        &self,
        secret: &str,
        now_s: i64,
    ) -> Result<Option<Visit>, AccountError> {
        let failed = |source| self.failed(source);
        if !secret.starts_with(BEGINS) {
            return Ok(None);
        }
        let digest = digest(secret);
        let row = sqlx::query(
            "SELECT token.person, token.id, token.made_at, token.used_at, account.must_change \
             FROM token JOIN account ON account.person = token.person \
             WHERE token.digest = $1 AND token.expires_at > $2 AND account.locked = 0",
        )
        .bind(digest.as_str())
        .bind(now_s)
        .fetch_optional(self.pool())
        .await
        .map_err(failed)?;
        let Some(row) = row else { return Ok(None) };
        let used_s: i64 = row.try_get("used_at").map_err(failed)?;
        if used_s + SEEN_EVERY_S <= now_s {
            sqlx::query("UPDATE token SET used_at = $2 WHERE digest = $1")
                .bind(digest.as_str())
                .bind(now_s)
                .execute(self.pool())
                .await
                .map_err(failed)?;
        }
        Ok(Some(Visit {
            person: row.try_get("person").map_err(failed)?,
            id: row.try_get("id").map_err(failed)?,
            since_s: row.try_get("made_at").map_err(failed)?,
            must_change: row.try_get::<i64, _>("must_change").map_err(failed)? != 0,
            proved_s: 0,
        }))
    }

    /// Somebody's tokens that are good, the newest first.
    ///
    /// # Errors
    /// [`AccountError::Database`].
    pub async fn tokens(&self, person: &str, now_s: i64) -> Result<Vec<Token>, AccountError> {
        let failed = |source| self.failed(source);
        let rows = sqlx::query(
            "SELECT id, name, made_at, expires_at, used_at FROM token WHERE person = $1 AND expires_at > $2 ORDER BY id DESC",
        )
        .bind(person)
        .bind(now_s)
        .fetch_all(self.pool())
        .await
        .map_err(failed)?;
        rows.iter()
            .map(|row| {
                Ok(Token {
                    id: row.try_get("id")?,
                    name: row.try_get("name")?,
                    made_s: row.try_get("made_at")?,
                    expires_s: row.try_get("expires_at")?,
                    used_s: row.try_get("used_at")?,
                })
            })
            .collect::<Result<_, sqlx::Error>>()
            .map_err(failed)
    }

    /// Take a token back.
    ///
    /// # Errors
    /// [`AccountError`]: they have no such token.
    pub async fn revoke_token(
        &self,
        person: &str,
        id: &str,
        from: &str,
        now_s: i64,
    ) -> Result<(), AccountError> {
        let mut change = self.change().await?;
        let revoked = sqlx::query("DELETE FROM token WHERE person = $1 AND id = $2")
            .bind(person)
            .bind(id)
            .execute(&mut *change)
            .await
            .map_err(|source| self.failed(source))?;
        if revoked.rows_affected() == 0 {
            return Err(AccountError::Unknown { what: "token" });
        }
        self.note(
            &mut change,
            AccessKind::TokenRevoked,
            person,
            person,
            from,
            now_s,
        )
        .await?;
        self.keep(change).await
    }

    pub(crate) async fn end_tokens(
        &self,
        change: &mut Transaction<'static, Any>,
        person: &str,
    ) -> Result<(), AccountError> {
        sqlx::query("DELETE FROM token WHERE person = $1")
            .bind(person)
            .execute(&mut **change)
            .await
            .map_err(|source| self.failed(source))?;
        Ok(())
    }
}
