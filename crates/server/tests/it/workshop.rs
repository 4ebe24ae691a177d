//! A real book in a temporary folder, the router over it, and a small recording. All of it is invented.

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode};
use meltrange_accounts::{Accounts, Cost, Place};
use meltrange_labbook::{Access, Book, Draft, Person, PersonId, Role};
use meltrange_media::encode::{FilmFormat, PlanarPicture, VideoFormat, VideoWriter};
use meltrange_scene::{Film, Scene, log_csv};
use meltrange_server::{AppState, Guarded, Wire};
use serde_json::{Value, json};
use sqlx::postgres::PgConnectOptions;
use sqlx::{AssertSqlSafe, ConnectOptions as _, Executor as _};
use std::path::{Path, PathBuf};
use std::str::FromStr as _;
use std::sync::OnceLock;
use std::time::Duration;
use tempfile::TempDir;
use tower::ServiceExt as _;

/// A runtime for one test.
pub fn wait<T>(future: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .expect("a runtime")
        .block_on(future)
}

/// An answer, taken in whole.
#[derive(Debug)]
pub struct Answer {
    pub status: StatusCode,
    pub headers: axum::http::HeaderMap,
    pub bytes: Vec<u8>,
}

impl Answer {
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.bytes)
            .unwrap_or_else(|_| panic!("JSON, not {:?}", String::from_utf8_lossy(&self.bytes)))
    }

    /// Expect this status; the JSON of the body.
    pub fn expect(&self, status: u16) -> Value {
        assert_eq!(
            self.status.as_u16(),
            status,
            "{}",
            String::from_utf8_lossy(&self.bytes)
        );
        if self.bytes.is_empty() {
            return Value::Null;
        }
        self.json()
    }

    /// Expect a problem of this kind, as RFC 9457 has it.
    pub fn problem(&self, status: u16, kind: &str) -> Value {
        let found = self.expect(status);
        assert_eq!(self.header("content-type"), "application/problem+json");
        assert_eq!(found["type"], format!("/problems/{kind}"), "{found}");
        assert_eq!(found["status"], status);
        assert!(!found["detail"].as_str().unwrap_or_default().is_empty());
        found
    }

    pub fn header(&self, name: &str) -> &str {
        self.headers
            .get(name)
            .and_then(|value| value.to_str().ok())
            .unwrap_or("")
    }
}

/// A book being served, without a socket.
pub struct Served {
    pub state: AppState,
    pub app: Router,
    pub who: String,
    /// Where the book is on this machine.
    pub folder: PathBuf,
    /// What it is opened by: the folder, or the address of a shared book.
    place: PathBuf,
    _room: TempDir,
}

/// Whether these tests are run with shared books.
fn books_are_shared() -> bool {
    std::env::var_os("MELTRANGE_TEST_BOOKS").is_some_and(|which| which == "shared")
}

/// Where a new book can be made: a folder in `room`, or a new database of the throw-away PostgreSQL that
/// `scripts/with-postgres.sh` starts.
async fn new_place(room: &Path) -> PathBuf {
    if books_are_shared() {
        new_database(room).await
    } else {
        room.join("book")
    }
}

/// The address of a new, empty database, and a place for its recordings in `room`.
async fn new_database(room: &Path) -> PathBuf {
    let cluster = std::env::var("MELTRANGE_TEST_POSTGRES").expect("scripts/with-postgres.sh");
    let name = format!("s{}", uuid::Uuid::now_v7().simple());
    let options = PgConnectOptions::from_str(&format!("{cluster}/postgres"));
    let mut owner = options
        .expect("an address")
        .connect()
        .await
        .expect("PostgreSQL is there");
    owner
        .execute(AssertSqlSafe(format!("CREATE DATABASE {name}")))
        .await
        .expect("a database");
    let place = PathBuf::from(format!("{cluster}/{name}"));
    std::fs::create_dir(room.join("depot")).expect("there is room");
    let recordings = format!("file://{}", room.join("depot").display());
    meltrange_labbook::prepare_shared(&place, Some(&recordings))
        .await
        .expect("prepared");
    place
}

impl Served {
    pub async fn new() -> Self {
        Self::titled("Evening practical", "R. Amsel").await
    }

    /// A book of this title whose first person has this name.
    pub async fn titled(title: &str, name: &str) -> Self {
        let room = tempfile::tempdir().expect("a temporary folder");
        let place = new_place(room.path()).await;
        let first = Person {
            name: name.into(),
            role: Role::Supervisor,
        };
        let (book, who) = Book::create(&place, title, first)
            .await
            .expect("there is room");
        Self::of(book, who, place, room)
    }

    /// A shared book, whatever others are.
    pub async fn shared() -> Self {
        let room = tempfile::tempdir().expect("a temporary folder");
        let place = new_database(room.path()).await;
        let first = Person {
            name: "R. Amsel".into(),
            role: Role::Supervisor,
        };
        let (book, who) = Book::create(&place, "Evening practical", first)
            .await
            .expect("there is room");
        Self::of(book, who, place, room)
    }

