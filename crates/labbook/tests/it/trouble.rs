//! A disk that takes nothing for a while: a real limit on the size of files, in a process of its own.

use crate::faults::{SmallDisk, skipped};
use crate::workshop::{new_book, room, run_under_way, verdict, wait};
use meltrange_labbook::{Access, Book, BookError, PersonId, RecordingId, RecordingWriter};
use rustix::process::{Resource, Rlimit, getrlimit, setrlimit};
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Where a child finds its book.
const PLACE: &str = "MELTRANGE_TEST_BOOK";

/// Bytes of a picture.
const LARGE: usize = 20_000;

/// Pictures before there is trouble, and those that find room after its begin.
const BEFORE: u32 = 10;
const FIT: u32 = 3;

fn large(number: u32) -> Vec<u8> {
    let mut bytes = vec![0xFF, 0xD8];
    bytes.extend(
        (0..)
            .flat_map(|at: u32| (at.wrapping_mul(2_654_435_761) ^ number).to_le_bytes())
            .take(LARGE - 2),
    );
    bytes
}

/// How long files of this process may become; none as long as the system allows.
fn limit(bytes: Option<u64>) {
    let Rlimit { maximum, .. } = getrlimit(Resource::Fsize);
    let current = bytes.or(maximum);
    setrlimit(Resource::Fsize, Rlimit { current, maximum }).expect("below the hard limit");
}

