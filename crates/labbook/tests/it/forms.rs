//! Books of every released form open; those of a later one are refused.

use crate::workshop::{add, new_book, room, run_under_way, sample, verdict, wait};
use meltrange_labbook::{
    Access, Book, BookError, Entry, EventKind, RunState, SampleQuery, SignOffRow,
};
use meltrange_planning::{Leg, LegKind, Purpose};
use sqlx::{AssertSqlSafe, Connection as _, SqliteConnection};
use std::path::Path;

async fn shell(place: &Path) -> SqliteConnection {
    let url = format!("sqlite://{}?mode=rwc", place.join("book.sqlite").display());
    SqliteConnection::connect(&url).await.expect("a database")
}

/// Dumps of books, each made by the first version that wrote its form.
const FORM_1: &str = include_str!("../forms/form_1.sql");
const FORM_2: &str = include_str!("../forms/form_2.sql");
const FORM_3: &str = include_str!("../forms/form_3.sql");
const FORM_4: &str = include_str!("../forms/form_4.sql");
const FORM_5: &str = include_str!("../forms/form_5.sql");

/// Put a dump where a book is.
async fn restore(place: &Path, dump: &str) {
    std::fs::create_dir_all(place.join("recordings")).expect("there is room");
    let mut old = shell(place).await;
    sqlx::raw_sql(AssertSqlSafe(dump.to_owned()))
        .execute(&mut old)
        .await
        .expect("a dump");
    old.close().await.expect("closed");
}

async fn form(place: &Path) -> i64 {
    let mut shell = shell(place).await;
    let form = sqlx::query_scalar("SELECT max(version) FROM _sqlx_migrations")
        .fetch_one(&mut shell)
        .await
        .expect("a form");
    shell.close().await.expect("closed");
    form
}

#[test]
fn a_book_of_form_1_is_brought_up_to_date_and_takes_events() {
    let (_room, place) = room();
    wait(async {
        restore(&place, FORM_1).await;
        // Sound before this version has touched it, and not touched by being looked at.
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
        assert_eq!((found.records, form(&place).await), (3, 1));
        let before = found.head;
        let book = Book::open(&place, Access::Write).await.expect("a book");
        assert_eq!(book.store().head().await.expect("readable"), before);
        let page = book.store().samples(&SampleQuery::default()).await;
        let rows = page.expect("readable").rows;
        assert_eq!(rows.len(), 1);
        assert_eq!(rows[0].label, "U-1");
        assert_eq!(rows[0].expected_substance.as_deref(), Some("acetanilide"));
        let who = book.store().people().await.expect("readable")[0].id;
        add(&book, who, sample("U-2", "urea")).await;
        let run = book.begin_run(who, run_under_way(&[])).await.expect("kept");
        let happened = vec![(0.0, EventKind::Leg, "approach".to_owned())];
        book.record_events(who, run, happened).await.expect("kept");
        assert_eq!(book.store().events(run).await.expect("readable").len(), 1);
        book.close().await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
        assert_eq!((found.records, form(&place).await), (6, 6));
    });
}

#[test]
fn a_book_of_form_2_opens_and_verifies() {
    let (_room, place) = room();
    wait(async {
        restore(&place, FORM_2).await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
        let book = Book::open(&place, Access::Write).await.expect("a book");
        let records = book.store().after(0, 100).await.expect("readable");
        let run = records
            .iter()
            .find_map(|record| match &record.entry {
                Entry::Run(run) if run.state == RunState::Ended => Some((record.subject, run)),
                _ => None,
            })
            .expect("it has a run");
        let programme = run.1.programme.as_ref().expect("with a programme");
        assert_eq!(programme.purpose(), Purpose::Measuring);
        let kinds: Vec<LegKind> = programme.legs().iter().map(Leg::kind).collect();
        assert_eq!(kinds.first(), Some(&LegKind::Approach));
        assert!(kinds.contains(&LegKind::Scan), "{kinds:?}");
        let events = book.store().events(run.0.into()).await.expect("readable");
        let said: Vec<(f64, EventKind)> = events
            .iter()
            .filter_map(|record| match &record.entry {
                Entry::Event(event) => Some((event.time_s, event.what)),
                _ => None,
            })
            .collect();
        let expected = [
            (0.0, EventKind::Leg),
            (412.5, EventKind::Called),
            (413.25, EventKind::Marked),
        ];
        assert_eq!(said, expected);
        book.close().await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
    });
}

#[test]
fn a_book_of_form_3_opens_and_verifies() {
    let (_room, place) = room();
    wait(async {
        restore(&place, FORM_3).await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
        let book = Book::open(&place, Access::Write).await.expect("a book");
        let all = book.store().thermometers().await.expect("readable");
        let counts = (
            all.benches.len(),
            all.standards.len(),
            all.checks.len(),
            all.calibrations.len(),
        );
        assert_eq!(counts, (1, 3, 2, 1));
        assert!(all.calibrations[0].calibration.withdrawn);
        assert!(all.checks[1].check.void);
        assert_eq!(all.benches[0].row.bench.check_every_days, Some(30));
        book.close().await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
    });
}

