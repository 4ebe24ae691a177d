//! Shared books while the database is away, or cut off in the middle of a sentence.

use crate::cluster::{Line, connect, new_database, open, until};
use crate::workshop::{add, new_book, run_under_way, sample, verdict, wait};
use meltrange_labbook::{
    Access, Book, BookError, Draft, Entry, EventKind, Handed, RunState, SampleQuery,
};
use std::time::Duration;

#[test]
fn a_bench_goes_on_while_the_database_is_away_and_hands_over_once() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let far = new_database(room.path()).await;
        let (line, near) = Line::to(&far).await;
        let (book, who) = new_book(&near).await;
        let run = book.begin_run(who, run_under_way(&[])).await.expect("kept");
        let mut writer = book.begin_recording(who, run).await.expect("kept");
        line.cut();
        let events = |text: &str| vec![(1.0, EventKind::Leg, text.to_owned())];
        writer
            .frame(0.0, crate::workshop::picture(1))
            .expect("kept here");
        let refused = book
            .append(who, vec![Draft::new(sample("U-1", "urea"))])
            .await;
        assert!(
            matches!(refused, Err(BookError::OutOfReach { .. })),
            "{refused:?}"
        );
        for text in ["approach", "scan"] {
            let kept = book.record_events(who, run, events(text)).await;
            assert_eq!(kept.expect("kept"), Handed::Waits);
        }
        let recording = writer.recording();
        let ended = book.end_recording(who, writer).await.expect("kept");
        assert_eq!(ended, Handed::Waits);
        let over = book.end_run(who, run, RunState::Ended, None).await;
        assert_eq!(over.expect("kept"), Handed::Waits);
        assert_eq!(book.waiting().expect("readable"), 4);
        // Questions are answered all the same.
        assert_eq!(book.store().people().await.expect("here").len(), 1);
        line.mend();
        until("everything is handed over", async || {
            book.waiting().expect("readable") == 0
        })
        .await;
        let kept = book.store().events(run).await.expect("readable");
        assert_eq!(kept.len(), 2);
        assert!(kept[0].seq < kept[1].seq);
        assert_eq!(
            book.store().run(run).await.expect("there").run.state,
            RunState::Ended
        );
        let elsewhere = open(&far).await;
        until("its pictures are elsewhere, too", async || {
            elsewhere.frames(recording).await.is_ok()
        })
        .await;
        let found = verdict(&far).await;
        assert!(found.sound() && found.recordings == 1, "{found:?}");
    });
}

#[test]
fn an_answer_that_is_lost_on_the_way_records_nothing_twice() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let far = new_database(room.path()).await;
        let (line, near) = Line::to(&far).await;
        let (book, who) = new_book(&near).await;
        let run = book.begin_run(who, run_under_way(&[])).await.expect("kept");
        let before = book.store().head().await.expect("readable").seq;
        let witness = open(&far).await;
        let events = vec![(1.0, EventKind::Leg, "scan".to_owned())];
        let recording = book.record_events(who, run, events);
        let silence = async {
            // Somewhere in the exchange the answers stop; what was asked is carried out.
            tokio::time::sleep(Duration::from_micros(1500)).await;
            line.mute();
            tokio::time::sleep(Duration::from_secs(2)).await;
            line.mend();
        };
        let (handed, ()) = tokio::join!(recording, silence);
        handed.expect("recorded, or kept");
        until("nothing waits", async || {
            book.waiting().expect("readable") == 0
        })
        .await;
        until("the witness has heard of it", async || {
            witness.store().head().await.expect("readable").seq > before
        })
        .await;
        let kept = witness.store().events(run).await.expect("readable");
        assert_eq!(kept.len(), 1, "{kept:?}");
    });
}

#[test]
fn connections_cut_at_random_lose_and_double_nothing() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let place = new_database(room.path()).await;
        let (book, who) = new_book(&place).await;
        let run = book.begin_run(who, run_under_way(&[])).await.expect("kept");
        let mut owner = connect(place.to_str().expect("an address")).await;
        let cut = tokio::spawn(async move {
            let mut cuts = 0_i64;
            for round in 0_u64..120 {
                // From within an exchange to between two of them.
                tokio::time::sleep(Duration::from_micros(500 + (round * 7919) % 23_000)).await;
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
        let mut said = Vec::new();
        while !cut.is_finished() {
            let text = format!("event {}", said.len());
            let events = vec![(said.len() as f64, EventKind::Leg, text.clone())];
            book.record_events(who, run, events)
                .await
                .expect("recorded, or kept");
            said.push(text);
        }
        let cuts = cut.await.expect("it ended");
        until("nothing waits", async || {
            book.waiting().expect("readable") == 0
        })
        .await;
        let witness = open(&place).await;
        let kept = witness.store().events(run).await.expect("readable");
        let kept: Vec<String> = kept
            .into_iter()
            .map(|record| match record.entry {
                Entry::Event(event) => event.text,
                other => panic!("{other:?}"),
            })
            .collect();
        assert_eq!(kept, said);
        assert!(
            cuts > 5 && said.len() > 20,
            "{cuts} cuts, {} events",
            said.len()
        );
        assert!(verdict(&place).await.sound());
    });
}

#[test]
fn a_server_opens_what_it_has_while_the_database_is_away() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let far = new_database(room.path()).await;
        let (line, near) = Line::to(&far).await;
        let (book, who) = new_book(&near).await;
        add(&book, who, sample("U-1", "urea")).await;
        book.close().await;
        let server = Book::open(&near, Access::Serve).await.expect("a book");
        let again = Book::open(&near, Access::Serve).await;
        assert!(matches!(again, Err(BookError::InUse { .. })), "{again:?}");
        server.close().await;
        line.cut();
        let refused = Book::open(&near, Access::Write).await;
        assert!(
            matches!(refused, Err(BookError::OutOfReach { .. })),
            "{refused:?}"
        );
        let server = Book::open(&near, Access::Serve).await.expect("its copy");
        let samples = server.store().samples(&SampleQuery::default()).await;
        assert_eq!(samples.expect("readable").total, 1);
        line.mend();
        let late = open(&far).await;
        add(&late, who, sample("U-2", "urea")).await;
        until("it catches up", async || {
            let samples = server.store().samples(&SampleQuery::default()).await;
            samples.expect("readable").total == 2
        })
        .await;
    });
}
