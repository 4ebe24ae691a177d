//! `meltrange serve` as a process: it refuses clearly, ends cleanly, and being killed costs nothing.

use crate::workshop::{Workshop, ended, meltrange};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use serde_json::{Value, json};
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// A program that serves a book; killed when dropped.
struct Serving {
    child: Child,
    port: u16,
    who: String,
}

impl Serving {
    fn of(book: &Path) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_meltrange"))
            .arg("serve")
            .arg(book)
            .args(["--port", "0", "--no-open"])
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .expect("the program starts");
        let mut line = String::new();
        BufReader::new(child.stdout.take().expect("piped"))
            .read_line(&mut line)
            .expect("the program says where it serves");
        let port = line
            .trim_end()
            .trim_end_matches('/')
            .rsplit(':')
            .next()
            .and_then(|port| port.parse().ok())
            .unwrap_or_else(|| panic!("an address, not {line:?}"));
        let mut serving = Self {
            child,
            port,
            who: String::new(),
        };
        let (status, people) = serving.send("GET", "/api/people", b"").expect("answered");
        assert_eq!(status, 200);
        serving.who = people["people"][0]["id"].as_str().expect("an id").into();
        serving
    }

    /// One request, one connection. An error when the program goes away meanwhile.
    fn send(&self, method: &str, path: &str, body: &[u8]) -> std::io::Result<(u16, Value)> {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port))?;
        stream.set_read_timeout(Some(Duration::from_secs(60)))?;
        let head = format!(
            "{method} {path} HTTP/1.1\r\nhost: 127.0.0.1\r\nconnection: close\r\nx-person: {}\r\n\
             content-type: application/json\r\ncontent-length: {}\r\n\r\n",
            self.who,
            body.len()
        );
        stream.write_all(head.as_bytes())?;
        stream.write_all(body)?;
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer)?;
        let text = String::from_utf8_lossy(&answer);
        let cut = || std::io::Error::from(std::io::ErrorKind::UnexpectedEof);
        let (head, body) = text.split_once("\r\n\r\n").ok_or_else(cut)?;
        let status = head
            .split(' ')
            .nth(1)
            .and_then(|status| status.parse().ok())
            .ok_or_else(cut)?;
        let value = serde_json::from_str(body).map_err(|_| cut())?;
        Ok((status, value))
    }

    fn post(&self, path: &str, body: &Value) -> std::io::Result<(u16, Value)> {
        self.send("POST", path, body.to_string().as_bytes())
    }
}

