//! Coming in with an account elsewhere, e.g. at one's university. Who somebody is there is a pair of issuer and
//! subject, and nothing else: addresses and names change hands.

use crate::access_log::{AccessKind, Noted};
use crate::coming_in::{CameIn, Knock, Shown};
use crate::error::AccountError;
use crate::store::Accounts;
use sqlx::{Any, Row as _, Transaction};

/// Somebody who showed elsewhere who they are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outside {
    /// Who says so.
    pub issuer: String,
    /// What they call that person, for ever.
    pub subject: String,
    /// When that person showed it there [s since 1970].
    pub proved_s: i64,
}

impl Accounts {
    /// Who of the book is bound to this account elsewhere.
    ///
    /// # Errors
    /// [`AccountError::Database`].
    pub async fn bound(&self, outside: &Outside) -> Result<Option<String>, AccountError> {
        let failed = |source| self.failed(source);
        let row = sqlx::query("SELECT person FROM outside WHERE issuer = $1 AND subject = $2")
            .bind(outside.issuer.as_str())
            .bind(outside.subject.as_str())
            .fetch_optional(self.pool())
            .await
            .map_err(failed)?;
        row.map(|row| row.try_get(0)).transpose().map_err(failed)
    }

    /// Let somebody in by their account elsewhere.
    ///
    /// # Errors
    /// [`AccountError`]: nobody is bound to it, or their account here is locked.
    pub async fn sign_in(&self, outside: &Outside, knock: &Knock) -> Result<CameIn, AccountError> {
        let person = self.bound(outside).await?.ok_or(AccountError::NotBound)?;
        let mut change = self.change().await?;
        let must_change = self.open_account(&mut change, &person).await?;
        let shown = Shown {
            kind: AccessKind::SignedIn,
            proved_s: outside.proved_s.min(knock.now_s),
            must_change,
        };
        let came = self.let_in(&mut change, &person, shown, knock).await?;
        self.keep(change).await?;
        Ok(came)
    }

    /// Accept an invitation with an account elsewhere instead of a passphrase. Earlier sessions and tokens end, a
    /// passphrase that was given and never changed is one no more, and a session begins.
    ///
    /// # Errors
    /// [`AccountError`]: there is no such invitation, or the account elsewhere is somebody else's way in.
    pub async fn accept_outside(
        &self,
        code: &str,
        outside: &Outside,
        knock: &Knock,
    ) -> Result<CameIn, AccountError> {
        let mut change = self.change().await?;
        let person = self.take_invitation(&mut change, code, knock.now_s).await?;
        self.open_account(&mut change, &person).await?;
        self.end_all(&mut change, &person).await?;
        self.end_tokens(&mut change, &person).await?;
        self.unbind(&mut change, &person).await?;
        sqlx::query(
            "UPDATE account SET passphrase = '', must_change = 0 WHERE person = $1 AND must_change <> 0",
        )
        .bind(person.as_str())
        .execute(&mut *change)
        .await
        .map_err(|source| self.failed(source))?;
        self.bind(&mut change, &person, outside, knock).await?;
        self.note(
            &mut change,
            AccessKind::InvitationAccepted,
            &person,
            &person,
            &knock.from,
            knock.now_s,
        )
        .await?;
        let came = self
            .begin_outside(&mut change, &person, outside, knock)
            .await?;
        self.keep(change).await?;
        Ok(came)
    }