    /// What the book is opened by.
    pub fn place(&self) -> &Path {
        &self.place
    }

    /// A book that is served to people with accounts; nobody has one yet.
    pub async fn guarded() -> (Self, Accounts) {
        let room = tempfile::tempdir().expect("a temporary folder");
        let folder = room.path().join("book");
        let first = Person {
            name: "R. Amsel".into(),
            role: Role::Supervisor,
        };
        let (book, who) = Book::create(&folder, "Evening practical", first)
            .await
            .expect("there is room");
        Self::guarding(book, who.to_string(), folder.clone(), folder, room).await
    }

    /// Stop, and serve the same book to people with accounts.
    pub async fn guarded_from_now_on(self) -> (Self, Accounts) {
        let Self {
            state,
            app,
            who,
            folder,
            place,
            _room,
        } = self;
        state.close();
        drop(app);
        state.close_book().await;
        let mut tries = 0;
        let book = loop {
            match Book::open(&place, Access::Serve).await {
                Ok(book) => break book,
                Err(error) if tries > 100 => panic!("{error}"),
                Err(_) => tokio::time::sleep(Duration::from_millis(20)).await,
            }
            tries += 1;
        };
        Self::guarding(book, who, folder, place, _room).await
    }

    async fn guarding(
        book: Book,
        who: String,
        folder: PathBuf,
        place: PathBuf,
        room: TempDir,
    ) -> (Self, Accounts) {
        // What a hash costs is looked at where accounts are tested.
        let cheap = Cost {
            memory_kib: 64,
            passes: 1,
            lanes: 1,
        };
        let accounts = Accounts::open_at_cost(&Place::Folder(folder.clone()), cheap)
            .await
            .expect("there is room");
        let names = ["bench.example.edu".to_owned()].into();
        let guarded = Guarded::new(accounts.clone(), &folder, Wire::Loopback, names);
        let state = AppState::guarded_by(book, guarded).expect("there is room");
        let served = Self {
            app: meltrange_server::app(state.clone()),
            state,
            who,
            place,
            folder,
            _room: room,
        };
        (served, accounts)
    }

    /// Add somebody without asking the interface; their id.
    pub async fn add_person(&self, name: &str, role: &str) -> String {
        let person = Person {
            name: name.into(),
            role: serde_json::from_value(json!(role)).expect("a role"),
        };
        let draft = Draft::new(person);
        let id = draft.subject();
        let who = self.who.parse().expect("an id");
        self.state
            .book()
            .append(who, vec![draft])
            .await
            .expect("written");
        id.to_string()
    }

    fn of(book: Book, who: PersonId, place: PathBuf, room: TempDir) -> Self {
        let folder = book.folder().to_path_buf();
        let state = AppState::new(book).expect("there is room");
        Self {
            app: meltrange_server::app(state.clone()),
            state,
            who: who.to_string(),
            folder,
            place,
            _room: room,
        }
    }

    /// A request as a program on this machine sends it.
    pub fn request(&self, method: &str, path: &str) -> axum::http::request::Builder {
        Request::builder()
            .method(method)
            .uri(path)
            .header("host", "127.0.0.1:8437")
    }

    pub async fn send(&self, request: Request<Body>) -> Answer {
        let answer = self.app.clone().oneshot(request).await.expect("infallible");
        let (parts, body) = answer.into_parts();
        Answer {
            status: parts.status,
            headers: parts.headers,
            bytes: to_bytes(body, 1 << 26).await.expect("a body").to_vec(),
        }
    }

    pub async fn get(&self, path: &str) -> Answer {
        self.send(
            self.request("GET", path)
                .body(Body::empty())
                .expect("a request"),
        )
        .await
    }

    pub async fn get_as(&self, who: &str, path: &str) -> Answer {
        let request = self.request("GET", path).header("x-person", who);
        self.send(request.body(Body::empty()).expect("a request"))
            .await
    }

    pub async fn post(&self, path: &str, body: Value) -> Answer {
        self.post_as(&self.who, path, body).await
    }

    pub async fn put(&self, path: &str, body: Value) -> Answer {
        self.send_as(&self.who, "PUT", path, body).await
    }

    pub async fn post_as(&self, who: &str, path: &str, body: Value) -> Answer {
        self.send_as(who, "POST", path, body).await
    }

    async fn send_as(&self, who: &str, how: &str, path: &str, body: Value) -> Answer {
        let request = self
            .request(how, path)
            .header("x-person", who)
            .header("content-type", "application/json")
            .body(Body::from(body.to_string()))
            .expect("a request");
        self.send(request).await
    }

    pub async fn upload(&self, name: &str, bytes: Vec<u8>) -> Answer {
        let request = self
            .request("POST", &format!("/api/uploads?name={name}"))
            .header("x-person", &self.who)
            .body(Body::from(bytes))
            .expect("a request");
        self.send(request).await
    }

