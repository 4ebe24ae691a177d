//! One sample out of a book and into another.

use crate::workshop::{
    Filled, add, export_to, filled, names, open, order, restore_to, room, sample, tree, wait,
};
use meltrange_archive::{ArchiveError, BroughtIn, bring_in, export_sample};
use meltrange_labbook::{Book, Draft, Entry, Person, PersonId, RecordLine, Role, verify};
use std::collections::BTreeMap;
use std::path::Path;

async fn another(place: &Path) -> (Book, PersonId) {
    let first = Person {
        name: "T. Elster".into(),
        role: Role::Supervisor,
    };
    Book::create(place, "Somewhere else", first)
        .await
        .expect("there is room")
}

async fn take_in(book: &Book, archive: &Path, by: PersonId) -> Result<BroughtIn, ArchiveError> {
    bring_in(book, archive, by, &mut |_| ()).await
}

/// What of a record does not hang on its place in a chain.
fn without_chain(files: &BTreeMap<String, Vec<u8>>) -> Vec<serde_json::Value> {
    String::from_utf8(files["records.jsonl"].clone())
        .expect("text")
        .lines()
        .map(|line| {
            let line: RecordLine = serde_json::from_str(line).expect("a record");
            line.record().expect("unaltered");
            let mut content: serde_json::Value = serde_json::from_str(&line.content).expect("JSON");
            let content_of = content.as_object_mut().expect("an object");
            content_of.remove("seq");
            content_of.remove("previous");
            content
        })
        .collect()
}

async fn exported(place: &Path, out: &Path) -> Filled {
    let (book, what) = filled(place).await;
    let done = export_sample(&book, what.samples[0], &order(out), &mut |_| ())
        .await
        .expect("it can be exported");
    assert_eq!(done.recordings, 1);
    book.close().await;
    what
}

#[test]
fn a_sample_goes_into_another_book_with_all_that_concerns_it() {
    let room = room();
    let at = |name: &str| room.path().join(name);
    wait(async {
        let what = exported(&at("book"), &at("u-1.zip")).await;
        let (book, by) = another(&at("other")).await;
        let done = take_in(&book, &at("u-1.zip"), by).await.expect("it fits");
        assert_eq!((done.label.as_str(), done.recordings), ("U-1", 1));
        let again = take_in(&book, &at("u-1.zip"), by)
            .await
            .expect("it is there");
        assert_eq!((again.records, again.already_there), (0, done.records));
        book.close().await;
        let verdict = verify(&at("other"), None, &mut |_| ())
            .await
            .expect("a book");
        assert!(verdict.sound(), "{:?}", verdict.findings);

        // Out again: the same records, files and tables.
        let origin = open(&at("book")).await;
        export_sample(&origin, what.samples[0], &order(&at("one")), &mut |_| ())
            .await
            .expect("there is room");
        origin.close().await;
        let other = open(&at("other")).await;
        export_sample(&other, what.samples[0], &order(&at("two")), &mut |_| ())
            .await
            .expect("there is room");
        other.close().await;
        let (one, two) = (tree(&at("one")), tree(&at("two")));
        assert_eq!(without_chain(&one), without_chain(&two));
        let of_the_chain = [
            "records.jsonl",
            "archive.json",
            "README.md",
            "ro-crate-metadata.json",
        ];
        let kept = |files: &BTreeMap<String, Vec<u8>>| {
            let mut files = files.clone();
            files.retain(|name, _| !of_the_chain.contains(&name.as_str()));
            files
        };
        assert!(kept(&one).len() > 10);
        assert_eq!(kept(&one), kept(&two));
        // U-3 and its film are nobody's concern here; U-2 stood beside.
        let text = String::from_utf8_lossy(&one["records.jsonl"]).into_owned();
        assert!(text.contains("U-2") && !text.contains("U-3"), "{text}");
        assert!(!one.keys().any(|name| name.contains(&what.film.to_string())));
        let read: serde_json::Value = serde_json::from_slice(&one["archive.json"]).expect("JSON");
        assert!(
            read["numbers"].as_str().expect("words").contains(", "),
            "{read}"
        );
    });
}

#[test]
fn only_a_supervisor_brings_in_what_is_in_the_name_of_people_here() {
    let room = room();
    let at = |name: &str| room.path().join(name);
    wait(async {
        let what = exported(&at("book"), &at("u-1.zip")).await;
        let (book, by) = another(&at("other")).await;
        let analyst = Person {
            name: "W. Dohle".into(),
            role: Role::Analyst,
        };
        let analyst = PersonId::from(add(&book, by, analyst).await.subject);
        // People of the other book are nobody here yet.
        let done = take_in(&book, &at("u-1.zip"), analyst).await;
        assert!(done.expect("it fits").records > 0);
        // Now they are; what else is said in their name is for a supervisor to bring.
        let origin = open(&at("book")).await;
        let detail = origin.store().sample(what.samples[0]).await.expect("there");
        let people = origin.store().people().await.expect("readable");
        let again = Draft::revision(what.samples[0], detail.record, detail.sample.clone())
            .because("looked at again");
        let who = people[0].id;
        origin.append(who, vec![again]).await.expect("recorded");
        export_sample(
            &origin,
            what.samples[0],
            &order(&at("later.zip")),
            &mut |_| (),
        )
        .await
        .expect("there is room");
        origin.close().await;
        let head = book.store().head().await.expect("readable");
        let refused = take_in(&book, &at("later.zip"), analyst).await;
        let words = refused.expect_err("not by an analyst").to_string();
        assert!(words.contains("only a supervisor"), "{words}");
        assert_eq!(book.store().head().await.expect("readable"), head);
        let done = take_in(&book, &at("later.zip"), by).await.expect("it fits");
        assert_eq!(done.records, 1);
        book.close().await;
    });
}

