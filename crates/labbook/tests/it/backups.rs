//! Backups of shared books, and databases brought to a newer form.

use crate::cluster::{connect, new_database, open};
use crate::workshop::{add, captured, new_book, sample, verdict, wait};
use meltrange_labbook::{BookError, back_up_shared, copy_into_shared, prepare_shared};
use sqlx::Executor as _;

#[test]
fn a_backup_is_brought_up_to_date_and_makes_the_same_book_again() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let place = new_database(room.path()).await;
        let (book, who) = new_book(&place).await;
        let urea = add(&book, who, sample("U-1", "urea")).await.subject.into();
        captured(&book, who, urea, 3).await;
        let folder = room.path().join("backup");
        book.close().await;
        let first = back_up_shared(&place, &folder, &mut |_| ())
            .await
            .expect("backed up");
        assert_eq!(first.recordings, 1);
        let book = open(&place).await;
        captured(&book, who, urea, 2).await;
        let last = add(&book, who, sample("U-2", "benzil")).await;
        book.close().await;
        let second = back_up_shared(&place, &folder, &mut |_| ())
            .await
            .expect("backed up");
        assert_eq!(
            (first.records + second.records, second.recordings),
            (last.seq, 1)
        );
        let third = back_up_shared(&place, &folder, &mut |_| ())
            .await
            .expect("backed up");
        assert_eq!((third.records, third.recordings), (0, 0));
        let found = verdict(&folder).await;
        assert!(found.sound() && found.records == last.seq, "{found:?}");
        let again = new_database(&room.path().join("again")).await;
        let depot = format!("file://{}", room.path().join("again/depot").display());
        let copied = copy_into_shared(&folder, &again, Some(&depot), &mut |_| ())
            .await
            .expect("restored");
        assert_eq!((copied.records, copied.recordings), (last.seq, 2));
        let found = verdict(&again).await;
        assert!(found.sound() && found.head == verdict(&place).await.head);
    });
}

#[test]
fn a_backup_that_somebody_worked_in_is_refused() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let place = new_database(room.path()).await;
        let (book, who) = new_book(&place).await;
        add(&book, who, sample("U-1", "urea")).await;
        let folder = room.path().join("backup");
        back_up_shared(&place, &folder, &mut |_| ())
            .await
            .expect("backed up");
        let worked_in = open(&folder).await;
        add(&worked_in, who, sample("U-9", "vanillin")).await;
        worked_in.close().await;
        add(&book, who, sample("U-2", "benzil")).await;
        let refused = back_up_shared(&place, &folder, &mut |_| ()).await;
        let words = refused.expect_err("it has another chain").to_string();
        assert!(words.contains("records of its own"), "{words}");
        // Nothing of it was touched.
        assert!(verdict(&folder).await.sound());
    });
}

#[test]
fn a_database_of_the_form_before_is_refused_until_its_owner_brought_it_up() {
    let room = tempfile::tempdir().expect("a temporary folder");
    wait(async {
        let place = new_database(room.path()).await;
        let (book, who) = new_book(&place).await;
        add(&book, who, sample("U-1", "urea")).await;
        book.close().await;
        // As the program before this one had left it.
        let mut owner = connect(place.to_str().expect("an address")).await;
        for step in [
            "DROP TABLE book.reread_tube, book.reread_recording, book.rereading",
            "DELETE FROM book._sqlx_migrations WHERE version = 2",
        ] {
            owner.execute(step).await.expect("its owner");
        }
        let refused = meltrange_labbook::Book::open(&place, meltrange_labbook::Access::Write).await;
        let Err(error @ BookError::CentralForm { .. }) = refused else {
            panic!("a form that this program does not know")
        };
        assert!(error.to_string().contains("book prepare"), "{error}");
        prepare_shared(&place, None).await.expect("brought up");
        let book = open(&place).await;
        add(&book, who, sample("U-2", "benzil")).await;
        assert!(book.rereadings().expect("shared").all().await.is_ok());
        assert!(verdict(&place).await.sound());
    });
}
