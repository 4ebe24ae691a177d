//! Invitations: a code, good once and for a week, with which somebody chooses their own passphrase. Nobody
//! else ever knows it.

use crate::access_log::AccessKind;
use crate::attempts::Whose;
use crate::chance::{code, digest, typed_code};
use crate::coming_in::{CameIn, Knock, Shown};
use crate::error::AccountError;
use crate::limits::INVITATION_S;
use crate::passphrase::fit;
use crate::store::Accounts;
use sqlx::{Any, Row as _, Transaction};

/// What is handed over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Invitation {
    /// The code. It is shown this once.
    pub code: String,
    /// Until when it can be used [s since 1970].
    pub expires_s: i64,
}

impl Accounts {
    /// Invite somebody to choose a passphrase, their first or a new one; `by` is who invites from which address, nobody
    /// from nowhere on the machine itself. An earlier invitation is good no more.
    ///
    /// # Errors
    /// [`AccountError`]: the account is locked, or the database fails.
    pub async fn invite(
        &self,
        person: &str,
        by: &str,
        from: &str,
        now_s: i64,
    ) -> Result<Invitation, AccountError> {
        let failed = |source| self.failed(source);
        let code = code()?;
        let expires_s = now_s + INVITATION_S;
        let mut change = self.change().await?;
        sqlx::query(
            "INSERT INTO account (person, passphrase, must_change, locked, changed_at, last_at) VALUES ($1, '', 0, 0, 0, 0) \
             ON CONFLICT (person) DO NOTHING",
        )
        .bind(person)
        .execute(&mut *change)
        .await
        .map_err(failed)?;
        let row = sqlx::query("SELECT locked FROM account WHERE person = $1")
            .bind(person)
            .fetch_one(&mut *change)
            .await
            .map_err(failed)?;
        if row.try_get::<i64, _>(0).map_err(failed)? != 0 {
            return Err(AccountError::Locked);
        }
        sqlx::query(
            "INSERT INTO invitation (person, digest, made_by, made_at, expires_at) VALUES ($1, $2, $3, $4, $5) \
             ON CONFLICT (person) DO UPDATE SET digest = excluded.digest, made_by = excluded.made_by, \
             made_at = excluded.made_at, expires_at = excluded.expires_at",
        )
        .bind(person)
        .bind(digest(&typed_code(&code)))
        .bind(by)
        .bind(now_s)
        .bind(expires_s)
        .execute(&mut *change)
        .await
        .map_err(failed)?;
        self.note(&mut change, AccessKind::Invited, by, person, from, now_s)
            .await?;
        self.keep(change).await?;
        Ok(Invitation { code, expires_s })
    }

    /// Who is invited by this code. A code that is none counts as a failed try of the address.
    ///
    /// # Errors
    /// [`AccountError`]: there is no such invitation, or one has to wait.
    pub async fn invited(&self, code: &str, knock: &Knock) -> Result<String, AccountError> {
        let address = Whose::invitations(&knock.from);
        self.claim(std::slice::from_ref(&address), knock.now_s)
            .await?;
        let row =
            sqlx::query("SELECT person FROM invitation WHERE digest = $1 AND expires_at > $2")
                .bind(digest(&typed_code(code)))
                .bind(knock.now_s)
                .fetch_optional(self.pool())
                .await
                .map_err(|source| self.failed(source))?;
        let Some(row) = row else {
            self.note_alone(
                AccessKind::InvitationRefused,
                "",
                "",
                &knock.from,
                knock.now_s,
            )
            .await?;
            return Err(AccountError::NotInvited);
        };
        self.did_not_fail(&address).await?;
        row.try_get(0).map_err(|source| self.failed(source))
    }

    /// Accept an invitation: `name` is what the book calls whoever is invited ([`Accounts::invited`]). Their
    /// earlier sessions and tokens end, accounts elsewhere let them in no more, and a session begins.
    ///
    /// # Errors
    /// [`AccountError`]: the passphrase is not taken (the invitation stays), or there is no such invitation.
    pub async fn accept(
        &self,
        code: &str,
        name: &str,
        passphrase: &str,
        knock: &Knock,
    ) -> Result<CameIn, AccountError> {
        fit(passphrase, name)?;
        let hash = self.hash(passphrase).await?;
        let mut change = self.change().await?;
        let person = self.take_invitation(&mut change, code, knock.now_s).await?;
        self.write_passphrase(&mut change, &person, &hash, 0, knock.now_s)
            .await?;
        self.end_all(&mut change, &person).await?;
        self.end_tokens(&mut change, &person).await?;
        // Whoever chooses a passphrase begins afresh: nobody else comes in by what was bound before.
        self.unbind(&mut change, &person).await?;
        let shown = Shown::by_passphrase(false, knock);
        let came = self.let_in(&mut change, &person, shown, knock).await?;
        self.note(
            &mut change,
            AccessKind::InvitationAccepted,
            &person,
            &person,
            &knock.from,
            knock.now_s,
        )
        .await?;
        self.keep(change).await?;
        self.forgive(name).await?;
        Ok(came)
    }

    /// Take an invitation away; whose it was. Whoever takes it away first has it.
    pub(crate) async fn take_invitation(
        &self,
        change: &mut Transaction<'static, Any>,
        code: &str,
        now_s: i64,
    ) -> Result<String, AccountError> {
        let taken = sqlx::query(
            "DELETE FROM invitation WHERE digest = $1 AND expires_at > $2 RETURNING person",
        )
        .bind(digest(&typed_code(code)))
        .bind(now_s)
        .fetch_optional(&mut **change)
        .await
        .map_err(|source| self.failed(source))?;
        let row = taken.ok_or(AccountError::NotInvited)?;
        row.try_get(0).map_err(|source| self.failed(source))
    }
}
