//! Coming in, one's own account, and what supervisors see of others'.

use super::{Person, Role};
use meltrange_accounts as kept;
use meltrange_labbook::PersonId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Who asks.
#[derive(Debug, Serialize, ToSchema)]
pub struct Me {
    /// Whether people come in with accounts; if not, whoever is on this machine says who they are.
    pub guarded: bool,
    /// Who; nobody before they log in or say it.
    #[schema(required)]
    pub person: Option<MyPerson>,
    /// How they showed it; null where it is only said.
    #[schema(required)]
    pub how: Option<HowShown>,
    /// Since when the session lasts, or when the token was made.
    #[schema(required, format = DateTime)]
    pub since: Option<String>,
    /// Whether they have to choose another passphrase before anything else.
    pub must_change: bool,
    /// Shortest passphrase that is taken [characters].
    pub passphrase_chars: usize,
    /// What people call the organisation whose accounts let them in; null where there is none.
    #[schema(required)]
    pub organisation: Option<String>,
    /// Whether there is a passphrase; false where nobody is logged in.
    pub has_passphrase: bool,
    /// Until when a signature takes the login for proof of who signs; null where it asks again.
    #[schema(required, format = DateTime)]
    pub signs_until: Option<String>,
}

/// Somebody, for themselves.
#[derive(Debug, Serialize, ToSchema)]
pub struct MyPerson {
    /// Their id.
    #[schema(value_type = String, format = Uuid)]
    pub id: PersonId,
    /// Their name.
    pub name: String,
    /// What they may do.
    pub role: Role,
}

/// How somebody showed who they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum HowShown {
    /// By a session of a browser.
    Session,
    /// By a token.
    Token,
}

/// Name and passphrase.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LoginRequest {
    /// As the book has it; letters of either size.
    #[schema(max_length = 200)]
    pub name: String,
    /// The passphrase.
    #[schema(format = Password)]
    pub passphrase: String,
}

/// An invitation's code, and the passphrase that is chosen.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AcceptRequest {
    /// The code, in letters of either size, its groups apart or not.
    pub code: String,
    /// The passphrase.
    #[schema(format = Password)]
    pub passphrase: String,
}

/// Another passphrase.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PassphraseRequest {
    /// The one that was good until now.
    #[schema(format = Password)]
    pub current: String,
    /// The new one.
    #[schema(format = Password)]
    pub passphrase: String,
}

/// One's sessions.
#[derive(Debug, Serialize, ToSchema)]
pub struct MySessions {
    /// The one used last first.
    pub sessions: Vec<MySession>,
}

/// A browser that is logged in.
#[derive(Debug, Serialize, ToSchema)]
pub struct MySession {
    /// Its id; not what lets anybody in.
    pub id: String,
    /// Whether it is this very one.
    pub this: bool,
    /// When it began.
    #[schema(format = DateTime)]
    pub begun: String,
    /// When it was used last, to a minute.
    #[schema(format = DateTime)]
    pub seen: String,
    /// From which address it began; empty where that is not known.
    pub from: String,
    /// What the browser calls itself.
    pub browser: String,
}

/// One's tokens.
#[derive(Debug, Serialize, ToSchema)]
pub struct MyTokens {
    /// The newest first.
    pub tokens: Vec<MyToken>,
}

/// What lets a program of one's own in.
#[derive(Debug, Serialize, ToSchema)]
pub struct MyToken {
    /// Its id; not what lets anybody in.
    pub id: String,
    /// What it is for.
    pub name: String,
    /// When it was made.
    #[schema(format = DateTime)]
    pub made: String,
    /// Until when it is good.
    #[schema(format = DateTime)]
    pub expires: String,
    /// When it was used last, to a minute; null never.
    #[schema(required, format = DateTime)]
    pub used: Option<String>,
}

impl From<kept::Token> for MyToken {
    fn from(token: kept::Token) -> Self {
        Self {
            id: token.id,
            name: token.name,
            made: at(token.made_s),
            expires: at(token.expires_s),
            used: ever(token.used_s),
        }
    }
}

/// A token that is wanted.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TokenRequest {
    /// What it is for.
    #[schema(min_length = 1, max_length = 60)]
    pub name: String,
    /// For how long [days].
    #[schema(minimum = 1, maximum = 366)]
    pub days: u32,
}

/// A token that was made.
#[derive(Serialize, ToSchema)]
pub struct TokenMade {
    /// What is kept of it.
    pub token: MyToken,
    /// The token itself. It is shown this once, and kept nowhere.
    pub secret: String,
}

/// An invitation.
#[derive(Serialize, ToSchema)]
pub struct InvitationMade {
    /// The code. It is shown this once, and kept nowhere.
    pub code: String,
    /// Until when it is good; once.
    #[schema(format = DateTime)]
    pub expires: String,
}

