//! Shared books: many processes on one chain, its rules, recordings in a store.

use crate::cluster::{connect, new_database, open, until};
use crate::workshop::{add, captured, new_book, run_under_way, sample, supervisor, verdict, wait};
use meltrange_labbook::{
    Access, Book, BookError, Draft, Place, RecordingState, RunState, SampleQuery, copy_into_shared,
    copy_out_of_shared,
};
use sqlx::{AssertSqlSafe, Executor as _};
use std::time::Duration;

#[test]
fn writers_side_by_side_make_one_chain_and_hear_of_all_of_it() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let place = new_database(room.path()).await;
        let (first, who) = new_book(&place).await;
        let second = open(&place).await;
        let mut heard = [first.changes(), second.changes()];
        let write = async |book: &Book, row: &str| {
            for number in 0..40 {
                add(book, who, sample(&format!("{row}-{number}"), "urea")).await;
            }
        };
        tokio::join!(write(&first, "N"), write(&second, "S"));
        for changes in &mut heard {
            for expected in 3..=82 {
                let change = tokio::time::timeout(Duration::from_secs(10), changes.recv());
                let change = change.await.expect("in time").expect("told");
                assert_eq!(change.seq, expected);
            }
        }
        for book in [&first, &second] {
            let page = book.store().samples(&SampleQuery::default()).await;
            assert_eq!(page.expect("readable").total, 80);
        }
        assert_eq!(
            first.store().head().await.expect("readable"),
            second.store().head().await.expect("readable")
        );
        let found = verdict(&place).await;
        assert!(found.sound() && found.records == 82, "{found:?}");
    });
}

#[test]
fn of_two_who_change_the_same_thing_one_is_told() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let place = new_database(room.path()).await;
        let (first, who) = new_book(&place).await;
        let second = open(&place).await;
        let was = add(&first, who, sample("U-1", "urea")).await;
        let revise = |label: &str| {
            vec![
                Draft::revision(was.subject, was.id, sample(label, "benzil"))
                    .because("the label was misread"),
            ]
        };
        let (one, other) = tokio::join!(
            first.append(who, revise("U-7")),
            second.append(who, revise("U-8"))
        );
        let stale = [&one, &other]
            .iter()
            .filter(|outcome| matches!(outcome, Err(BookError::Stale { .. })))
            .count();
        assert_eq!(
            (stale, one.is_ok() || other.is_ok()),
            (1, true),
            "{one:?} {other:?}"
        );
        // A name is taken, whoever took it.
        add(&first, who, sample("V-1", "vanillin")).await;
        let taken = second
            .append(who, vec![Draft::new(sample("v-1", "urea"))])
            .await;
        assert!(matches!(taken, Err(BookError::Taken { .. })), "{taken:?}");
    });
}

