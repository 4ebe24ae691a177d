//! Coming in for one class session, without an account of one's own: whoever knows the code of the session or of a
//! seat was added to the book under a pseudonym, and a browser is let in as that person.

use crate::access_log::{AccessKind, Noted};
use crate::coming_in::{CameIn, Knock, Shown};
use crate::error::AccountError;
use crate::store::Accounts;

impl Accounts {
    /// Let somebody in who sat down in a class session; `session_title` is noted. Earlier sessions of theirs end:
    /// a phone that was lost lets nobody in any more. They never showed who they are, so they sign nothing.
    ///
    /// # Errors
    /// [`AccountError`]: the account is locked, or the database failed.
    pub async fn sit_down(
        &self,
        person: &str,
        session_title: &str,
        knock: &Knock,
    ) -> Result<CameIn, AccountError> {
        let mut change = self.change().await?;
        sqlx::query(
            "INSERT INTO account (person, passphrase, must_change, locked, changed_at, last_at) VALUES ($1, '', 0, 0, 0, 0) \
             ON CONFLICT (person) DO NOTHING",
        )
        .bind(person)
        .execute(&mut *change)
        .await
        .map_err(|source| self.failed(source))?;
        self.open_account(&mut change, person).await?;
        self.end_all(&mut change, person).await?;
        let noted = Noted {
            kind: AccessKind::Joined,
            person,
            about: person,
            place: &knock.from,
            detail: session_title,
            now_s: knock.now_s,
        };
        self.note_more(&mut change, noted).await?;
        let shown = Shown {
            kind: AccessKind::LoggedIn,
            proved_s: 0,
            must_change: false,
        };
        let came = self.let_in(&mut change, person, shown, knock).await?;
        self.keep(change).await?;
        Ok(came)
    }
}
