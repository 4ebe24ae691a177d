//! Every limit on what is taken in, in one place.

use std::time::Duration;

/// Largest JSON body [bytes].
pub(crate) const JSON_BYTES: usize = 256 * 1024;

/// Largest list of samples to import [bytes].
pub(crate) const CSV_BYTES: usize = 2 * 1024 * 1024;

/// Most lines of such a list.
pub(crate) const CSV_ROWS: usize = 5000;

/// Faults of such a list that are named one by one.
pub(crate) const CSV_FAULTS: usize = 100;

/// Largest file that can be sent [bytes]: an hour of a phone's video is a few gigabytes.
pub(crate) const UPLOAD_BYTES: u64 = 16 * 1024 * 1024 * 1024;

/// Largest temperature log that can be sent [bytes]: a week at ten rows a second.
pub(crate) const LOG_BYTES: u64 = 200 * 1024 * 1024;

/// Files that can lie ready to be imported at once.
pub(crate) const UPLOADS: usize = 32;

/// Longest name of a file that is kept [characters].
pub(crate) const NAME_CHARS: usize = 120;

/// Longest name of a session that is kept [characters].
pub(crate) const SESSION_NAME_CHARS: usize = 60;

/// Sessions that are kept in one book.
pub(crate) const SESSIONS: usize = 500;

/// Tubes of a session that is planned here.
pub(crate) const SESSION_TUBES: u64 = 600;

/// Plans of sessions that are looked for at once; each takes a core.
pub(crate) const SEARCHES: usize = 2;

/// Longest time to look for one [s].
pub(crate) const LONGEST_SEARCH_S: f64 = 30.0;

/// Longest search text [characters].
pub(crate) const SEARCH_CHARS: usize = 200;

/// Rows of a page when nothing is said.
pub(crate) const PAGE_ROWS: u32 = 50;

/// Imports and readings that can wait; further ones are refused.
pub(crate) const WAITING_WORK: usize = 16;

/// Imports and readings that are remembered after they ended.
pub(crate) const REMEMBERED_WORK: usize = 200;

/// Recordings whose picture indexes are kept open.
pub(crate) const OPEN_RECORDINGS: usize = 12;

/// Temperatures of a log that are given for a file that is not imported yet.
pub(crate) const LOG_POINTS: usize = 4000;

/// Records that are sent to a page that was away for a while; beyond these it starts afresh.
pub(crate) const MISSED_CHANGES: u64 = 2000;

/// How often an idle event connection says that it is alive.
pub(crate) const EVENT_KEEP_ALIVE: Duration = Duration::from_secs(15);

/// How long a page waits for a newer picture.
pub(crate) const PICTURE_PATIENCE: Duration = Duration::from_secs(1);

/// Time between two `work` events of the same work, unless its state changed.
pub(crate) const WORK_EVENT_SPACING: Duration = Duration::from_millis(200);

/// How long requests under way are waited for when the program is to end.
pub(crate) const FAREWELL: Duration = Duration::from_secs(3);

/// Largest message of a camera page [bytes]: a picture of 20 megapixels.
pub(crate) const CAMERA_MESSAGE_BYTES: usize = 16 * 1024 * 1024;

/// Longest name of a camera that is kept [characters].
pub(crate) const CAMERA_LABEL_CHARS: usize = 120;

/// How often a camera page is asked for its clock.
pub(crate) const CAMERA_PING: Duration = Duration::from_secs(2);

/// A camera page that says nothing for this long is gone.
pub(crate) const CAMERA_SILENT: Duration = Duration::from_secs(10);

/// How long a camera page that lost its connection can come back to where it was.
pub(crate) const CAMERA_REMEMBERED: Duration = Duration::from_secs(30 * 60);

/// Camera pages that are remembered for one bench.
pub(crate) const CAMERA_SESSIONS: usize = 8;

/// How long the code of a camera pass can be used, once.
pub(crate) const PASS_CODE: Duration = Duration::from_secs(10 * 60);

/// How long a device that used one may show.
pub(crate) const PASS_USE: Duration = Duration::from_secs(12 * 3600);

/// Passes, used or not, of one program.
pub(crate) const PASSES: usize = 64;

/// Largest body on the listener for phones [bytes].
pub(crate) const PASS_BYTES: usize = 1024;

/// How often an answer that goes on for long asks whether whoever it goes to is still let in.
pub(crate) const STAY_CHECKED: Duration = Duration::from_secs(10);

/// How long a connection may take to say what it wants, and how long the next piece of a body may take.
pub(crate) const SAID_WITHIN: Duration = Duration::from_secs(30);

/// How often sessions, tokens and invitations that are over are swept away.
pub(crate) const ACCOUNTS_SWEPT: Duration = Duration::from_secs(3600);

/// Sign-ins elsewhere that can be under way at once; the oldest is forgotten then.
pub(crate) const SIGN_INS: usize = 2000;

/// The same, begun from one address: a whole practical may sit behind one.
pub(crate) const SIGN_INS_EACH: usize = 60;

/// Longest address of a page to come back to [bytes].
pub(crate) const PAGE_BYTES: usize = 500;

/// Returns from elsewhere that nobody began, noted in the access log in a minute.
pub(crate) const NOT_BEGUN_NOTED: u32 = 20;