    /// Let somebody in who was just added to the book because of a group that they are in elsewhere.
    ///
    /// # Errors
    /// [`AccountError`]: the account elsewhere is somebody else's way in, or there is an account already.
    pub async fn join_outside(
        &self,
        person: &str,
        outside: &Outside,
        group: &str,
        knock: &Knock,
    ) -> Result<CameIn, AccountError> {
        let mut change = self.change().await?;
        let made = sqlx::query(
            "INSERT INTO account (person, passphrase, must_change, locked, changed_at, last_at) VALUES ($1, '', 0, 0, 0, 0) \
             ON CONFLICT (person) DO NOTHING",
        )
        .bind(person)
        .execute(&mut *change)
        .await
        .map_err(|source| self.failed(source))?;
        if made.rows_affected() == 0 {
            return Err(AccountError::Taken { what: "account" });
        }
        self.bind(&mut change, person, outside, knock).await?;
        let noted = Noted {
            kind: AccessKind::Joined,
            person,
            about: person,
            place: &knock.from,
            detail: group,
            now_s: knock.now_s,
        };
        self.note_more(&mut change, noted).await?;
        let came = self
            .begin_outside(&mut change, person, outside, knock)
            .await?;
        self.keep(change).await?;
        Ok(came)
    }

    /// Note that somebody came back from elsewhere and was not let in; `person` is who they are here, if anybody.
    ///
    /// # Errors
    /// [`AccountError::Database`].
    pub async fn sign_in_refused(
        &self,
        person: &str,
        why: &str,
        knock: &Knock,
    ) -> Result<(), AccountError> {
        let mut change = self.change().await?;
        let noted = Noted {
            kind: AccessKind::SignInRefused,
            person: "",
            about: person,
            place: &knock.from,
            detail: why,
            now_s: knock.now_s,
        };
        self.note_more(&mut change, noted).await?;
        self.keep(change).await
    }

    async fn begin_outside(
        &self,
        change: &mut Transaction<'static, Any>,
        person: &str,
        outside: &Outside,
        knock: &Knock,
    ) -> Result<CameIn, AccountError> {
        let shown = Shown {
            kind: AccessKind::SignedIn,
            proved_s: outside.proved_s.min(knock.now_s),
            must_change: false,
        };
        self.let_in(change, person, shown, knock).await
    }

    /// Whether the passphrase of an account has to be changed; refused where the account is locked.
    pub(crate) async fn open_account(
        &self,
        change: &mut Transaction<'static, Any>,
        person: &str,
    ) -> Result<bool, AccountError> {
        let failed = |source| self.failed(source);
        let row = sqlx::query("SELECT locked, must_change FROM account WHERE person = $1")
            .bind(person)
            .fetch_optional(&mut **change)
            .await
            .map_err(failed)?;
        let row = row.ok_or(AccountError::NotBound)?;
        if row.try_get::<i64, _>(0).map_err(failed)? != 0 {
            return Err(AccountError::Locked);
        }
        Ok(row.try_get::<i64, _>(1).map_err(failed)? != 0)
    }

    async fn bind(
        &self,
        change: &mut Transaction<'static, Any>,
        person: &str,
        outside: &Outside,
        knock: &Knock,
    ) -> Result<(), AccountError> {
        // Whoever has it first has it.
        let bound = sqlx::query(
            "INSERT INTO outside (issuer, subject, person, bound_at) VALUES ($1, $2, $3, $4) ON CONFLICT (issuer, subject) DO NOTHING",
        )
        .bind(outside.issuer.as_str())
        .bind(outside.subject.as_str())
        .bind(person)
        .bind(knock.now_s)
        .execute(&mut **change)
        .await
        .map_err(|source| self.failed(source))?;
        if bound.rows_affected() == 0 {
            return Err(AccountError::BoundToAnother);
        }
        self.note(
            change,
            AccessKind::Bound,
            person,
            person,
            &knock.from,
            knock.now_s,
        )
        .await
    }

    /// No account elsewhere lets this person in any more.
    pub(crate) async fn unbind(
        &self,
        change: &mut Transaction<'static, Any>,
        person: &str,
    ) -> Result<(), AccountError> {
        sqlx::query("DELETE FROM outside WHERE person = $1")
            .bind(person)
            .execute(&mut **change)
            .await
            .map_err(|source| self.failed(source))?;
        Ok(())
    }
}