/// A test of this program as a process of its own that survives its limits: a signal that a shell
/// ignores stays ignored in what it becomes.
fn child(test: &str, place: &Path) -> Child {
    Command::new("sh")
        .args(["-c", r#"trap '' XFSZ; exec "$0" "$@""#])
        .arg(std::env::current_exe().expect("this is a program"))
        .args(["--exact", test, "--ignored", "--nocapture"])
        .env(PLACE, place)
        .stdout(Stdio::piped())
        .spawn()
        .expect("this is a program")
}

fn give(writer: &mut RecordingWriter, numbers: std::ops::Range<u32>) {
    for number in numbers {
        let time_s = f64::from(number) / 2.0;
        writer.frame(time_s, large(number)).expect("kept");
        writer.temperature(time_s, 100.0 + time_s).expect("kept");
    }
}

fn lines(folder: &Path, file: &str) -> usize {
    let text = std::fs::read_to_string(folder.join(file)).expect("there");
    text.lines().count()
}

async fn begun() -> (Book, PersonId, RecordingWriter) {
    let place = std::env::var_os(PLACE).expect("the parent says where");
    let book = Book::open(Path::new(&place), Access::Write)
        .await
        .expect("a book");
    let who = book.store().people().await.expect("readable")[0].id;
    let run = book.begin_run(who, run_under_way(&[])).await.expect("kept");
    let mut writer = book.begin_recording(who, run).await.expect("room");
    give(&mut writer, 0..BEFORE);
    writer.flush().expect("there is room");
    assert_eq!(writer.trouble(), None);
    (book, who, writer)
}

/// Fifty pictures more of which three and a half find room.
fn run_into_the_limit(folder: &Path, writer: &mut RecordingWriter) {
    limit(Some((u64::from(2 * (BEFORE + FIT)) + 1) * LARGE as u64 / 2));
    let given = Instant::now();
    give(writer, BEFORE..60);
    let took = given.elapsed();
    assert!(
        took < Duration::from_millis(250),
        "{took:?} for 50 pictures"
    );
    let refused = writer.flush().expect_err("they do not fit");
    assert!(
        matches!(&refused, BookError::File { path, .. } if path.ends_with("frames.bin")),
        "{refused:?}"
    );
    // Nothing is half-written, the index speaks of what is there, the log goes on.
    let frames = folder.join("frames.bin").metadata().expect("there").len();
    assert_eq!(frames, u64::from(BEFORE + FIT) * LARGE as u64);
    assert_eq!(
        lines(folder, "frame_index.csv"),
        1 + (BEFORE + FIT) as usize
    );
    assert_eq!(lines(folder, "temperature.csv"), 61);
    std::thread::sleep(Duration::from_millis(1200));
    give(writer, 60..70);
    let said = writer.trouble().expect("it lasts");
    // 57 pictures of 20 kB.
    for part in ["frames.bin could not be written", "1.1 MiB", " s more"] {
        assert!(said.contains(part), "{said}");
    }
    assert!(!said.contains("lost"), "{said}");
}

#[test]
#[ignore = "run by the tests below in a process of its own"]
fn child_whose_disk_is_mended() {
    wait(async {
        let (book, who, mut writer) = begun().await;
        let folder = book.recording_folder(writer.recording());
        run_into_the_limit(&folder, &mut writer);
        limit(None);
        let mended = Instant::now();
        while writer.trouble().is_some() {
            assert!(
                mended.elapsed() < Duration::from_secs(5),
                "it is tried again"
            );
            tokio::time::sleep(Duration::from_millis(10)).await;
        }
        // By itself, without being asked.
        assert_eq!(lines(&folder, "frame_index.csv"), 71);
        give(&mut writer, 70..80);
        assert_eq!((writer.frames(), writer.lost()), (80, 0));
        book.end_recording(who, writer).await.expect("all is well");
        book.close().await;
    });
}

#[test]
#[ignore = "run by the tests below in a process of its own"]
fn child_that_is_killed_in_trouble() {
    wait(async {
        let (book, _, mut writer) = begun().await;
        let id = writer.recording();
        run_into_the_limit(&book.recording_folder(id), &mut writer);
        // The log has room, and is on the disk within a second.
        tokio::time::sleep(Duration::from_millis(1100)).await;
        let mut out = std::io::stdout().lock();
        writeln!(out, "\nin trouble {id}")
            .and_then(|()| out.flush())
            .expect("the parent listens");
        loop {
            std::thread::sleep(Duration::from_secs(1));
        }
    });
}

/// Every picture up to `count`, bit for bit, and as many temperatures as `rows`.
async fn look(book: &Book, id: RecordingId, count: u32, rows: usize) {
    let frames = book.frames(id).await.expect("there");
    assert_eq!(frames.times_s().len(), count as usize);
    for number in 0..count {
        let at = number as usize;
        assert_eq!(frames.times_s()[at], f64::from(number) / 2.0);
        assert!(frames.picture(at).expect("there") == large(number), "{at}");
    }
    let log = book.log(id).await.expect("there").log;
    assert_eq!(log.samples().len(), rows);
}

#[test]
fn a_disk_that_is_mended_gets_everything_in_order() {
    let (_room, place) = room();
    wait(async {
        let (book, _) = new_book(&place).await;
        book.close().await;
        let child = child("trouble::child_whose_disk_is_mended", &place);
        let out = child.wait_with_output().expect("it ends");
        assert!(
            out.status.success(),
            "{}",
            String::from_utf8_lossy(&out.stdout)
        );
        let book = Book::open(&place, Access::Write).await.expect("a book");
        let rows = book.store().recordings(&Default::default()).await;
        let row = rows.expect("readable").rows.remove(0);
        let end = row.recording.end.expect("ended");
        assert_eq!((end.frames, end.cut), (80, false));
        look(&book, row.id, 80, 80).await;
        book.close().await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
    });
}

#[test]
fn a_program_killed_in_trouble_leaves_what_the_disk_took() {
    let (_room, place) = room();
    wait(async {
        let (book, _) = new_book(&place).await;
        book.close().await;
        let mut child = child("trouble::child_that_is_killed_in_trouble", &place);
        let out = BufReader::new(child.stdout.take().expect("piped"));
        let mut said = out.lines().map_while(Result::ok);
        let id = said.find_map(|line| Some(line.strip_prefix("in trouble ")?.to_owned()));
        child.kill().expect("it runs until it is killed");
        child.wait().expect("it was killed");
        let id: RecordingId = id.expect("it met the limit").parse().expect("an id");
        let book = Book::open(&place, Access::Write).await.expect("a book");
        let row = book.store().recording(id).await.expect("there").row;
        let end = row.recording.end.expect("recovered");
        assert_eq!((end.frames, end.cut), (u64::from(BEFORE + FIT), true));
        look(&book, id, BEFORE + FIT, 70).await;
        book.close().await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
    });
}

#[test]
fn a_full_disk_with_room_again_gets_everything_in_order() {
    let room = tempfile::tempdir().expect("a temporary folder");
    let disk = room.path().join("disk");
    let Some(mounted) = SmallDisk::mount(&disk) else {
        skipped();
        return;
    };
    let place = disk.join("book");
    wait(async {
        let (book, who) = new_book(&place).await;
        let run = book.begin_run(who, run_under_way(&[])).await.expect("kept");
        let mut writer = book.begin_recording(who, run).await.expect("room");
        // Twice what the disk holds, at a bench's pace.
        for number in 0..100 {
            give(&mut writer, number..number + 1);
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
        let said = writer.trouble().expect("the disk is full");
        assert!(said.contains("no room left on the disk"), "{said}");
        mounted.remount("size=8m");
        let mended = Instant::now();
        while writer.trouble().is_some() {
            assert!(
                mended.elapsed() < Duration::from_secs(5),
                "it is tried again"
            );
            tokio::time::sleep(Duration::from_millis(10)).await;
        }
        let id = writer.recording();
        book.end_recording(who, writer).await.expect("all is well");
        look(&book, id, 100, 100).await;
        book.close().await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
    });
}
