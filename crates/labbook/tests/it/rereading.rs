//! Many recordings read again: workers side by side, lost ones, what moved, what is accepted once.

use crate::cluster::{connect, new_database, open};
use crate::workshop::{add, engine_reading, new_book, recorded, sample, verdict, wait};
use meltrange_labbook::{
    Book, BookError, Curves, Digest, Finding, Kind, PersonId, Place, Reader, Reading, RecordingId,
    RereadChange, RereadChoice, RereadState, Taken,
};
use sqlx::Executor as _;
use std::collections::BTreeSet;
use std::path::Path;
use std::time::Duration;
use uuid::Uuid;

/// A version that no reading of these books is by.
const NEWER: &str = "meltrange 99.0.0";

/// A book with so many recordings, each read by an engine.
async fn read_before(book: &Book, who: PersonId, count: usize) -> Vec<RecordingId> {
    let urea = add(book, who, sample("U-1", "urea")).await.subject.into();
    let mut recordings = Vec::new();
    for _ in 0..count {
        let id = recorded(book, who, &[urea]).await;
        add(book, who, engine_reading(id, &[urea])).await;
        recordings.push(id);
    }
    recordings
}

/// What a newer engine says of the only tube: first liquid moved by this much [°C].
async fn newer_reading(book: &Book, recording: RecordingId, moved_c: f64) -> (Reading, Vec<u8>) {
    let detail = book.store().recording(recording).await.expect("there");
    let mut reading = detail.readings.last().expect("read before").reading.clone();
    let curves = serde_json::to_vec(&Curves { tubes: Vec::new() }).expect("JSON");
    reading.reader = Reader::Engine {
        program: NEWER.into(),
    };
    reading.curves = Some(Digest::of(&curves));
    if let Some(moment) = &mut reading.tubes[0].first_liquid {
        moment.temperature_c += moved_c;
    }
    (reading, curves)
}

async fn keep(book: &Book, taken: &Taken, moved_c: f64) -> bool {
    let (reading, curves) = newer_reading(book, taken.recording, moved_c).await;
    let rereadings = book.rereadings().expect("shared");
    rereadings
        .keep(taken, &reading, &curves, 0.1)
        .await
        .expect("kept")
}

/// Take and keep until nothing waits; which.
async fn work(book: &Book, name: &str) -> Vec<RecordingId> {
    let mut read = Vec::new();
    let rereadings = book.rereadings().expect("shared");
    while let Some(taken) = rereadings.take(name, NEWER).await.expect("in reach") {
        assert!(keep(book, &taken, 0.05).await);
        read.push(taken.recording);
    }
    read
}

async fn begin(book: &Book, who: PersonId) -> Uuid {
    let rereadings = book.rereadings().expect("shared");
    let (begun, _) = rereadings
        .begin(who, NEWER, RereadChoice::OtherVersions)
        .await
        .expect("begun");
    begun.id
}

async fn readings(book: &Book) -> usize {
    let records = book.store().after(0, 10_000).await.expect("readable");
    records
        .iter()
        .filter(|record| record.entry.kind() == Kind::Reading)
        .count()
}

/// These recordings have no files; nothing else is found.
async fn chain_is_sound(place: &Path) {
    let found = verdict(place).await.findings;
    let is_of_files = |finding: &Finding| matches!(finding.place, Place::Recording { .. });
    assert!(found.iter().all(is_of_files), "{found:?}");
}

#[test]
fn workers_side_by_side_read_every_recording_once_and_it_is_recorded_once() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let place = new_database(room.path()).await;
        let (book, who) = new_book(&place).await;
        let recordings = read_before(&book, who, 45).await;
        let id = begin(&book, who).await;
        let others = [open(&place).await, open(&place).await];
        let (first, second, third) = tokio::join!(
            work(&book, "one"),
            work(&others[0], "two"),
            work(&others[1], "three")
        );
        let each: Vec<RecordingId> = [first, second, third].concat();
        let distinct: BTreeSet<RecordingId> = each.iter().copied().collect();
        assert_eq!((each.len(), distinct.len()), (45, 45));
        assert_eq!(distinct, recordings.into_iter().collect());
        let rereadings = book.rereadings().expect("shared");
        let told = rereadings.told(id).await.expect("told");
        assert_eq!((told.counts.read, told.counts.total()), (45, 45));
        assert_eq!(told.workers.iter().map(|one| one.done).sum::<u64>(), 45);
        // Nothing is in the book before somebody says so.
        assert_eq!(readings(&book).await, 45);
        rereadings.accept(id, who).await.expect("accepted");
        // Two processes record it side by side.
        let there = others[0].rereadings().expect("shared");
        for _ in 0..20 {
            let (one, two) = tokio::join!(rereadings.accept_some(id), there.accept_some(id));
            let left = one.expect("recorded").left.max(two.expect("recorded").left);
            if left == 0 {
                break;
            }
        }
        assert_eq!(
            rereadings.one(id).await.expect("there").state,
            RereadState::Accepted
        );
        let witness = open(&place).await;
        assert_eq!(readings(&witness).await, 90);
        chain_is_sound(&place).await;
        // All are by this engine now.
        let again = rereadings
            .begin(who, NEWER, RereadChoice::OtherVersions)
            .await;
        assert!(matches!(again, Err(BookError::Field { .. })), "{again:?}");
    });
}