#[test]
fn the_database_itself_lets_nobody_change_remove_or_insert_out_of_order() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let place = new_database(room.path()).await;
        let (book, who) = new_book(&place).await;
        add(&book, who, sample("U-1", "urea")).await;
        let mut owner = connect(place.to_str().expect("an address")).await;
        let insert = |seq: u32, hash: &str, content: &str| {
            format!(
                "INSERT INTO book.record (seq, id, kind, subject, hash, content)
                 VALUES ({seq}, 'x', 'sample', 'y', '{hash}', '{content}')"
            )
        };
        // SHA-256 of "{}" as sha256sum of GNU coreutils prints it.
        let of_empty = "44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a";
        for (attempt, said) in [
            (
                "UPDATE book.record SET kind = 'run' WHERE seq = 3".to_owned(),
                "never changed",
            ),
            (
                "DELETE FROM book.record WHERE seq = 3".into(),
                "never changed",
            ),
            ("TRUNCATE book.record CASCADE".into(), "never changed"),
            ("DELETE FROM book.attachment".into(), "never changed"),
            (insert(9, of_empty, "{}"), "only added at the end"),
            (insert(4, &"0".repeat(64), "{}"), "hash of its text"),
            (insert(4, of_empty, "{}"), "hash of the record before"),
            (
                "INSERT INTO book.attachment VALUES ('00', 'x')".into(),
                "this digest",
            ),
        ] {
            let refused = owner.execute(AssertSqlSafe(attempt.clone())).await;
            let words = refused.expect_err(&attempt).to_string();
            assert!(words.contains(said), "{attempt}: {words}");
        }
        // Whoever writes in the book has not even the right.
        owner
            .execute("SET ROLE meltrange_writer")
            .await
            .expect("a role");
        for attempt in [
            "UPDATE book.record SET kind = 'run'",
            "DELETE FROM book.record",
            "TRUNCATE book.record",
            "ALTER TABLE book.record DISABLE TRIGGER ALL",
            "INSERT INTO book.place VALUES ('recordings', 'file:///elsewhere')",
        ] {
            let refused = owner.execute(attempt).await.expect_err(attempt).to_string();
            assert!(
                refused.contains("permission denied") || refused.contains("must be owner"),
                "{attempt}: {refused}"
            );
        }
        assert!(verdict(&place).await.sound());
        // The program, logged in as the owner here, takes no more rights than a writer has.
        owner.execute("RESET ROLE").await.expect("a role");
        owner
            .execute("REVOKE INSERT ON book.record FROM meltrange_writer")
            .await
            .expect("its owner");
        let refused = book
            .append(who, vec![Draft::new(sample("U-2", "urea"))])
            .await;
        assert!(
            matches!(refused, Err(BookError::Central { .. })),
            "{refused:?}"
        );
    });
}

#[test]
fn what_an_owner_altered_behind_the_rules_is_found() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let place = new_database(room.path()).await;
        let (book, who) = new_book(&place).await;
        for label in ["U-1", "U-2", "U-3"] {
            add(&book, who, sample(label, "urea")).await;
        }
        let noted = book.store().head().await.expect("readable").hash;
        book.close().await;
        let mut owner = connect(place.to_str().expect("an address")).await;
        let mut sql = async |text: &'static str| {
            owner.execute(text).await.expect(text);
        };
        sql("ALTER TABLE book.record DISABLE TRIGGER ALL").await;
        sql("UPDATE book.record SET content = replace(content, 'U-2', 'U-9') WHERE seq = 4").await;
        let found = verdict(&place).await;
        let text: Vec<String> = found.findings.iter().map(ToString::to_string).collect();
        assert!(
            text.iter()
                .any(|line| line.contains("record_comes_last is missing or switched off")),
            "{text:?}"
        );
        assert!(
            found
                .findings
                .iter()
                .any(|finding| matches!(finding.place, Place::Record { seq: 4, .. })),
            "{text:?}"
        );
        // A book that was opened before notices, too: it does not follow a chain that was altered.
        sql("UPDATE book.record SET content = replace(content, 'U-9', 'U-2') WHERE seq = 4").await;
        sql("ALTER TABLE book.record ENABLE TRIGGER ALL").await;
        assert!(verdict(&place).await.sound());
        // A chain that was cut short is whole; the end that was noted down tells.
        sql("ALTER TABLE book.record DISABLE TRIGGER ALL").await;
        sql("DELETE FROM book.record WHERE seq = 5").await;
        sql("ALTER TABLE book.record ENABLE TRIGGER ALL").await;
        assert!(verdict(&place).await.sound());
        let found = meltrange_labbook::verify(&place, noted, &mut |_| ()).await;
        assert!(!found.expect("readable").sound());
        // The copy on this machine knew more; it is put aside, and the book opens as the database has it.
        let book = open(&place).await;
        assert_eq!(book.store().head().await.expect("readable").seq, 4);
        sql("GRANT UPDATE ON book.record TO meltrange_writer").await;
        let found = verdict(&place).await;
        assert!(
            found.findings[0].to_string().contains("UPDATE"),
            "{found:?}"
        );
    });
}

