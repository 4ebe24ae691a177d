//! Folders, disks and other processes that are not as they should be.

use crate::workshop::{add, new_book, picture, room, run_under_way, sample, supervisor, wait};
use meltrange_labbook::{Access, Book, BookError, Draft, Sample, SampleQuery};
use std::path::Path;
use std::process::Command;

#[test]
fn a_second_process_is_refused_and_told_by_whom() {
    let (_room, place) = room();
    wait(async {
        let (book, _) = new_book(&place).await;
        // The lock is the system's and holds between processes and within one alike.
        let second = Book::open(&place, Access::Write).await;
        let said = second.expect_err("it is open").to_string();
        let number = std::process::id().to_string();
        assert!(said.contains("open in another process"), "{said}");
        assert!(said.contains(&number), "{said}");
        let verified = meltrange_labbook::verify(&place, None, &mut |_| ()).await;
        assert!(matches!(verified, Err(BookError::InUse { .. })));
        book.close().await;
        Book::open(&place, Access::Write).await.expect("it is free");
    });
}

#[test]
fn what_is_no_book_is_refused_and_left_alone() {
    let (room, place) = room();
    wait(async {
        let missing = Book::open(&place, Access::Write).await;
        assert!(
            matches!(missing, Err(BookError::NotABook { .. })),
            "{missing:?}"
        );
        std::fs::create_dir(&place).expect("there is room");
        std::fs::write(place.join("thesis.txt"), "mine").expect("there is room");
        let taken = Book::create(&place, "x", supervisor()).await;
        assert!(
            matches!(taken, Err(BookError::AlreadyThere { .. })),
            "{taken:?}"
        );
        let not = Book::open(&place, Access::Write).await;
        assert!(matches!(not, Err(BookError::NotABook { .. })), "{not:?}");
        let entries = std::fs::read_dir(&place).expect("there");
        assert_eq!(entries.count(), 1, "nothing was added");
        // Somebody else's database.
        std::fs::write(place.join("book.sqlite"), b"").expect("there is room");
        let not = Book::open(&place, Access::Write).await;
        assert!(matches!(not, Err(BookError::NotABook { .. })), "{not:?}");
        let bad_title = room.path().join("other");
        let refused = Book::create(&bad_title, "two\nlines", supervisor()).await;
        assert!(matches!(
            refused,
            Err(BookError::Field {
                field: "book.title",
                ..
            })
        ));
        assert!(!bad_title.exists(), "nothing half-written is left");
    });
}

/// A file system of 1 MiB; none where this process may not mount one.
pub struct SmallDisk<'a>(&'a Path);

impl<'a> SmallDisk<'a> {
    pub fn mount(place: &'a Path) -> Option<Self> {
        std::fs::create_dir(place).expect("there is room");
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", "size=2m", "tmpfs"])
            .arg(place)
            .stderr(std::process::Stdio::null())
            .status();
        mounted
            .is_ok_and(|status| status.success())
            .then_some(Self(place))
    }

    pub fn remount(&self, how: &str) {
        let done = Command::new("mount")
            .args(["-o", &format!("remount,{how}")])
            .arg(self.0)
            .status()
            .expect("mount is there");
        assert!(done.success());
    }
}

impl Drop for SmallDisk<'_> {
    fn drop(&mut self) {
        // Lazily: a failing test may still have files open.
        let _ = Command::new("umount").arg("-l").arg(self.0).status();
    }
}

pub fn skipped() {
    use std::io::Write as _;
    let _ = writeln!(
        std::io::stderr(),
        "skipped: no file system can be mounted here"
    );
}

