//! A second person's signature: who may give it, what it covers, what takes it away. And results from before the book.

use crate::workshop::{
    add, engine_reading, moment, new_book, recorded, room, sample, verdict, wait,
};
use meltrange_labbook::{
    Book, BookError, ChangedSince, Convention, CorrectionMark, Determination, DeterminationId,
    Draft, Entry, Finding, Outcome, Override, PastResult, Person, PersonId, Place, ReadingId,
    RecordId, Role, SampleId, SignOff, SignOffMeaning, SignOffRow, TookPart, TubeRef,
};
use std::collections::BTreeSet;

struct Scene {
    book: Book,
    supervisor: PersonId,
    analyst: PersonId,
    student: PersonId,
    sample: (SampleId, RecordId),
    reading: ReadingId,
    result: (DeterminationId, RecordId),
}

fn result(sample: SampleId, reading: ReadingId) -> Determination {
    Determination {
        sample,
        from: vec![TubeRef { reading, place: 1 }],
        agreed: false,
        spread_c: None,
        further_runs_needed: 1,
        convention: Convention::AsLogged,
        first_liquid: None,
        last_crystal: None,
        range_text: "113.4–114.3 °C (uncorrected)".into(),
        basis: None,
    }
}

/// The supervisor measured and stated the result; an analyst and a student looked on.
async fn scene(place: &std::path::Path) -> Scene {
    let (book, supervisor) = new_book(place).await;
    let kept = add(&book, supervisor, sample("U-1", "acetanilide")).await;
    let id: SampleId = kept.subject.into();
    let recording = recorded(&book, supervisor, &[id]).await;
    let reading = add(&book, supervisor, engine_reading(recording, &[id])).await;
    let reading = reading.subject.into();
    let stated = add(&book, supervisor, result(id, reading)).await;
    let mut others = Vec::new();
    for (name, role) in [("S. Drossel", Role::Analyst), ("T. Meise", Role::Student)] {
        let person = Person {
            name: name.into(),
            role,
        };
        others.push(add(&book, supervisor, person).await.subject.into());
    }
    Scene {
        supervisor,
        analyst: others[0],
        student: others[1],
        sample: (id, kept.id),
        reading,
        result: (stated.subject.into(), stated.id),
        book,
    }
}

impl Scene {
    fn signature(&self) -> SignOff {
        SignOff {
            sample: self.sample.0,
            sample_record: self.sample.1,
            determination: self.result.0,
            result_record: self.result.1,
            verdict_record: None,
            range_text: "113.4–114.3 °C (uncorrected)".into(),
            meaning: SignOffMeaning::ReviewedAndApproved,
            statement: Some("pictures looked through".into()),
            pictures_sha256: None,
            withdrawn: false,
        }
    }

    async fn newest(&self) -> SignOffRow {
        let found = self.book.store().sample(self.sample.0).await;
        found.expect("there").sign_offs.remove(0)
    }

    async fn refused(&self, who: PersonId, signature: SignOff) -> String {
        let refused = self.book.append(who, vec![Draft::new(signature)]).await;
        refused.expect_err("it cannot be signed").to_string()
    }
}