#[test]
fn an_acceptance_that_is_cut_off_anywhere_doubles_and_loses_nothing() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let place = new_database(room.path()).await;
        let (book, who) = new_book(&place).await;
        read_before(&book, who, 120).await;
        let id = begin(&book, who).await;
        work(&book, "one").await;
        let rereadings = book.rereadings().expect("shared");
        rereadings.accept(id, who).await.expect("accepted");
        let mut owner = connect(place.to_str().expect("an address")).await;
        let cutting = tokio::spawn(async move {
            let mut cuts = 0_i64;
            for round in 0_u64..40 {
                tokio::time::sleep(Duration::from_micros(2_000 + (round * 7919) % 40_000)).await;
                let ended: i64 = sqlx::query_scalar(
                    "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity
                     WHERE datname = current_database() AND pid <> pg_backend_pid()",
                )
                .fetch_one(&mut owner)
                .await
                .expect("its owner");
                cuts += ended;
            }
            cuts
        });
        let mut failures = 0;
        loop {
            match rereadings.accept_some(id).await {
                Ok(some) if some.left == 0 => break,
                Ok(_) => {}
                Err(error) if error.is_out_of_reach() => failures += 1,
                Err(other) => panic!("{other}"),
            }
        }
        let cuts = cutting.await.expect("it ended");
        assert!(cuts > 0, "nothing was cut off");
        let witness = open(&place).await;
        assert_eq!(
            readings(&witness).await,
            240,
            "after {cuts} cuts, {failures} failures"
        );
        chain_is_sound(&place).await;
    });
}

#[test]
fn what_a_lost_worker_had_taken_is_taken_again_and_given_up_after_three() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let place = new_database(room.path()).await;
        let (book, who) = new_book(&place).await;
        read_before(&book, who, 1).await;
        let id = begin(&book, who).await;
        let rereadings = book.rereadings().expect("shared");
        let mut owner = connect(place.to_str().expect("an address")).await;
        // Another version takes nothing.
        assert_eq!(
            rereadings
                .take("old", "meltrange 0.0.1")
                .await
                .expect("in reach"),
            None
        );
        let mut lost = Vec::new();
        for name in ["one", "two", "three"] {
            let taken = rereadings.take(name, NEWER).await.expect("in reach");
            lost.push(taken.expect("it waits"));
            assert_eq!(
                rereadings.take("four", NEWER).await.expect("in reach"),
                None
            );
            assert!(
                rereadings
                    .still_reads(lost.last().expect("taken"))
                    .await
                    .expect("in reach")
            );
            // The worker is not heard of any more.
            owner
                .execute("UPDATE book.reread_recording SET taken_until = now() - interval '1 s'")
                .await
                .expect("its owner");
        }
        // The first comes back after all: it is another's now.
        assert!(!rereadings.still_reads(&lost[0]).await.expect("in reach"));
        assert!(!keep(&book, &lost[0], 0.0).await);
        assert_eq!(
            rereadings.take("four", NEWER).await.expect("in reach"),
            None
        );
        let failures = rereadings.failures(id, 10).await.expect("told");
        assert_eq!(failures.len(), 1);
        assert!(failures[0].why.contains("lost"), "{}", failures[0].why);
        assert_eq!(rereadings.try_again(id).await.expect("again"), 1);
        // Given back, it waits at once and nobody is counted as lost.
        for _ in 0..5 {
            let taken = rereadings.take("five", NEWER).await.expect("in reach");
            rereadings
                .give_back(&taken.expect("it waits"))
                .await
                .expect("back");
        }
        let taken = rereadings.take("five", NEWER).await.expect("in reach");
        assert!(keep(&book, &taken.expect("it waits"), 0.0).await);
    });
}