#[test]
fn a_full_disk_is_named_and_nothing_is_half_written() {
    let room = tempfile::tempdir().expect("a temporary folder");
    let disk = room.path().join("disk");
    let Some(_mounted) = SmallDisk::mount(&disk) else {
        skipped();
        return;
    };
    let place = disk.join("book");
    wait(async {
        let (book, who) = new_book(&place).await;
        let run = add(&book, who, run_under_way(&[])).await;
        let mut writer = book
            .begin_recording(who, run.subject.into())
            .await
            .expect("there is room");
        let mut kept = 0;
        let failed = loop {
            let mut large = picture(kept);
            large.resize(100_000, 7);
            let given = writer
                .frame(f64::from(kept), large)
                .and_then(|()| writer.flush());
            match given {
                Ok(()) => kept += 1,
                Err(error) => break error,
            }
            assert!(kept < 100, "the disk holds one mebibyte");
        };
        assert!(matches!(failed, BookError::DiskFull { .. }), "{failed:?}");
        let mut added = 0;
        let failed = loop {
            let remarks = Some("x".repeat(3900));
            let entry = Sample {
                label: format!("U-{added}"),
                remarks,
                ..Sample::default()
            };
            match book.append(who, vec![Draft::new(entry)]).await {
                Ok(_) => added += 1,
                Err(error) => break error,
            }
            assert!(added < 1000, "the disk holds one mebibyte");
        };
        assert!(matches!(failed, BookError::DiskFull { .. }), "{failed:?}");
        let samples = book.store().samples(&SampleQuery::default()).await;
        assert_eq!(samples.expect("still readable").total, added);
        drop(writer);
        book.close().await;
        // With room again everything is as it was, and the recording is kept as far as it went.
        _mounted.remount("size=8m");
        let book = Book::open(&place, Access::Write).await.expect("a book");
        let rows = book.store().recordings(&Default::default()).await;
        let end = rows.expect("readable").rows[0].recording.end.clone();
        let end = end.expect("recovered");
        assert!(end.cut);
        assert_eq!(end.frames, u64::from(kept));
        book.close().await;
        let found = crate::workshop::verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
    });
}

#[test]
fn a_book_on_a_read_only_disk_can_be_looked_at_and_not_written() {
    let room = tempfile::tempdir().expect("a temporary folder");
    let disk = room.path().join("disk");
    let Some(mounted) = SmallDisk::mount(&disk) else {
        skipped();
        return;
    };
    let place = disk.join("book");
    wait(async {
        let (book, who) = new_book(&place).await;
        add(&book, who, sample("U-1", "urea")).await;
        book.close().await;
        mounted.remount("ro");
        let refused = Book::open(&place, Access::Write).await;
        assert!(
            matches!(refused, Err(BookError::ReadOnly { .. })),
            "{refused:?}"
        );
        let book = Book::open(&place, Access::Read).await.expect("readable");
        let page = book.store().samples(&SampleQuery::default()).await;
        assert_eq!(page.expect("readable").total, 1);
        let refused = book
            .append(who, vec![Draft::new(sample("U-2", "urea"))])
            .await;
        assert!(
            matches!(refused, Err(BookError::ReadOnly { .. })),
            "{refused:?}"
        );
        book.close().await;
        let found = crate::workshop::verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
        let refused = Book::create(&disk.join("new"), "x", supervisor()).await;
        assert!(
            matches!(refused, Err(BookError::ReadOnly { .. })),
            "{refused:?}"
        );
    });
}

#[test]
fn records_cannot_be_changed_behind_the_programs_back_by_mistake() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        add(&book, who, sample("U-1", "urea")).await;
        book.close().await;
        let mut shell = <sqlx::SqliteConnection as sqlx::Connection>::connect(&format!(
            "sqlite://{}",
            place.join("book.sqlite").display()
        ))
        .await
        .expect("a database");
        for change in [
            "UPDATE record SET content = '{}' WHERE seq = 3",
            "DELETE FROM record WHERE seq = 3",
            "INSERT OR REPLACE INTO record SELECT * FROM record WHERE seq = 3",
            "REPLACE INTO record SELECT 4, id, kind, subject, supersedes, hash, content FROM record WHERE seq = 3",
        ] {
            let refused = sqlx::query(change).execute(&mut shell).await;
            let said = refused.expect_err("records are for ever").to_string();
            assert!(said.contains("records are"), "{change}: {said}");
        }
    });
}
