//! Coming in by name and passphrase.

use crate::access_log::{AccessKind, Noted};
use crate::attempts::Whose;
use crate::error::AccountError;
use crate::store::Accounts;
use sqlx::{Any, Row as _, Transaction};

/// Who knocks: all that is known of them before they say who they are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Knock {
    /// Their address; empty where it is not known.
    pub from: String,
    /// What their browser calls itself.
    pub agent: String,
    /// The time [s since 1970].
    pub now_s: i64,
}

/// Somebody came in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CameIn {
    /// Who, by the id that the book has of them.
    pub person: String,
    /// What their browser keeps; it is nowhere else.
    pub secret: String,
    /// The session's id.
    pub session: String,
    /// Whether they have to change their passphrase first.
    pub must_change: bool,
}

/// How somebody who is let in showed who they are.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shown {
    /// What is noted of it.
    pub kind: AccessKind,
    /// When [s since 1970].
    pub proved_s: i64,
    /// Whether they have to change their passphrase first.
    pub must_change: bool,
}

impl Shown {
    /// By a passphrase, now.
    pub fn by_passphrase(must_change: bool, knock: &Knock) -> Self {
        Self {
            kind: AccessKind::LoggedIn,
            proved_s: knock.now_s,
            must_change,
        }
    }
}

impl Accounts {
    /// Let somebody in: `person` is who has this name in the book, if anybody has.
    ///
    /// # Errors
    /// [`AccountError`]: refused, locked, or one has to wait. Whether anybody has the name cannot be told
    /// from it, nor from how long it takes.
    pub async fn log_in(
        &self,
        name: &str,
        person: Option<&str>,
        passphrase: &str,
        knock: &Knock,
    ) -> Result<CameIn, AccountError> {
        let by_name = Whose::name(name);
        let by_address = Whose::address(&knock.from);
        let mut whose: Vec<Whose> = by_address.iter().cloned().collect();
        whose.push(by_name.clone());
        let about = person.unwrap_or("");
        let failing = self.claim(&whose, knock.now_s).await?;
        let kept = match person {
            Some(person) => self.kept(person).await?,
            None => None,
        };
        let (hash, locked) = kept.unzip();
        let right = self.matches(passphrase, hash.clone()).await?;
        let (true, Some(person), Some(hash)) = (right, person, hash) else {
            self.note_alone(failing, "", about, &knock.from, knock.now_s)
                .await?;
            return Err(AccountError::Refused);
        };
        self.succeeded(&by_name, by_address.as_ref()).await?;
        if locked == Some(true) {
            self.note_alone(
                AccessKind::Refused,
                person,
                person,
                &knock.from,
                knock.now_s,
            )
            .await?;
            return Err(AccountError::Locked);
        }
        // Worked out before the change begins: it takes a while.
        let dearer = if self.outgrown(&hash) {
            Some(self.hash(passphrase).await?)
        } else {
            None
        };
        let mut change = self.change().await?;
        if let Some(dearer) = dearer {
            // Only where nobody changed it in the meantime.
            sqlx::query("UPDATE account SET passphrase = $2 WHERE person = $1 AND passphrase = $3")
                .bind(person)
                .bind(dearer)
                .bind(hash)
                .execute(&mut *change)
                .await
                .map_err(|source| self.failed(source))?;
        }
        let must_change = self.has_to_change(&mut change, person).await?;
        let shown = Shown::by_passphrase(must_change, knock);
        let came = self.let_in(&mut change, person, shown, knock).await?;
        self.keep(change).await?;
        Ok(came)
    }

    /// Whether this passphrase is that of somebody who is in already, e.g. before they sign. A wrong one counts
    /// as a failed try and stands in the access log, with what it was `about`.
    ///
    /// # Errors
    /// [`AccountError`]: it is not, or one has to wait.
    pub async fn prove(
        &self,
        person: &str,
        name: &str,
        passphrase: &str,
        about: &str,
        knock: &Knock,
    ) -> Result<(), AccountError> {
        let by_name = Whose::name(name);
        let by_address = Whose::address(&knock.from);
        let mut whose: Vec<Whose> = by_address.iter().cloned().collect();
        whose.push(by_name.clone());
        let failing = self.claim(&whose, knock.now_s).await?;
        let kept = self.kept(person).await?;
        let (hash, locked) = kept.unzip();
        if self.matches(passphrase, hash).await? && locked == Some(false) {
            return self.succeeded(&by_name, by_address.as_ref()).await;
        }
        let mut change = self.change().await?;
        let noted = Noted {
            kind: failing,
            person,
            about: person,
            place: &knock.from,
            detail: about,
            now_s: knock.now_s,
        };
        self.note_more(&mut change, noted).await?;
        self.keep(change).await?;
        Err(AccountError::Refused)
    }

    async fn has_to_change(
        &self,
        change: &mut Transaction<'static, Any>,
        person: &str,
    ) -> Result<bool, AccountError> {
        let failed = |source| self.failed(source);
        let row = sqlx::query("SELECT must_change FROM account WHERE person = $1")
            .bind(person)
            .fetch_one(&mut **change)
            .await
            .map_err(failed)?;
        Ok(row.try_get::<i64, _>(0).map_err(failed)? != 0)
    }

    /// Begin a session and note it.
    pub(crate) async fn let_in(
        &self,
        change: &mut Transaction<'static, Any>,
        person: &str,
        shown: Shown,
        knock: &Knock,
    ) -> Result<CameIn, AccountError> {
        sqlx::query("UPDATE account SET last_at = $2 WHERE person = $1")
            .bind(person)
            .bind(knock.now_s)
            .execute(&mut **change)
            .await
            .map_err(|source| self.failed(source))?;
        let (secret, session) = self.begin(change, person, shown.proved_s, knock).await?;
        self.note(change, shown.kind, person, person, &knock.from, knock.now_s)
            .await?;
        Ok(CameIn {
            person: person.into(),
            secret,
            session,
            must_change: shown.must_change,
        })
    }
}