#[test]
fn a_book_of_form_4_opens_with_its_verdict() {
    let (_room, place) = room();
    wait(async {
        restore(&place, FORM_4).await;
        let book = Book::open(&place, Access::Write).await.expect("a book");
        let sample = book
            .store()
            .sample_labelled("U-1")
            .await
            .expect("readable")
            .expect("there");
        let detail = book.store().sample(sample.id).await.expect("readable");
        assert_eq!(detail.verdicts.len(), 1);
        let said = &detail.verdicts[0];
        assert!(said.reason.is_some());
        assert_eq!(said.verdict.words, "Nothing can be said of it yet.");
        assert_eq!(said.verdict.mixed_meltings.len(), 1);
        book.close().await;
        // The recording of this book has no files.
        let found = verdict(&place).await;
        assert_eq!(found.findings.len(), 1, "{:?}", found.findings);
    });
}

#[test]
fn a_book_of_form_5_opens_with_its_signatures_and_past_results() {
    let (_room, place) = room();
    wait(async {
        restore(&place, FORM_5).await;
        let book = Book::open(&place, Access::Write).await.expect("a book");
        let store = book.store();
        let sample = store.sample_labelled("U-1").await.expect("readable");
        let detail = store
            .sample(sample.expect("there").id)
            .await
            .expect("readable");
        let holds: Vec<bool> = detail.sign_offs.iter().map(SignOffRow::holds).collect();
        assert_eq!(holds, [true, false]);
        assert!(detail.sign_offs[1].sign_off.withdrawn);
        assert_eq!(detail.past_results.len(), 1);
        assert_eq!(detail.past_results[0].past_result.as_written, "113-114,5");
        let records = store.after(0, 100).await.expect("readable");
        assert!(matches!(
            &records.last().expect("some").entry,
            Entry::Received(received) if received.title == "Morning practical"
        ));
        book.close().await;
        // The recording of this book has no files.
        let found = verdict(&place).await;
        assert_eq!(found.findings.len(), 1, "{:?}", found.findings);
    });
}

#[test]
fn a_calibration_listed_for_another_bench_is_found() {
    let (_room, place) = room();
    wait(async {
        restore(&place, FORM_3).await;
        let mut shell = shell(&place).await;
        sqlx::query("UPDATE calibration SET bench = 'another'")
            .execute(&mut shell)
            .await
            .expect("nothing stands in the way of it");
        shell.close().await.expect("closed");
        let found = verdict(&place).await;
        let said: Vec<String> = found.findings.iter().map(ToString::to_string).collect();
        assert!(
            said.iter()
                .any(|line| line.starts_with("book.sqlite, table calibration: row 1 is")),
            "{said:?}"
        );
    });
}

#[test]
fn an_event_listed_under_another_run_is_found() {
    let (_room, place) = room();
    wait(async {
        restore(&place, FORM_2).await;
        let mut shell = shell(&place).await;
        sqlx::query(
            "UPDATE event SET run = 'another' WHERE first = (SELECT max(first) FROM event)",
        )
        .execute(&mut shell)
        .await
        .expect("nothing stands in the way of it");
        shell.close().await.expect("closed");
        let found = verdict(&place).await;
        let said: Vec<String> = found.findings.iter().map(ToString::to_string).collect();
        assert!(
            said.iter()
                .any(|line| line.starts_with("book.sqlite, table event: row 3 is")),
            "{said:?}"
        );
    });
}

#[test]
fn a_book_of_a_later_form_is_refused_and_left_alone() {
    let (_room, place) = room();
    wait(async {
        let (book, _) = new_book(&place).await;
        book.close().await;
        let mut later = shell(&place).await;
        sqlx::query(
            "INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time)
             VALUES (99, 'of tomorrow', 1, x'00', 0)",
        )
        .execute(&mut later)
        .await
        .expect("a row");
        later.close().await.expect("closed");
        let before = std::fs::read(place.join("book.sqlite")).expect("there");
        for access in [Access::Write, Access::Read] {
            let refused = Book::open(&place, access).await;
            assert!(
                matches!(refused, Err(BookError::Newer { found: 99, .. })),
                "{refused:?}"
            );
        }
        let verified = meltrange_labbook::verify(&place, None, &mut |_| ()).await;
        assert!(matches!(verified, Err(BookError::Newer { found: 99, .. })));
        let after = std::fs::read(place.join("book.sqlite")).expect("there");
        assert!(before == after, "nothing was changed");
    });
}