#[test]
fn a_second_person_signs_and_a_change_takes_it_away() {
    let (_room, place) = room();
    wait(async {
        let scene = scene(&place).await;
        let kept = add(&scene.book, scene.analyst, scene.signature()).await;
        let row = scene.newest().await;
        assert!(row.holds(), "{row:?}");
        assert_eq!((row.who, row.record), (scene.analyst, kept.id));
        let seen_otherwise = Override {
            reading: scene.reading,
            place: 1,
            outcome: Outcome::Melted,
            first_liquid: Some(moment(90.0, 95.0)),
            last_crystal: Some(moment(160.0, 110.0)),
        };
        let drafts = vec![Draft::new(seen_otherwise).because("it had begun before")];
        scene
            .book
            .append(scene.supervisor, drafts)
            .await
            .expect("kept");
        assert_eq!(scene.newest().await.changed_since, [ChangedSince::Readings]);
        // What it was made from was decided otherwise: to be stated anew first.
        let told = scene.refused(scene.analyst, scene.signature()).await;
        assert!(told.contains("stated anew"), "{told}");
        let anew = Draft::revision(
            scene.result.0,
            scene.result.1,
            result(scene.sample.0, scene.reading),
        );
        let drafts = vec![anew.because("a tube was decided otherwise")];
        let anew = scene
            .book
            .append(scene.supervisor, drafts)
            .await
            .expect("kept");
        let row = scene.newest().await;
        assert_eq!(
            row.changed_since,
            [ChangedSince::Readings, ChangedSince::Result]
        );
        // The old result cannot be signed any more, the new one can.
        let told = scene.refused(scene.analyst, scene.signature()).await;
        assert!(told.contains("newest records"), "{told}");
        let again = SignOff {
            result_record: anew[0].id,
            ..scene.signature()
        };
        add(&scene.book, scene.analyst, again).await;
        assert!(scene.newest().await.holds());
        let relabelled = Draft::revision(
            scene.sample.0,
            scene.sample.1,
            sample("U-1a", "acetanilide"),
        );
        scene
            .book
            .append(scene.supervisor, vec![relabelled])
            .await
            .expect("kept");
        assert_eq!(scene.newest().await.changed_since, [ChangedSince::Sample]);
    });
}

#[test]
fn who_had_a_part_or_no_right_cannot_sign() {
    let (_room, place) = room();
    wait(async {
        let scene = scene(&place).await;
        let told = scene.refused(scene.supervisor, scene.signature()).await;
        assert!(told.contains("second person"), "{told}");
        let told = scene.refused(scene.student, scene.signature()).await;
        assert!(told.contains("supervisor or an analyst"), "{told}");
        let of_another = SignOff {
            result_record: RecordId::new(),
            ..scene.signature()
        };
        let told = scene.refused(scene.analyst, of_another).await;
        assert!(told.contains("newest records"), "{told}");
        let confirmed = meltrange_labbook::Confirmation {
            reading: scene.reading,
            place: 1,
        };
        add(&scene.book, scene.analyst, confirmed).await;
        let detail = scene
            .book
            .store()
            .sample(scene.sample.0)
            .await
            .expect("there");
        let expected = BTreeSet::from([
            (scene.supervisor, TookPart::Measured),
            (scene.supervisor, TookPart::Determined),
            (scene.analyst, TookPart::Read),
        ]);
        assert_eq!(detail.took_part, expected);
    });
}

#[test]
fn a_signature_is_taken_back_with_a_reason_and_the_book_verifies_while_open() {
    let (_room, place) = room();
    wait(async {
        let scene = scene(&place).await;
        let kept = add(&scene.book, scene.analyst, scene.signature()).await;
        let back = SignOff {
            withdrawn: true,
            ..scene.signature()
        };
        let back = Draft::revision(kept.subject, kept.id, back);
        let refused = scene.book.append(scene.analyst, vec![back.clone()]).await;
        assert!(
            matches!(refused, Err(BookError::ReasonMissing { .. })),
            "{refused:?}"
        );
        let back = back.because("the second picture is of another tube");
        let refused = scene.book.append(scene.student, vec![back.clone()]).await;
        let told = refused.expect_err("not theirs").to_string();
        assert!(told.contains("whoever signed, or a supervisor"), "{told}");
        scene
            .book
            .append(scene.supervisor, vec![back])
            .await
            .expect("kept");
        let row = scene.newest().await;
        assert!(!row.holds());
        assert_eq!(row.who, scene.analyst, "who signed stays who signed");
        let found = scene
            .book
            .verify_with(BTreeSet::new())
            .await
            .expect("looked at");
        assert!(found.sound(), "{:?}", found.findings);
        let head = scene.book.store().head().await.expect("readable");
        assert_eq!((found.head, found.records), (head, head.seq));
        scene.book.close().await;
        let found = verdict(&place).await;
        let in_records = |finding: &&Finding| !matches!(finding.place, Place::Recording { .. });
        let findings: Vec<&Finding> = found.findings.iter().filter(in_records).collect();
        assert!(findings.is_empty(), "{findings:?}");
    });
}