#[test]
fn only_the_machine_that_began_a_recording_puts_it_in_order() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let place = new_database(room.path()).await;
        let (first, who) = new_book(&place).await;
        first.close().await;
        let bench = Book::open(&place, Access::Serve).await.expect("a book");
        let run = bench
            .begin_run(who, run_under_way(&[]))
            .await
            .expect("kept");
        let writer = bench.begin_recording(who, run).await.expect("kept");
        let id = writer.recording();
        let state = async |book: &Book| {
            let detail = book.store().recording(id).await.expect("there");
            detail.row.state
        };
        let other = open(&place).await;
        assert_eq!(state(&other).await, RecordingState::UnderWay);
        let far = other.frames(id).await;
        assert!(matches!(far, Err(BookError::Elsewhere { .. })), "{far:?}");
        // The bench's program is gone without an end.
        drop(writer);
        bench.close().await;
        let bench = Book::open(&place, Access::Serve).await.expect("a book");
        assert_ne!(state(&bench).await, RecordingState::UnderWay);
        let found = bench.store().run(run).await.expect("there").run.state;
        assert_eq!(found, RunState::Broken);
        until("the other hears of it", async || {
            state(&other).await != RecordingState::UnderWay
        })
        .await;
    });
}

#[test]
fn a_book_goes_into_a_database_and_back_and_is_the_same() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let folder = room.path().join("book");
        let (book, who) = Book::create(&folder, "Evening practical", supervisor())
            .await
            .expect("there is room");
        let of = add(&book, who, sample("U-1", "acetanilide")).await;
        let recording = captured(&book, who, of.subject.into(), 12).await;
        let head = book.store().head().await.expect("readable");
        book.close().await;
        let place = new_database(room.path()).await;
        let copied = copy_into_shared(&folder, &place, None, &mut |_| ())
            .await
            .expect("copied");
        assert_eq!((copied.records, copied.recordings), (head.seq, 1));
        let again = copy_into_shared(&folder, &place, None, &mut |_| ()).await;
        assert!(matches!(again, Err(BookError::Central { .. })), "{again:?}");
        let shared = open(&place).await;
        assert_eq!(shared.store().head().await.expect("readable"), head);
        assert_eq!(
            shared
                .frames(recording)
                .await
                .expect("here")
                .times_s()
                .len(),
            12
        );
        let added = add(&shared, who, sample("U-2", "benzil")).await;
        shared.close().await;
        assert!(verdict(&place).await.sound());
        let back = room.path().join("back");
        let copied = copy_out_of_shared(&place, &back, &mut |_| ())
            .await
            .expect("copied");
        assert_eq!((copied.records, copied.recordings), (head.seq + 1, 1));
        let found = verdict(&back).await;
        assert!(
            found.sound() && found.head.hash == Some(added.hash),
            "{found:?}"
        );
        // Over what is there nothing is copied.
        let taken = copy_out_of_shared(&place, &back, &mut |_| ()).await;
        assert!(
            matches!(taken, Err(BookError::AlreadyThere { .. })),
            "{taken:?}"
        );
    });
}

#[test]
fn pictures_that_were_exchanged_in_the_store_are_not_taken() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let place = new_database(room.path()).await;
        let (book, who) = new_book(&place).await;
        let of = add(&book, who, sample("U-1", "urea")).await;
        let recording = captured(&book, who, of.subject.into(), 6).await;
        book.close().await;
        let depot = room
            .path()
            .join("depot/recordings")
            .join(recording.to_string());
        let path = depot.join("frames.bin");
        let mut bytes = std::fs::read(&path).expect("handed over");
        bytes[20] ^= 1;
        std::fs::write(&path, &bytes).expect("there is room");
        // The copy of the command that recorded it has them; another machine's has not.
        let there = open(&place).await;
        assert!(there.frames(recording).await.is_ok());
        let other = open(&place).await;
        let refused = other.frames(recording).await;
        assert!(
            matches!(refused, Err(BookError::Damaged { .. })),
            "{refused:?}"
        );
        let found = verdict(&place).await;
        let at_fault = |finding: &meltrange_labbook::Finding| matches!(finding.place, Place::Recording { recording: id, .. } if id == recording);
        assert!(found.findings.iter().any(at_fault), "{found:?}");
    });
}
