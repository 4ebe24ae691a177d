//! Accounts of people: a passphrase, whether it has to be changed, whether the account is locked.

use crate::access_log::AccessKind;
use crate::attempts::Whose;
use crate::coming_in::Knock;
use crate::error::AccountError;
use crate::passphrase::fit;
use crate::store::Accounts;
use sqlx::any::AnyRow;
use sqlx::{Any, Row as _, Transaction};

/// How somebody's account stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Account {
    /// Whose, by the id that the book has of them.
    pub person: String,
    /// Whether there is a passphrase.
    pub has_passphrase: bool,
    /// Whether it has to be changed before anything else is done.
    pub must_change: bool,
    /// Whether a supervisor locked it.
    pub locked: bool,
    /// When the passphrase was last changed [s since 1970]; 0 never.
    pub changed_s: i64,
    /// When somebody last came in by it [s since 1970]; 0 never.
    pub last_s: i64,
    /// Until when an invitation can be accepted [s since 1970]; 0 there is none.
    pub invited_until_s: i64,
    /// Whether they can come in with an account elsewhere.
    pub has_outside: bool,
}

const COLUMNS: &str = "SELECT account.person, account.passphrase, account.must_change, account.locked, account.changed_at, account.last_at, \
     COALESCE(invitation.expires_at, 0) AS invited, \
     (SELECT COUNT(*) FROM outside WHERE outside.person = account.person) AS elsewhere FROM account LEFT JOIN invitation ON invitation.person = account.person";

fn account(row: &AnyRow) -> Result<Account, sqlx::Error> {
    let passphrase: String = row.try_get("passphrase")?;
    Ok(Account {
        person: row.try_get("person")?,
        has_passphrase: !passphrase.is_empty(),
        must_change: row.try_get::<i64, _>("must_change")? != 0,
        locked: row.try_get::<i64, _>("locked")? != 0,
        changed_s: row.try_get("changed_at")?,
        last_s: row.try_get("last_at")?,
        invited_until_s: row.try_get("invited")?,
        has_outside: row.try_get::<i64, _>("elsewhere")? > 0,
    })
}

impl Accounts {
    /// All accounts, by id.
    ///
    /// # Errors
    /// [`AccountError::Database`].
    pub async fn all(&self) -> Result<Vec<Account>, AccountError> {
        let failed = |source| self.failed(source);
        let sql = sqlx::AssertSqlSafe(format!("{COLUMNS} ORDER BY account.person"));
        let rows = sqlx::query(sql)
            .fetch_all(self.pool())
            .await
            .map_err(failed)?;
        rows.iter()
            .map(account)
            .collect::<Result<_, _>>()
            .map_err(failed)
    }

    /// Whether one of these people can come in, or can accept an invitation.
    ///
    /// # Errors
    /// [`AccountError::Database`].
    pub async fn any_ready(&self, people: &[String], now_s: i64) -> Result<bool, AccountError> {
        let accounts = self.all().await?;
        Ok(accounts.iter().any(|account| {
            people.contains(&account.person)
                && !account.locked
                && (account.has_passphrase
                    || account.has_outside
                    || account.invited_until_s > now_s)
        }))
    }

    /// Whether somebody has a passphrase.
    ///
    /// # Errors
    /// [`AccountError::Database`].
    pub async fn has_passphrase(&self, person: &str) -> Result<bool, AccountError> {
        Ok(self.kept(person).await?.is_some())
    }

    /// The hash of somebody's passphrase, and whether the account is locked.
    pub(crate) async fn kept(&self, person: &str) -> Result<Option<(String, bool)>, AccountError> {
        let failed = |source| self.failed(source);
        let row = sqlx::query("SELECT passphrase, locked FROM account WHERE person = $1")
            .bind(person)
            .fetch_optional(self.pool())
            .await
            .map_err(failed)?;
        let Some(row) = row else { return Ok(None) };
        let passphrase: String = row.try_get(0).map_err(failed)?;
        let locked: i64 = row.try_get(1).map_err(failed)?;
        Ok((!passphrase.is_empty()).then_some((passphrase, locked != 0)))
    }

    /// Give somebody a passphrase that they have to change when they first come in. All their sessions and
    /// tokens end.
    ///
    /// # Errors
    /// [`AccountError`]: the passphrase is not taken, or the database fails.
    pub async fn set_passphrase(
        &self,
        person: &str,
        name: &str,
        passphrase: &str,
        by: &str,
        now_s: i64,
    ) -> Result<(), AccountError> {
        fit(passphrase, name)?;
        let hash = self.hash(passphrase).await?;
        let mut change = self.change().await?;
        self.write_passphrase(&mut change, person, &hash, 1, now_s)
            .await?;
        self.end_all(&mut change, person).await?;
        self.end_tokens(&mut change, person).await?;
        self.note(
            &mut change,
            AccessKind::PassphraseSet,
            by,
            person,
            "",
            now_s,
        )
        .await?;
        self.keep(change).await?;
        self.forgive(name).await
    }