    /// Files that lie in the folder for what is sent.
    pub fn uploaded_files(&self) -> Vec<String> {
        std::fs::read_dir(self.folder.join("uploads")).map_or_else(
            |_| Vec::new(),
            |entries| {
                entries
                    .map(|entry| {
                        entry
                            .expect("readable")
                            .file_name()
                            .to_string_lossy()
                            .into()
                    })
                    .collect()
            },
        )
    }

    pub async fn sample(&self, label: &str) -> String {
        let added = self.post("/api/samples", json!({ "label": label })).await;
        text(&added.expect(201)["row"]["id"])
    }

    pub async fn person(&self, name: &str, role: &str) -> String {
        let added = self
            .post("/api/people", json!({ "name": name, "role": role }))
            .await;
        text(&added.expect(201)["id"])
    }

    /// Import the small recording with this sample in place 1; the recording.
    pub async fn imported(&self, sample: &str, read: bool) -> String {
        let small = small_recording();
        let video = self
            .upload("run.mp4", small.video.clone())
            .await
            .expect(201);
        let log = self.upload("log.csv", small.log.clone()).await.expect(201);
        let order = json!({
            "video": video["id"], "log": log["id"], "read": read,
            "tubes": [{ "place": 1, "sample": sample }],
        });
        let work = self.post("/api/imports", order).await.expect(202);
        let done = self.finished(&text(&work["id"])).await;
        assert_eq!(done["state"], "done", "{done}");
        text(&done["recording"])
    }

    /// Wait until some work is over.
    pub async fn finished(&self, work: &str) -> Value {
        for _ in 0..3000 {
            let found = self.get(&format!("/api/work/{work}")).await.expect(200);
            if found["state"] == "done" || found["state"] == "failed" {
                return found;
            }
            tokio::time::sleep(Duration::from_millis(40)).await;
        }
        panic!("work {work} took more than two minutes");
    }

    /// Stop, open the book again as another process would, and look whether it is sound.
    pub async fn verdict(self) -> meltrange_labbook::Verdict {
        let Self {
            state,
            app,
            place,
            _room,
            ..
        } = self;
        state.close();
        if books_are_shared() {
            // Hands its recordings over.
            drop(app);
            state.close_book().await;
            return meltrange_labbook::verify(&place, None, &mut |_| ())
                .await
                .expect("there is something to look at");
        }
        drop((state, app));
        // The lock goes with the last holder of the state, a task that is ending.
        for _ in 0..100 {
            match Book::open(&place, Access::Write).await {
                Ok(book) => {
                    book.close().await;
                    break;
                }
                Err(_) => tokio::time::sleep(Duration::from_millis(20)).await,
            }
        }
        meltrange_labbook::verify(&place, None, &mut |_| ())
            .await
            .expect("there is something to look at")
    }
}

pub fn text(value: &Value) -> String {
    value.as_str().expect("a text").to_owned()
}

/// A video and its log.
pub struct Small {
    pub video: Vec<u8>,
    pub log: Vec<u8>,
    /// Block temperature at the last crystal, measured by the simulation on what it drew [°C].
    pub last_crystal_c: f64,
}

/// One tube that melts at 113.7 °C at 2 °C/min, one picture a second.
const SCENE: &str = r#"
name = "small"
seed = 7
[picture]
width = 320
height = 240
[programme]
start_c = 111.5
end_c = 115.5
rate_c_per_min = 2.0
soak_s = 10.0
tail_s = 4.0
[timing]
frames_per_s = 1.0
[[tube]]
melts_at_c = 113.7
impurity_mole_fraction = 0.001
"#;

/// Rendered once for all tests of the binary.
pub fn small_recording() -> &'static Small {
    static SMALL: OnceLock<Small> = OnceLock::new();
    SMALL.get_or_init(|| {
        let room = tempfile::tempdir().expect("a temporary folder");
        render(SCENE, &room.path().join("video.mp4"))
    })
}

fn render(scene: &str, place: &Path) -> Small {
    let scene = Scene::from_toml(scene).expect("a scene");
    let quantum_c = scene.log.quantum_c;
    let format = FilmFormat {
        width: scene.picture.width,
        height: scene.picture.height,
        colour: scene.picture.colour,
        video: VideoFormat::Mp4H264,
        frames_per_s: scene.timing.frames_per_s,
        quality: 0.8,
        key_frame_every: 30,
    };
    let film = Film::new(scene).expect("physics in range");
    let mut writer = VideoWriter::create(place, format).expect("ffmpeg");
    film.play(&mut |index, picture| {
        let chroma = picture
            .chroma
            .as_ref()
            .map(|[blue, red]| [&blue[..], &red[..]]);
        let picture = PlanarPicture {
            luma: &picture.luma,
            chroma,
        };
        writer.write(film.times_s()[index], picture)
    })
    .expect("written");
    writer.finish().expect("written");
    Small {
        video: std::fs::read(place).expect("readable"),
        log: log_csv(&film.log(), quantum_c).into_bytes(),
        last_crystal_c: film.truth().tubes[0]
            .last_crystal
            .expect("it melts")
            .temperature_c,
    }
}
