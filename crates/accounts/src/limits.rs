//! Every limit of accounts, in one place, with where it comes from.

/// Shortest passphrase [characters]: what NIST SP 800-63B-4, 3.1.1.2, asks of a passphrase that is the only
/// thing that lets somebody in.
pub const PASSPHRASE_CHARS: usize = 15;

/// Longest passphrase [characters]; the same section wants at least 64. The end is there so that nobody
/// sends megabytes to be hashed.
pub const PASSPHRASE_MOST_CHARS: usize = 256;

/// A session ends when nothing was asked for this long [s]: a working day at the bench.
pub const SESSION_IDLE_S: i64 = 8 * 3600;

/// A session ends this long after it began, whatever happens [s]. NIST SP 800-63B-4, 2.2.3, wants a day at
/// the most where more than little is at stake.
pub const SESSION_LONGEST_S: i64 = 24 * 3600;

/// How exactly it is noted when a session or a token was used last [s].
pub const SEEN_EVERY_S: i64 = 60;

/// Sessions of one person; the one that was used least recently gives way.
pub const SESSIONS_EACH: usize = 20;

/// Longest life of a token [days].
pub const TOKEN_MOST_DAYS: u32 = 366;

/// Tokens of one person.
pub const TOKENS_EACH: usize = 20;

/// Longest name of a token [characters].
pub const TOKEN_NAME_CHARS: usize = 60;

/// How long an invitation can be accepted [s]: a week.
pub const INVITATION_S: i64 = 7 * 24 * 3600;

/// Failures in a row that nobody has to wait after, for one name.
pub const NAME_FREE_FAILURES: i64 = 5;

/// Longest wait between two tries for one name [s]. It never becomes a lock: whoever tries to keep somebody
/// out by failing in their name keeps them out for this long at the most.
pub const NAME_LONGEST_WAIT_S: i64 = 15 * 60;

/// The same for one address: a whole practical may sit behind one.
pub const ADDRESS_FREE_FAILURES: i64 = 20;

/// Longest wait between two tries from one address [s].
pub const ADDRESS_LONGEST_WAIT_S: i64 = 5 * 60;

/// The same for codes of invitations that are none, from addresses that are not told apart.
pub const INVITATIONS_FREE_FAILURES: i64 = 100;

/// Longest wait between two of them [s].
pub const INVITATIONS_LONGEST_WAIT_S: i64 = 60;

/// First wait [s]; each further failure doubles it.
pub const FIRST_WAIT_S: i64 = 30;

/// Failures are forgotten after this long without another [s].
pub const FAILURES_KEPT_S: i64 = 24 * 3600;

/// Passphrases that are hashed at once; each takes a core and [`crate::Cost`]'s memory.
pub const HASHED_AT_ONCE: usize = 2;

/// Passphrases that can wait to be hashed; further ones are sent away.
pub const HASHED_WAITING: usize = 30;

/// Entries of the access log that are given at once.
pub const LOG_ENTRIES: u32 = 500;

/// Longest name of a group [characters].
pub const GROUP_NAME_CHARS: usize = 100;

/// Groups of one book.
pub const GROUPS: usize = 500;

/// People of one group.
pub const GROUP_MEMBERS: usize = 1000;

/// How long after somebody showed who they are a signature takes their word for it [s].
pub const PROVED_S: i64 = 5 * 60;

/// How long a sign-in elsewhere may take [s].
pub const SIGN_IN_S: i64 = 10 * 60;

/// Longest subject that a provider may give [characters]: OpenID Connect Core 1.0, section 2, ends it there.
pub const SUBJECT_CHARS: usize = 255;

/// Largest answer of a provider that is read [bytes].
pub const PROVIDER_BYTES: usize = 1024 * 1024;

/// How long a provider is waited for, for each answer [s].
pub const PROVIDER_WAIT_S: u64 = 10;

/// How long what a provider says of itself, and its keys, are used before they are asked for again [s].
pub const PROVIDER_KEPT_S: u64 = 3600;

/// A key that is not known makes its keys be fetched again, but not sooner than this after the last time [s].
pub const PROVIDER_AGAIN_S: u64 = 10;