    /// Change one's own passphrase. All other sessions end; tokens stay.
    ///
    /// # Errors
    /// [`AccountError`]: the current one is wrong, one has to wait, or the new one is not taken.
    pub async fn change_passphrase(
        &self,
        person: &str,
        name: &str,
        [current, passphrase]: [&str; 2],
        session: &str,
        knock: &Knock,
    ) -> Result<(), AccountError> {
        let now_s = knock.now_s;
        let whose = Whose::name(name);
        let failing = self.claim(std::slice::from_ref(&whose), now_s).await?;
        let hash = self.kept(person).await?.map(|(hash, _)| hash);
        if !self.matches(current, hash).await? {
            self.note_alone(failing, person, person, &knock.from, now_s)
                .await?;
            return Err(AccountError::Refused);
        }
        self.succeeded(&whose, None).await?;
        fit(passphrase, name)?;
        if current == passphrase {
            return Err(AccountError::Field {
                field: "passphrase",
                found: "the one there is".into(),
                expected: "another one".into(),
            });
        }
        let hash = self.hash(passphrase).await?;
        let mut change = self.change().await?;
        self.write_passphrase(&mut change, person, &hash, 0, now_s)
            .await?;
        sqlx::query("DELETE FROM login_session WHERE person = $1 AND id <> $2")
            .bind(person)
            .bind(session)
            .execute(&mut *change)
            .await
            .map_err(|source| self.failed(source))?;
        self.note(
            &mut change,
            AccessKind::PassphraseChanged,
            person,
            person,
            &knock.from,
            now_s,
        )
        .await?;
        self.keep(change).await
    }

    pub(crate) async fn write_passphrase(
        &self,
        change: &mut Transaction<'static, Any>,
        person: &str,
        hash: &str,
        must_change: i64,
        now_s: i64,
    ) -> Result<(), AccountError> {
        sqlx::query(
            "INSERT INTO account (person, passphrase, must_change, locked, changed_at, last_at) VALUES ($1, $2, $3, 0, $4, 0) \
             ON CONFLICT (person) DO UPDATE SET passphrase = excluded.passphrase, must_change = excluded.must_change, \
             changed_at = excluded.changed_at",
        )
        .bind(person)
        .bind(hash)
        .bind(must_change)
        .bind(now_s)
        .execute(&mut **change)
        .await
        .map_err(|source| self.failed(source))?;
        Ok(())
    }

    /// Lock somebody's account: sessions and invitation end, tokens are good no more.
    ///
    /// # Errors
    /// [`AccountError::Database`].
    pub async fn lock(
        &self,
        person: &str,
        by: &str,
        from: &str,
        now_s: i64,
    ) -> Result<(), AccountError> {
        let mut change = self.change().await?;
        self.shut(&mut change, person).await?;
        self.note(&mut change, AccessKind::Locked, by, person, from, now_s)
            .await?;
        self.keep(change).await
    }

    /// Lock an account, and end what it let in.
    pub(crate) async fn shut(
        &self,
        change: &mut Transaction<'static, Any>,
        person: &str,
    ) -> Result<(), AccountError> {
        self.write_lock(change, person, 1).await?;
        self.end_all(change, person).await?;
        sqlx::query("DELETE FROM invitation WHERE person = $1")
            .bind(person)
            .execute(&mut **change)
            .await
            .map_err(|source| self.failed(source))?;
        Ok(())
    }

    /// Unlock somebody's account, and forget the failures in their name.
    ///
    /// # Errors
    /// [`AccountError::Database`].
    pub async fn unlock(
        &self,
        person: &str,
        name: &str,
        by: &str,
        from: &str,
        now_s: i64,
    ) -> Result<(), AccountError> {
        let mut change = self.change().await?;
        self.write_lock(&mut change, person, 0).await?;
        self.note(&mut change, AccessKind::Unlocked, by, person, from, now_s)
            .await?;
        self.keep(change).await?;
        self.forgive(name).await
    }

    pub(crate) async fn forgive(&self, name: &str) -> Result<(), AccountError> {
        self.succeeded(&Whose::name(name), None).await
    }

    pub(crate) async fn write_lock(
        &self,
        change: &mut Transaction<'static, Any>,
        person: &str,
        locked: i64,
    ) -> Result<(), AccountError> {
        sqlx::query(
            "INSERT INTO account (person, passphrase, must_change, locked, changed_at, last_at) VALUES ($1, '', 0, $2, 0, 0) \
             ON CONFLICT (person) DO UPDATE SET locked = excluded.locked",
        )
        .bind(person)
        .bind(locked)
        .execute(&mut **change)
        .await
        .map_err(|source| self.failed(source))?;
        Ok(())
    }
}
