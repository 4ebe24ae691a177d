//! Shared books to test on: databases of the throw-away PostgreSQL that `scripts/with-postgres.sh` starts, and a
//! line to it that can be cut.

use meltrange_labbook::{Access, Book, prepare_shared};
use sqlx::postgres::{PgConnectOptions, PgConnection};
use sqlx::{AssertSqlSafe, ConnectOptions as _, Executor as _};
use std::path::{Path, PathBuf};
use std::str::FromStr as _;
use std::sync::Arc;
use std::sync::atomic::{AtomicU8, Ordering};
use std::time::Duration;
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::watch;

/// Whether tests that are written for any book are to be run with shared ones.
pub fn books_are_shared() -> bool {
    std::env::var_os("MELTRANGE_TEST_BOOKS").is_some_and(|which| which == "shared")
}

/// Where the throw-away PostgreSQL is.
fn cluster() -> String {
    std::env::var("MELTRANGE_TEST_POSTGRES").expect(
        "this test needs a PostgreSQL: run it by scripts/with-postgres.sh, as make test does",
    )
}

/// The address of a new, empty database, and a place for its recordings in `room`.
pub async fn new_database(room: &Path) -> PathBuf {
    let name = format!("t{}", uuid::Uuid::now_v7().simple());
    let mut owner = connect(&format!("{}/postgres", cluster())).await;
    owner
        .execute(AssertSqlSafe(format!("CREATE DATABASE {name}")))
        .await
        .expect("a database");
    let place = PathBuf::from(format!("{}/{name}", cluster()));
    let recordings = room.join("depot");
    std::fs::create_dir_all(&recordings).expect("there is room");
    let recordings = format!("file://{}", recordings.display());
    prepare_shared(&place, Some(&recordings))
        .await
        .expect("prepared");
    place
}

/// As the owner of a database.
pub async fn connect(address: &str) -> PgConnection {
    PgConnectOptions::from_str(address)
        .expect("an address")
        .connect()
        .await
        .expect("PostgreSQL is there")
}

const WHOLE: u8 = 0;
const CUT: u8 = 1;
const MUTE: u8 = 2;

/// A line to the database that can be cut.
pub struct Line {
    state: Arc<AtomicU8>,
    changed: watch::Sender<()>,
}

impl Line {
    /// A line to the database at `place`; the address at its near end.
    pub async fn to(place: &Path) -> (Self, PathBuf) {
        let address = place.to_str().expect("an address");
        let far = PgConnectOptions::from_str(address).expect("an address");
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let port = listener.local_addr().expect("bound").port();
        let line = Self {
            state: Arc::new(AtomicU8::new(WHOLE)),
            changed: watch::Sender::new(()),
        };
        let near = address.replacen(&format!(":{}", far.get_port()), &format!(":{port}"), 1);
        let (state, changed) = (Arc::clone(&line.state), line.changed.clone());
        let target = (far.get_host().to_owned(), far.get_port());
        tokio::spawn(async move {
            while let Ok((near, _)) = listener.accept().await {
                if state.load(Ordering::SeqCst) == CUT {
                    continue;
                }
                let far = TcpStream::connect(&target).await.expect("it is there");
                let (state, changed) = (Arc::clone(&state), changed.subscribe());
                tokio::spawn(carry(near, far, state, changed));
            }
        });
        (line, near.into())
    }

    fn turn(&self, state: u8) {
        self.state.store(state, Ordering::SeqCst);
        self.changed.send_replace(());
    }

    /// Nothing gets through, and what was connected no longer is.
    pub fn cut(&self) {
        self.turn(CUT);
    }

    /// What is asked gets through, what is answered does not; it is whole again for new connections after
    /// [`Line::mend`].
    pub fn mute(&self) {
        self.turn(MUTE);
    }

    /// Whole again.
    pub fn mend(&self) {
        self.turn(WHOLE);
    }
}

async fn carry(
    mut near: TcpStream,
    mut far: TcpStream,
    state: Arc<AtomicU8>,
    mut changed: watch::Receiver<()>,
) {
    let (mut asked, mut answered) = ([0; 16384], [0; 16384]);
    let mut was_mute = false;
    loop {
        tokio::select! {
            read = near.read(&mut asked) => match read {
                Ok(bytes) if bytes > 0 => {
                    if far.write_all(&asked[..bytes]).await.is_err() { return }
                }
                _ => return,
            },
            read = far.read(&mut answered) => match read {
                Ok(bytes) if bytes > 0 => {
                    if state.load(Ordering::SeqCst) == MUTE { continue }
                    if near.write_all(&answered[..bytes]).await.is_err() { return }
                }
                _ => return,
            },
            _ = changed.changed() => match state.load(Ordering::SeqCst) {
                CUT => return,
                MUTE => was_mute = true,
                // Answers were lost on this one.
                _ if was_mute => return,
                _ => {}
            },
        }
    }
}

/// Open the book at `place`.
pub async fn open(place: &Path) -> Book {
    Book::open(place, Access::Write).await.expect("a book")
}

/// Until it is so; panics after a while.
pub async fn until(what: &str, mut is_so: impl AsyncFnMut() -> bool) {
    for _ in 0..600 {
        if is_so().await {
            return;
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    panic!("still not: {what}");
}