#[test]
fn an_altered_record_is_found_while_the_book_is_open() {
    let (_room, place) = room();
    wait(async {
        let scene = scene(&place).await;
        add(&scene.book, scene.analyst, scene.signature()).await;
        let url = format!(
            "sqlite://{}",
            scene.book.folder().join("book.sqlite").display()
        );
        let mut shell = <sqlx::SqliteConnection as sqlx::Connection>::connect(&url)
            .await
            .expect("a database");
        for statement in [
            "DROP TRIGGER IF EXISTS record_stays",
            "UPDATE sign_off SET sample = 'another'",
        ] {
            sqlx::query(statement)
                .execute(&mut shell)
                .await
                .expect("done");
        }
        sqlx::Connection::close(shell).await.expect("closed");
        let found = scene
            .book
            .verify_with(BTreeSet::new())
            .await
            .expect("looked at");
        let said: Vec<String> = found.findings.iter().map(ToString::to_string).collect();
        assert!(
            said.iter().any(|line| line.contains("table sign_off")),
            "{said:?}"
        );
    });
}

fn past(sample: SampleId) -> PastResult {
    PastResult {
        sample,
        substance: Some("acetanilide".into()),
        from_c: Some(113.0),
        to_c: Some(114.5),
        above: false,
        decomposed: false,
        mark: CorrectionMark::Uncorrected,
        heating_rate_c_per_min: Some(1.0),
        measured_on: "2019-03-12".parse().ok(),
        by: Some("E. Zeisig".into()),
        source: Some("notebook 12, page 34".into()),
        remarks: None,
        as_written: "113-114,5".into(),
        file_name: "past.csv".into(),
        line: 2,
        void: false,
    }
}

#[test]
fn results_from_before_are_kept_beside_and_refused_where_they_cannot_be() {
    let (_room, place) = room();
    wait(async {
        let scene = scene(&place).await;
        let kept = add(&scene.book, scene.student, past(scene.sample.0)).await;
        let void = PastResult {
            void: true,
            ..past(scene.sample.0)
        };
        let void = Draft::revision(kept.subject, kept.id, void).because("of another lot");
        scene
            .book
            .append(scene.supervisor, vec![void])
            .await
            .expect("kept");
        let found = scene
            .book
            .store()
            .sample(scene.sample.0)
            .await
            .expect("there");
        assert_eq!(found.past_results.len(), 1);
        assert!(found.past_results[0].past_result.void);
        assert_eq!(
            found.past_results[0].reason.as_deref(),
            Some("of another lot")
        );
        type Change = fn(&mut PastResult);
        let wrong: [(&str, Change); 4] = [
            ("from_c", |past| past.from_c = Some(f64::NAN)),
            ("to_c", |past| past.to_c = Some(100.0)),
            ("to_c", |past| past.to_c = Some(1e6)),
            ("rate", |past| {
                past.heating_rate_c_per_min = Some(f64::INFINITY)
            }),
        ];
        for (field, change) in wrong {
            let mut said = past(scene.sample.0);
            change(&mut said);
            let refused = scene
                .book
                .append(scene.student, vec![Draft::new(said)])
                .await;
            let told = refused.expect_err("it cannot be").to_string();
            assert!(told.contains(field), "{field}: {told}");
        }
        let nowhere = Draft::new(past(SampleId::new()));
        assert!(
            scene
                .book
                .append(scene.student, vec![nowhere])
                .await
                .is_err()
        );
        let kinds: BTreeSet<&str> = scene
            .book
            .store()
            .after(0, 100)
            .await
            .expect("readable")
            .iter()
            .map(|record| record.entry.kind().name())
            .collect();
        assert!(kinds.contains("past_result"));
        assert!(matches!(
            scene
                .book
                .store()
                .latest(kept.subject)
                .await
                .expect("there")
                .entry,
            Entry::PastResult(_)
        ));
    });
}