#[test]
fn a_person_here_is_not_changed_by_an_archive_and_nothing_is_of_tomorrow() {
    let room = room();
    let at = |name: &str| room.path().join(name);
    wait(async {
        exported(&at("book"), &at("u-1")).await;
        // A copy of the book whose clock is a day ahead, and in which a student has become a supervisor.
        let ahead = open(&at("book")).await;
        let people = ahead.store().people().await.expect("readable");
        let student = people
            .iter()
            .find(|row| row.role == Role::Student)
            .expect("a student");
        let latest = ahead
            .store()
            .latest(student.id.into())
            .await
            .expect("there");
        let risen = Person {
            name: student.name.clone(),
            role: Role::Supervisor,
        };
        let (book, by) = another(&at("other")).await;
        take_in(&book, &at("u-1"), by).await.expect("it fits");
        let draft = Draft::revision(student.id, latest.id, risen).because("so it is");
        ahead
            .append(people[0].id, vec![draft])
            .await
            .expect("recorded");
        let sample = ahead
            .store()
            .sample_labelled("U-1")
            .await
            .expect("readable")
            .expect("there");
        export_sample(&ahead, sample.id, &order(&at("risen")), &mut |_| ())
            .await
            .expect("there is room");
        let analyst = Person {
            name: "W. Dohle".into(),
            role: Role::Analyst,
        };
        let analyst = PersonId::from(add(&book, by, analyst).await.subject);
        let refused = take_in(&book, &at("risen"), analyst).await;
        let words = refused.expect_err("not by an analyst").to_string();
        assert!(words.contains("changes a person of this book"), "{words}");
        let tomorrow: meltrange_labbook::When =
            "2999-01-01T00:00:00+00:00".parse().expect("a time");
        let detail = ahead.store().sample(sample.id).await.expect("there");
        let draft = Draft::revision(sample.id, detail.record, detail.sample.clone())
            .because("looked at again");
        let batch = meltrange_labbook::Batch {
            who: Some(people[0].id),
            drafts: vec![draft],
            attachments: Vec::new(),
        };
        ahead
            .write_as_of(batch, Some(tomorrow))
            .await
            .expect("a book takes it");
        export_sample(&ahead, sample.id, &order(&at("tomorrow")), &mut |_| ())
            .await
            .expect("there is room");
        ahead.close().await;
        let refused = take_in(&book, &at("tomorrow"), by).await;
        let words = refused.expect_err("not by anybody").to_string();
        assert!(words.contains("which is to come"), "{words}");
        book.close().await;
    });
}

#[test]
fn what_stands_against_it_is_said_and_nothing_written() {
    let room = room();
    let at = |name: &str| room.path().join(name);
    wait(async {
        let what = exported(&at("book"), &at("u-1.zip")).await;
        let refuses = async |name: &str, entry: Entry, expected: &str| {
            let (book, by) = another(&at(name)).await;
            add(&book, by, entry).await;
            let head = book.store().head().await.expect("readable");
            let error = take_in(&book, &at("u-1.zip"), by)
                .await
                .expect_err(expected);
            let cause = std::error::Error::source(&error).map(ToString::to_string);
            let said = format!("{error}: {}", cause.unwrap_or_default());
            assert!(said.contains(expected), "{said}");
            assert_eq!(book.store().head().await.expect("readable"), head);
            assert_eq!(names(&at(name).join("recordings")), Vec::<String>::new());
            book.close().await;
        };
        let namesake = Person {
            name: "s. drossel".into(),
            role: Role::Viewer,
        };
        refuses(
            "person",
            namesake.into(),
            "the person \"S. Drossel\" cannot be brought",
        )
        .await;
        refuses("label", sample("u-1", "benzil").into(), "is taken").await;

        // The same record with another text, as when both books went on by themselves.
        let (book, by) = another(&at("diverged")).await;
        take_in(&book, &at("u-1.zip"), by).await.expect("it fits");
        let latest = book
            .store()
            .latest(what.samples[0].into())
            .await
            .expect("there");
        let mut changed = sample("U-1", "benzil");
        changed.remarks = Some("darker than before".into());
        book.append(
            by,
            vec![Draft::revision(latest.subject, latest.id, changed)],
        )
        .await
        .expect("kept");
        let origin = open(&at("book")).await;
        let there = origin
            .store()
            .latest(what.samples[0].into())
            .await
            .expect("there");
        let mut otherwise = sample("U-1", "acetanilide");
        otherwise.remarks = Some("lighter than before".into());
        origin
            .append(
                what.who,
                vec![Draft::revision(there.subject, there.id, otherwise)],
            )
            .await
            .expect("kept");
        export_sample(
            &origin,
            what.samples[0],
            &order(&at("later.zip")),
            &mut |_| (),
        )
        .await
        .expect("there is room");
        origin.close().await;
        let head = book.store().head().await.expect("readable");
        let refused = take_in(&book, &at("later.zip"), by).await;
        assert!(
            matches!(refused, Err(ArchiveError::NotTaken { .. })),
            "{refused:?}"
        );
        assert_eq!(book.store().head().await.expect("readable"), head);

        // The archive of a book is none of a sample, and the other way round.
        export_to(&book, &at("whole.zip")).await;
        let refused = take_in(&book, &at("whole.zip"), by).await;
        assert!(matches!(refused, Err(ArchiveError::OtherKind { .. })));
        book.close().await;
        let refused = restore_to(&at("u-1.zip"), &at("again")).await;
        assert!(matches!(refused, Err(ArchiveError::OtherKind { .. })));
    });
}
