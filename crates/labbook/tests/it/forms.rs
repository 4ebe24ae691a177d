//! Books of every released form open; those of a later one are refused.

use crate::workshop::{add, new_book, room, sample, verdict, wait};
use meltrange_labbook::{Access, Book, BookError, SampleQuery};
use sqlx::{AssertSqlSafe, Connection as _, SqliteConnection};
use std::path::Path;

async fn shell(place: &Path) -> SqliteConnection {
    let url = format!("sqlite://{}?mode=rwc", place.join("book.sqlite").display());
    SqliteConnection::connect(&url).await.expect("a database")
}

/// A dump of a book of form 1 with one sample, made by the release that introduced it.
const FORM_1: &str = include_str!("../forms/form_1.sql");

#[test]
fn a_book_of_form_1_opens_and_verifies() {
    let (_room, place) = room();
    std::fs::create_dir_all(place.join("recordings")).expect("there is room");
    wait(async {
        let mut old = shell(&place).await;
        sqlx::raw_sql(AssertSqlSafe(FORM_1.to_owned()))
            .execute(&mut old)
            .await
            .expect("a dump");
        old.close().await.expect("closed");
        let book = Book::open(&place, Access::Write).await.expect("a book");
        let page = book.store().samples(&SampleQuery::default()).await;
        let rows = page.expect("readable").rows;
        assert_eq!(rows.len(), 1);
        assert_eq!(rows[0].label, "U-1");
        assert_eq!(rows[0].expected_substance.as_deref(), Some("acetanilide"));
        let who = book.store().people().await.expect("readable")[0].id;
        add(&book, who, sample("U-2", "urea")).await;
        book.close().await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
        assert_eq!(found.records, 4);
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