impl Drop for Serving {
    fn drop(&mut self) {
        // It may have ended already.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn new_book(workshop: &Workshop) -> std::path::PathBuf {
    let book = workshop.path("practical");
    let made = ended(
        meltrange()
            .args(["book", "new"])
            .arg(&book)
            .args(["--by", "R. Amsel"]),
    );
    assert_eq!(made.status, Some(0), "{}", made.stderr);
    book
}

#[test]
fn a_second_process_and_a_taken_port_are_refused() {
    let workshop = Workshop::new();
    let book = new_book(&workshop);
    let serving = Serving::of(&book);
    let second = ended(
        meltrange()
            .arg("serve")
            .arg(&book)
            .args(["--port", "0", "--no-open"]),
    );
    assert_eq!(second.status, Some(1));
    assert!(
        second.stderr.contains("open in another process"),
        "{}",
        second.stderr
    );
    let other = workshop.path("other");
    assert_eq!(
        ended(
            meltrange()
                .args(["book", "new"])
                .arg(&other)
                .args(["--by", "A"])
        )
        .status,
        Some(0)
    );
    let taken = ended(meltrange().arg("serve").arg(&other).args([
        "--no-open",
        "--port",
        &serving.port.to_string(),
    ]));
    assert_eq!(taken.status, Some(1));
    assert!(
        taken.stderr.contains("taken by another program"),
        "{}",
        taken.stderr
    );
    let nowhere = ended(
        meltrange()
            .arg("serve")
            .arg(workshop.path("none"))
            .arg("--no-open"),
    );
    assert_eq!(nowhere.status, Some(1));
    assert!(
        nowhere.stderr.contains("meltrange book new"),
        "{}",
        nowhere.stderr
    );
}

#[cfg(unix)]
#[test]
fn it_ends_cleanly_when_told_to() {
    for signal in ["-INT", "-TERM"] {
        let workshop = Workshop::new();
        let book = new_book(&workshop);
        let mut serving = Serving::of(&book);
        // A page that listens must not keep it alive.
        let mut page = TcpStream::connect(("127.0.0.1", serving.port)).expect("served");
        page.write_all(b"GET /api/events HTTP/1.1\r\nhost: 127.0.0.1\r\n\r\n")
            .expect("sent");
        let mut first = [0; 64];
        assert!(page.read(&mut first).expect("answered") > 0);
        let told = Instant::now();
        let killed = Command::new("kill")
            .args([signal, &serving.child.id().to_string()])
            .status()
            .expect("kill is there");
        assert!(killed.success());
        let status = serving.child.wait().expect("it ends");
        assert_eq!(status.code(), Some(0), "{signal}");
        assert!(
            told.elapsed() < Duration::from_secs(5),
            "{:?}",
            told.elapsed()
        );
        assert!(
            !book.join("book.sqlite-wal").exists(),
            "{signal}: the book was closed"
        );
        assert_eq!(
            ended(meltrange().args(["book", "verify"]).arg(&book)).status,
            Some(0)
        );
    }
}

/// The door for phones is opened only when asked for, is told of with its fingerprint, and does not keep
/// the program or the book from being closed.
#[cfg(unix)]
#[test]
fn phones_find_a_door_when_it_was_asked_for() {
    let workshop = Workshop::new();
    let book = new_book(&workshop);
    drop(Serving::of(&book));
    assert!(!book.join("camera-certificate").exists());
    let mut child = Command::new(env!("CARGO_BIN_EXE_meltrange"))
        .arg("serve")
        .arg(&book)
        .args(["--port", "0", "--no-open", "--share-camera"])
        .stdout(Stdio::piped())
        .stderr(Stdio::inherit())
        .spawn()
        .expect("the program starts");
    let mut said = BufReader::new(child.stdout.take().expect("piped")).lines();
    let mut line = || said.next().expect("a line").expect("text");
    let here = line();
    let here: u16 = here
        .trim_end_matches('/')
        .rsplit(':')
        .next()
        .and_then(|port| port.parse().ok())
        .unwrap_or_else(|| panic!("an address, not {here:?}"));
    let phones = line();
    let port: u16 = phones
        .split("https://")
        .nth(1)
        .and_then(|rest| {
            rest.split(['/', ' '])
                .next()?
                .rsplit(':')
                .next()?
                .parse()
                .ok()
        })
        .unwrap_or_else(|| panic!("an address, not {phones:?}"));
    let fingerprint = line();
    let pairs = fingerprint.rsplit(' ').next().expect("words").split(':');
    assert_eq!(
        pairs.filter(|pair| pair.len() == 2).count(),
        32,
        "{fingerprint}"
    );
    // It answers, so it also listens for signals.
    let mut page = TcpStream::connect(("127.0.0.1", here)).expect("served");
    page.write_all(b"GET /api/book HTTP/1.1\r\nhost: 127.0.0.1\r\nconnection: close\r\n\r\n")
        .expect("sent");
    page.read_to_end(&mut Vec::new()).expect("answered");
    // Somebody has connected to the other door and says nothing.
    let idle = TcpStream::connect(("127.0.0.1", port)).expect("the door is open");
    let told = Instant::now();
    let killed = Command::new("kill")
        .args(["-TERM", &child.id().to_string()])
        .status()
        .expect("kill is there");
    assert!(killed.success());
    assert_eq!(child.wait().expect("it ends").code(), Some(0));
    assert!(
        told.elapsed() < Duration::from_secs(5),
        "{:?}",
        told.elapsed()
    );
    assert!(
        !book.join("book.sqlite-wal").exists(),
        "the book was closed"
    );
    drop(idle);
    let verified = ended(meltrange().args(["book", "verify"]).arg(&book));
    assert_eq!(verified.status, Some(0), "{}", verified.stderr);
}

/// Killed at random moments during edits, uploads and imports: what was answered is in the book, and
/// the book verifies. `MELTRANGE_KILLS` says how often, `MELTRANGE_KILL_SEED` from where.
#[test]
fn being_killed_costs_nothing_that_was_answered() {
    let number = |name: &str| std::env::var(name).ok().and_then(|text| text.parse().ok());
    let kills: u64 = number("MELTRANGE_KILLS").unwrap_or(15);
    let mut random = ChaCha8Rng::seed_from_u64(number("MELTRANGE_KILL_SEED").unwrap_or(20));
    let workshop = Workshop::new();
    let recording = workshop.recording("mp4");
    let video = std::fs::read(recording.join("video.mp4")).expect("readable");
    let log = std::fs::read(recording.join("temperature.csv")).expect("readable");
    let book = new_book(&workshop);
    let mut answered: u64 = 0;
    let mut imported: u64 = 0;
    for kill in 0..kills {
        let mut serving = Serving::of(&book);
        let (_, found) = serving
            .send("GET", "/api/samples?per_page=1", b"")
            .expect("answered");
        let there = found["total"].as_u64().expect("a number");
        // A sample whose answer was under way may be there as well.
        assert!(
            (answered..=answered + 1).contains(&there),
            "{there} of {answered} before kill {kill}"
        );
        answered = there;
        let (_, found) = serving
            .send("GET", "/api/recordings?per_page=1", b"")
            .expect("answered");
        let recordings = found["total"].as_u64().expect("a number");
        assert!(
            recordings >= imported,
            "{recordings} of {imported} before kill {kill}"
        );
        imported = recordings;
        let pid = serving.child.id();
        let wait = Duration::from_millis(random.random_range(5..900));
        let killer = std::thread::spawn(move || {
            std::thread::sleep(wait);
            let killed = Command::new("kill")
                .args(["-KILL", &pid.to_string()])
                .status();
            assert!(killed.expect("kill is there").success());
        });
        imported += work(&serving, &video, &log, kill, &mut answered);
        killer.join().expect("it kills");
        let status = serving.child.wait().expect("it ended");
        assert_eq!(
            status.code(),
            None,
            "it was killed, it did not end by itself"
        );
        let verified = ended(meltrange().args(["book", "verify"]).arg(&book));
        assert_eq!(
            verified.status,
            Some(0),
            "kill {kill} after {wait:?}: {}{}",
            verified.stdout,
            verified.stderr
        );
    }
    assert!(answered > kills / 3, "edits happened: {answered}");
}

/// Edit, send and import until the program is gone; how many imports were seen done.
fn work(serving: &Serving, video: &[u8], log: &[u8], kill: u64, answered: &mut u64) -> u64 {
    let mut importing = Vec::new();
    let mut done = 0;
    for edit in 0_u64.. {
        let sample = json!({ "label": format!("K-{kill}-{edit}"), "remarks": "x".repeat(500) });
        match serving.post("/api/samples", &sample) {
            Ok((201, _)) => *answered += 1,
            Ok((status, problem)) => panic!("{status}: {problem}"),
            Err(_) => break,
        }
        if edit % 4 != 0 {
            continue;
        }
        let sent = [("a.mp4", video), ("a.csv", log)].map(|(name, bytes)| {
            let path = format!("/api/uploads?name={name}");
            let (status, sent) = serving.send("POST", &path, bytes).ok()?;
            (status == 201).then(|| sent["id"].clone())
        });
        let [Some(video), Some(log)] = sent else {
            break;
        };
        let order = json!({ "video": video, "log": log, "tubes": [{ "place": 1 }], "read": false });
        match serving.post("/api/imports", &order) {
            Ok((202, work)) => importing.push(work["id"].as_str().expect("an id").to_owned()),
            Ok((503, _)) => {}
            Ok((status, problem)) => panic!("{status}: {problem}"),
            Err(_) => break,
        }
        importing.retain(|work| {
            let found = serving.send("GET", &format!("/api/work/{work}"), b"");
            let is_done = found.is_ok_and(|(_, work)| work["state"] == "done");
            done += u64::from(is_done);
            !is_done
        });
    }
    done
}
