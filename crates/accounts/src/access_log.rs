//! Who came in, was refused, or changed what of accounts. It is added to and nothing else.

use crate::error::AccountError;
use crate::limits::LOG_ENTRIES;
use crate::store::Accounts;
use serde::{Deserialize, Serialize};
use sqlx::{Any, Row as _, Transaction};

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AccessKind {
    /// Somebody came in.
    LoggedIn,
    /// Somebody gave a wrong passphrase, or a name that nobody has.
    Refused,
    /// So many failures that one has to wait.
    Waits,
    /// Somebody went.
    LoggedOut,
    /// Somebody ended all their sessions.
    LoggedOutEverywhere,
    /// Somebody was invited to choose a passphrase.
    Invited,
    /// They chose it.
    InvitationAccepted,
    /// A code that is none.
    InvitationRefused,
    /// Somebody changed their passphrase.
    PassphraseChanged,
    /// Somebody was given a passphrase.
    PassphraseSet,
    /// Somebody made a token.
    TokenMade,
    /// Somebody took a token back.
    TokenRevoked,
    /// An account was locked.
    Locked,
    /// An account was unlocked.
    Unlocked,
    /// Somebody came in with their account elsewhere.
    SignedIn,
    /// Somebody came back from elsewhere and was not let in; `detail` says why.
    SignInRefused,
    /// Somebody's account elsewhere lets them in from now on.
    Bound,
    /// Somebody was added to the book because of a group that they are in elsewhere, or sat down in a class session.
    Joined,
    /// A group was made; `detail` is its name, as in the following ones.
    GroupMade,
    /// A group was dissolved.
    GroupDissolved,
    /// Somebody was put into a group.
    GroupEntered,
    /// Somebody was taken out of a group.
    GroupLeft,
}

impl AccessKind {
    /// Every kind.
    pub const ALL: [Self; 22] = [
        Self::LoggedIn,
        Self::Refused,
        Self::Waits,
        Self::LoggedOut,
        Self::LoggedOutEverywhere,
        Self::Invited,
        Self::InvitationAccepted,
        Self::InvitationRefused,
        Self::PassphraseChanged,
        Self::PassphraseSet,
        Self::TokenMade,
        Self::TokenRevoked,
        Self::Locked,
        Self::Unlocked,
        Self::SignedIn,
        Self::SignInRefused,
        Self::Bound,
        Self::Joined,
        Self::GroupMade,
        Self::GroupDissolved,
        Self::GroupEntered,
        Self::GroupLeft,
    ];

    /// As it is kept.
    pub fn name(self) -> &'static str {
        match self {
            Self::LoggedIn => "logged_in",
            Self::Refused => "refused",
            Self::Waits => "waits",
            Self::LoggedOut => "logged_out",
            Self::LoggedOutEverywhere => "logged_out_everywhere",
            Self::Invited => "invited",
            Self::InvitationAccepted => "invitation_accepted",
            Self::InvitationRefused => "invitation_refused",
            Self::PassphraseChanged => "passphrase_changed",
            Self::PassphraseSet => "passphrase_set",
            Self::TokenMade => "token_made",
            Self::TokenRevoked => "token_revoked",
            Self::Locked => "locked",
            Self::Unlocked => "unlocked",
            Self::SignedIn => "signed_in",
            Self::SignInRefused => "sign_in_refused",
            Self::Bound => "bound",
            Self::Joined => "joined",
            Self::GroupMade => "group_made",
            Self::GroupDissolved => "group_dissolved",
            Self::GroupEntered => "group_entered",
            Self::GroupLeft => "group_left",
        }
    }

    fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }
}

/// One thing that happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AccessEntry {
    /// Its id; ids rise with time.
    pub id: String,
    /// When [s since 1970].
    pub at_s: i64,
    /// Who did it; nobody that is known: empty. A name that nobody has is not kept, people type passphrases
    /// into the wrong field.
    pub person: String,
    /// What.
    pub kind: AccessKind,
    /// Whose account it is about; empty where it is nobody's.
    pub about: String,
    /// From which address; empty on the machine itself.
    pub place: String,
    /// Anything else: the name of a group, why somebody was not let in.
    pub detail: String,
}

/// What is to be noted.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Noted<'a> {
    pub kind: AccessKind,
    pub person: &'a str,
    pub about: &'a str,
    pub place: &'a str,
    pub detail: &'a str,
    pub now_s: i64,
}

/// Longest detail that is kept [characters].
const DETAIL_CHARS: usize = 300;

impl Accounts {
    /// The newest entries before the one with this id, or of all; at most [`LOG_ENTRIES`].
    ///
    /// # Errors
    /// [`AccountError::Database`].
    pub async fn access_log(
        &self,
        before: Option<&str>,
        limit: u32,
    ) -> Result<Vec<AccessEntry>, AccountError> {
        let failed = |source| self.failed(source);
        let rows = sqlx::query(
            "SELECT id, at, person, kind, about, place, detail FROM access_log WHERE $1 = '' OR id < $1 ORDER BY id DESC LIMIT $2",
        )
        .bind(before.unwrap_or(""))
        .bind(i64::from(limit.min(LOG_ENTRIES)))
        .fetch_all(self.pool())
        .await
        .map_err(failed)?;
        let mut entries = Vec::with_capacity(rows.len());
        for row in rows {
            let kind: String = row.try_get("kind").map_err(failed)?;
            // A kind of a newer program is left out.
            let Some(kind) = AccessKind::named(&kind) else {
                continue;
            };
            entries.push(AccessEntry {
                id: row.try_get("id").map_err(failed)?,
                at_s: row.try_get("at").map_err(failed)?,
                person: row.try_get("person").map_err(failed)?,
                kind,
                about: row.try_get("about").map_err(failed)?,
                place: row.try_get("place").map_err(failed)?,
                detail: row.try_get("detail").map_err(failed)?,
            });
        }
        Ok(entries)
    }

    /// Add to it.
    pub(crate) async fn note(
        &self,
        change: &mut Transaction<'static, Any>,
        kind: AccessKind,
        person: &str,
        about: &str,
        place: &str,
        now_s: i64,
    ) -> Result<(), AccountError> {
        let noted = Noted {
            kind,
            person,
            about,
            place,
            detail: "",
            now_s,
        };
        self.note_more(change, noted).await
    }

    /// Add to it, with more words.
    pub(crate) async fn note_more(
        &self,
        change: &mut Transaction<'static, Any>,
        noted: Noted<'_>,
    ) -> Result<(), AccountError> {
        let detail: String = noted
            .detail
            .chars()
            .filter(|letter| !letter.is_control())
            .take(DETAIL_CHARS)
            .collect();
        sqlx::query(
            "INSERT INTO access_log (id, at, person, kind, about, place, detail) VALUES ($1, $2, $3, $4, $5, $6, $7)",
        )
        .bind(uuid::Uuid::now_v7().to_string())
        .bind(noted.now_s)
        .bind(noted.person)
        .bind(noted.kind.name())
        .bind(noted.about)
        .bind(noted.place)
        .bind(detail)
        .execute(&mut **change)
        .await
        .map_err(|source| self.failed(source))?;
        Ok(())
    }

    /// Add to it by itself.
    pub(crate) async fn note_alone(
        &self,
        kind: AccessKind,
        person: &str,
        about: &str,
        place: &str,
        now_s: i64,
    ) -> Result<(), AccountError> {
        let mut change = self.change().await?;
        self.note(&mut change, kind, person, about, place, now_s)
            .await?;
        self.keep(change).await
    }
}
