//! The program killed at any moment: the book opens, verifies, and holds what was acknowledged.

use crate::workshop::{add, new_book, picture, room, run_under_way, sample, verdict, wait};
use meltrange_labbook::{Access, Book, RecordingId, SampleQuery};
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

/// Where the child finds its book.
const PLACE: &str = "MELTRANGE_TEST_BOOK";

/// How many times the child is killed; `MELTRANGE_TEST_KILLS` makes it more.
const KILLS: u64 = 20;

/// Writes records and recordings until it is killed, and says what it was told is safe.
#[test]
#[ignore = "run by the test below in a process of its own"]
fn child_writes_until_killed() {
    let place = std::env::var_os(PLACE).expect("the parent says where");
    let say = |line: String| {
        let mut out = std::io::stdout().lock();
        writeln!(out, "{line}")
            .and_then(|()| out.flush())
            .expect("the parent listens");
    };
    wait(async {
        let book = Book::open(Path::new(&place), Access::Write)
            .await
            .expect("a book");
        let who = book.store().people().await.expect("readable")[0].id;
        let begun = book.store().head().await.expect("readable").seq;
        for round in 0_u32.. {
            let label = format!("U-{begun}-{round}");
            let added = add(&book, who, sample(&label, "benzil")).await;
            say(format!("record {}", added.seq));
            let run = add(&book, who, run_under_way(&[added.subject.into()])).await;
            let mut writer = book
                .begin_recording(who, run.subject.into())
                .await
                .expect("there is room");
            let id = writer.recording();
            for number in 0..30 {
                writer
                    .frame(f64::from(number), picture(number))
                    .expect("kept");
                writer.temperature(f64::from(number), 20.0).expect("kept");
                if number % 10 == 9 {
                    writer.flush().expect("kept");
                    say(format!("frames {id} {}", number + 1));
                }
            }
            let ended = book.end_recording(who, writer).await.expect("ended");
            let ended = ended.recorded().expect("in the book");
            say(format!("record {}", ended[0].seq));
        }
    });
}

/// What the child said was safe.
#[derive(Debug, Default)]
struct Said {
    seq: u64,
    frames: Vec<(RecordingId, u64)>,
}

fn run_and_kill(place: &Path, after: Duration) -> Said {
    let mut child = Command::new(std::env::current_exe().expect("this is a program"))
        .args([
            "--exact",
            "crash::child_writes_until_killed",
            "--ignored",
            "--nocapture",
        ])
        .env(PLACE, place)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("this is a program");
    let out = child.stdout.take().expect("piped");
    let listener = std::thread::spawn(move || {
        let mut said = Said::default();
        for line in BufReader::new(out).lines().map_while(Result::ok) {
            let words: Vec<&str> = line.split(' ').collect();
            match words.as_slice() {
                ["record", seq] => said.seq = seq.parse().expect("a number"),
                ["frames", id, frames] => {
                    said.frames.push((
                        id.parse().expect("an id"),
                        frames.parse().expect("a number"),
                    ));
                }
                _ => {}
            }
        }
        said
    });
    std::thread::sleep(after);
    // On Unix this is SIGKILL.
    child.kill().expect("it runs until it is killed");
    child.wait().expect("it was killed");
    listener.join().expect("it listened")
}

#[test]
fn a_killed_program_loses_nothing_that_was_acknowledged() {
    let kills = std::env::var("MELTRANGE_TEST_KILLS")
        .ok()
        .and_then(|kills| kills.parse().ok())
        .unwrap_or(KILLS);
    let (_room, place) = room();
    wait(async {
        let (book, _) = new_book(&place).await;
        book.close().await;
    });
    let mut acknowledged = 0;
    for kill in 0..kills {
        // Spread over the child's life: its start, its first writes, recordings under way.
        let after = Duration::from_millis(5 + (kill * 7919) % 397);
        let said = run_and_kill(&place, after);
        acknowledged += said.frames.len();
        wait(async {
            let book = Book::open(&place, Access::Write).await.expect("it opens");
            let head = book.store().head().await.expect("readable").seq;
            assert!(
                head >= said.seq,
                "record {} was acknowledged, {head} is the last",
                said.seq
            );
            for (id, frames) in &said.frames {
                let row = book.store().recording(*id).await.expect("there").row;
                let kept = row.recording.end.expect("recovered").frames;
                assert!(
                    kept >= *frames,
                    "{frames} pictures were acknowledged, {kept} are there"
                );
            }
            book.store()
                .samples(&SampleQuery::default())
                .await
                .expect("readable");
            book.close().await;
            let found = verdict(&place).await;
            assert!(found.sound(), "after kill {kill}: {:?}", found.findings);
        });
    }
    assert!(
        acknowledged > 0,
        "every child was killed before it wrote anything"
    );
}