/// Accounts of everybody.
#[derive(Debug, Serialize, ToSchema)]
pub struct PersonAccounts {
    /// By name; people without an account, too.
    pub accounts: Vec<PersonAccount>,
}

/// Somebody's account.
#[derive(Debug, Serialize, ToSchema)]
pub struct PersonAccount {
    /// Who.
    pub person: Person,
    /// Whether they have a passphrase.
    pub has_passphrase: bool,
    /// Whether an account of their organisation lets them in.
    pub signs_in: bool,
    /// Whether they have to choose another one before anything else.
    pub must_change: bool,
    /// Whether the account is locked.
    pub locked: bool,
    /// When they last logged in; null never.
    #[schema(required, format = DateTime)]
    pub last: Option<String>,
    /// Until when an invitation can be accepted; null there is none.
    #[schema(required, format = DateTime)]
    pub invited_until: Option<String>,
}

/// Entries of the access log.
#[derive(Debug, Serialize, ToSchema)]
pub struct AccessLog {
    /// The newest first.
    pub entries: Vec<AccessLogEntry>,
}

/// Something that happened at the door, or with accounts.
#[derive(Debug, Serialize, ToSchema)]
pub struct AccessLogEntry {
    /// Its id.
    pub id: String,
    /// When.
    #[schema(format = DateTime)]
    pub when: String,
    /// What.
    pub what: AccessEvent,
    /// Who did it; null nobody that was known, or somebody on the machine itself.
    #[schema(required)]
    pub who: Option<String>,
    /// Whose account it is about; null nobody's.
    #[schema(required)]
    pub about: Option<String>,
    /// From which address; empty on the machine itself.
    pub from: String,
    /// Anything else: the name of a group, why somebody was not let in.
    pub detail: String,
}

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum AccessEvent {
    /// Somebody came in.
    LoggedIn,
    /// A wrong passphrase, or a name that nobody has.
    Refused,
    /// The same, so often that the next try has to wait.
    Waits,
    /// Somebody went.
    LoggedOut,
    /// All sessions of somebody were ended.
    LoggedOutEverywhere,
    /// Somebody was invited.
    Invited,
    /// They chose a passphrase.
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
    /// Somebody came in with an account of their organisation.
    SignedIn,
    /// Somebody came back from their organisation and was not let in.
    SignInRefused,
    /// An account of their organisation lets somebody in from now on.
    Bound,
    /// Somebody was added to the book because of a group of their organisation.
    Joined,
    /// A group was made.
    GroupMade,
    /// A group was dissolved.
    GroupDissolved,
    /// Somebody was put into a group.
    GroupEntered,
    /// Somebody was taken out of a group.
    GroupLeft,
}

impl From<kept::AccessKind> for AccessEvent {
    fn from(kind: kept::AccessKind) -> Self {
        match kind {
            kept::AccessKind::LoggedIn => Self::LoggedIn,
            kept::AccessKind::Refused => Self::Refused,
            kept::AccessKind::Waits => Self::Waits,
            kept::AccessKind::LoggedOut => Self::LoggedOut,
            kept::AccessKind::LoggedOutEverywhere => Self::LoggedOutEverywhere,
            kept::AccessKind::Invited => Self::Invited,
            kept::AccessKind::InvitationAccepted => Self::InvitationAccepted,
            kept::AccessKind::InvitationRefused => Self::InvitationRefused,
            kept::AccessKind::PassphraseChanged => Self::PassphraseChanged,
            kept::AccessKind::PassphraseSet => Self::PassphraseSet,
            kept::AccessKind::TokenMade => Self::TokenMade,
            kept::AccessKind::TokenRevoked => Self::TokenRevoked,
            kept::AccessKind::Locked => Self::Locked,
            kept::AccessKind::Unlocked => Self::Unlocked,
            kept::AccessKind::SignedIn => Self::SignedIn,
            kept::AccessKind::SignInRefused => Self::SignInRefused,
            kept::AccessKind::Bound => Self::Bound,
            kept::AccessKind::Joined => Self::Joined,
            kept::AccessKind::GroupMade => Self::GroupMade,
            kept::AccessKind::GroupDissolved => Self::GroupDissolved,
            kept::AccessKind::GroupEntered => Self::GroupEntered,
            kept::AccessKind::GroupLeft => Self::GroupLeft,
        }
    }
}

/// A moment as it is written, in UTC.
pub(crate) fn at(seconds: i64) -> String {
    jiff::Timestamp::from_second(seconds).map_or_else(|_| String::new(), |when| when.to_string())
}

/// The same, where 0 is never.
pub(crate) fn ever(seconds: i64) -> Option<String> {
    (seconds > 0).then(|| at(seconds))
}