#[test]
fn what_moved_is_told_before_it_is_decided() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let place = new_database(room.path()).await;
        let (book, who) = new_book(&place).await;
        let recordings = read_before(&book, who, 5).await;
        let id = begin(&book, who).await;
        let rereadings = book.rereadings().expect("shared");
        // Each of u 0.1 °C: the difference has 0.141, and 2 u of that are 0.283 (GUM, 5.1.2).
        let by_c = [0.1, -0.2, 0.28, 0.3, -1.0];
        for moved_c in by_c {
            let taken = rereadings.take("one", NEWER).await.expect("in reach");
            assert!(keep(&book, &taken.expect("one waits"), moved_c).await);
        }
        let told = rereadings.told(id).await.expect("told");
        assert_eq!(told.changes.get(&RereadChange::Same), Some(&3));
        assert_eq!(told.changes.get(&RereadChange::Moved), Some(&2));
        let near = |found: Option<f64>, expected: f64| {
            assert!(
                found.is_some_and(|found| (found - expected).abs() < 1e-9),
                "{found:?}, not {expected}"
            );
        };
        let first = told.first_liquid;
        assert_eq!(first.tubes, 5);
        near(first.mean_c, -0.104);
        near(first.median_c, 0.1);
        near(first.furthest_c, 1.0);
        // As numpy 2.4.6 has it: numpy.percentile([.1, .2, .28, .3, 1.], 95).
        near(first.p95_c, 0.86);
        near(told.last_crystal.furthest_c, 0.0);
        let tubes = rereadings.tubes(id, None, 0, 2).await.expect("told");
        let furthest: Vec<RecordingId> = tubes.iter().map(|tube| tube.recording).collect();
        assert_eq!(furthest, [recordings[4], recordings[3]]);
        // A worker is not finished with it yet elsewhere: nothing is decided before all was read.
        let only = rereadings.tubes(id, Some(RereadChange::Moved), 0, 10).await;
        assert_eq!(only.expect("told").len(), 2);
        rereadings
            .leave_out(id, recordings[4], "the meniscus was taken for the melt")
            .await
            .expect("left out");
        let why = rereadings.leave_out(id, recordings[3], " ").await;
        assert!(
            matches!(why, Err(BookError::ReasonMissing { .. })),
            "{why:?}"
        );
        rereadings.accept(id, who).await.expect("accepted");
        while rereadings.accept_some(id).await.expect("recorded").left > 0 {}
        assert_eq!(readings(&book).await, 9);
        let left = book.store().recording(recordings[4]).await.expect("there");
        assert_eq!(left.readings.len(), 1);
    });
}

#[test]
fn one_at_a_time_is_read_and_what_is_dropped_leaves_no_record() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let place = new_database(room.path()).await;
        let (book, who) = new_book(&place).await;
        read_before(&book, who, 2).await;
        let rereadings = book.rereadings().expect("shared");
        let current = engine_reading(RecordingId::new(), &[]).reader;
        let Reader::Engine { program } = current else {
            panic!("an engine")
        };
        let nothing = rereadings
            .begin(who, &program, RereadChoice::OtherVersions)
            .await;
        assert!(matches!(nothing, Err(BookError::Field { .. })));
        let (all, count) = rereadings
            .begin(who, &program, RereadChoice::All)
            .await
            .expect("begun");
        assert_eq!(count, 2);
        let second = rereadings
            .begin(who, NEWER, RereadChoice::OtherVersions)
            .await;
        let words = second.expect_err("one is under way").to_string();
        assert!(words.contains("under way already"), "{words}");
        let early = rereadings.accept(all.id, who).await;
        let words = early.expect_err("nothing was read").to_string();
        assert!(words.contains("2 recordings wait"), "{words}");
        rereadings.drop_it(all.id, who).await.expect("dropped");
        assert_eq!(
            rereadings.take("one", &program).await.expect("in reach"),
            None
        );
        assert!(rereadings.accept(all.id, who).await.is_err());
        assert_eq!(readings(&book).await, 2);
        let folder = room.path().join("folder");
        let (plain, _) = Book::create(&folder, "Evening practical", crate::workshop::supervisor())
            .await
            .expect("a book");
        let refused = plain.rereadings().map(|_| ());
        assert!(matches!(refused, Err(BookError::NotShared { .. })));
    });
}
