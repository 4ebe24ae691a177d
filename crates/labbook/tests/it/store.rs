//! What every store must do, asked through the interface alone.

use crate::workshop::{
    add, engine_reading, moment, new_book, recorded, room, run_under_way, sample, supervisor,
    verdict, wait,
};
use meltrange_labbook::{
    Access, Book, BookError, Confirmation, Convention, DecisionKind, Determination, Draft, Event,
    EventKind, Handed, Outcome, Override, RecordingQuery, RecordingState, Run, RunId, RunState,
    SampleId, SampleOrder, SampleQuery, Standing, TubeRef,
};
use meltrange_planning::{MeasuringOrder, Programme};

#[test]
fn what_was_recorded_is_there_after_opening_again() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let record = add(&book, who, sample("U-1", "acetanilide")).await;
        let head = book.store().head().await.expect("readable");
        assert_eq!((head.seq, head.hash), (3, Some(record.hash)));
        book.close().await;
        let book = Book::open(&place, Access::Write).await.expect("a book");
        assert_eq!(book.store().head().await.expect("readable"), head);
        assert_eq!(book.store().record(record.id).await.expect("kept"), record);
        assert_eq!(book.store().people().await.expect("kept").len(), 1);
    });
}

#[test]
fn a_batch_is_written_whole_or_not_at_all() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let batch = vec![
            Draft::new(sample("U-1", "urea")),
            Draft::new(sample("u-1", "urea")),
        ];
        let refused = book.append(who, batch).await;
        assert!(
            matches!(&refused, Err(BookError::Taken { field: "sample.label", found }) if found == "u-1"),
            "{refused:?}"
        );
        let page = book.store().samples(&SampleQuery::default()).await;
        assert_eq!(page.expect("readable").total, 0);
        assert_eq!(book.store().head().await.expect("readable").seq, 2);
    });
}

#[test]
fn samples_are_found_by_words_whatever_their_case_and_sorted_by_value() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        for (label, expected) in [
            ("U-10", "trans-Cinnamic acid"),
            ("U-9", "benzil"),
            ("V-1 100 %_", "vanillin"),
            ("Ü-2", "BENZIL"),
        ] {
            add(&book, who, sample(label, expected)).await;
        }
        let found = |text: &str| {
            let query = SampleQuery {
                text: text.into(),
                order: SampleOrder::Label,
                ..SampleQuery::default()
            };
            let book = &book;
            async move {
                let page = book.store().samples(&query).await.expect("readable");
                assert_eq!(page.total as usize, page.rows.len());
                let labels: Vec<String> = page.rows.into_iter().map(|row| row.label).collect();
                labels
            }
        };
        assert_eq!(found("benzil").await, ["U-9", "Ü-2"]);
        assert_eq!(found("ü- COLLEGE").await, ["Ü-2"]);
        assert_eq!(found("%").await, ["V-1 100 %_"]);
        assert_eq!(found("' OR 1=1 --").await, [""; 0]);
        assert_eq!(found("u-").await, ["U-9", "U-10"]);
        let query = SampleQuery {
            offset: 1,
            limit: 2,
            ..SampleQuery::default()
        };
        let page = book.store().samples(&query).await.expect("readable");
        let labels: Vec<&str> = page.rows.iter().map(|row| row.label.as_str()).collect();
        assert_eq!((labels, page.total), (vec!["V-1 100 %_", "U-9"], 4));
    });
}

#[test]
fn a_revision_takes_the_place_of_the_latest_record_only() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let first = add(&book, who, sample("U-1", "urea")).await;
        let revise = |label: &str| {
            Draft::revision(first.subject, first.id, sample(label, "benzil"))
                .because("the label was misread")
        };
        let second = book.append(who, vec![revise("U-7")]).await.expect("latest");
        assert_eq!(second[0].supersedes, Some(first.id));
        let late = book.append(who, vec![revise("U-8")]).await;
        assert!(matches!(late, Err(BookError::Stale { .. })), "{late:?}");
        let history = book.store().history(first.subject).await.expect("readable");
        assert_eq!(history, [first.clone(), second[0].clone()]);
        let now = book.store().sample(first.subject.into()).await;
        let now = now.expect("there");
        assert_eq!((now.row.label.as_str(), now.record), ("U-7", second[0].id));
        // The old label is free again.
        add(&book, who, sample("U-1", "urea")).await;
    });
}

#[test]
fn a_sample_goes_from_unread_to_agreed() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let id: SampleId = add(&book, who, sample("U-1", "acetanilide"))
            .await
            .subject
            .into();
        let standing = || async {
            let detail = book.store().sample(id).await.expect("there");
            (detail.row.standing, detail.row.recordings)
        };
        assert_eq!(standing().await, (Standing::Unread, 0));
        let recording = recorded(&book, who, &[id, id]).await;
        assert_eq!(standing().await.0, Standing::Unread);
        let today = book.store().today().await.expect("readable");
        assert_eq!(today.waiting_for_reading_total, 1);
        let reading = add(&book, who, engine_reading(recording, &[id, id])).await;
        assert_eq!(standing().await.0, Standing::Read);
        let today = book.store().today().await.expect("readable");
        assert_eq!(today.waiting_for_reading_total, 0);
        assert_eq!((today.not_agreed_total, today.undecided_tubes), (1, 2));
        let reading_id = reading.subject.into();
        add(
            &book,
            who,
            Confirmation {
                reading: reading_id,
                place: 1,
            },
        )
        .await;
        let other = Override {
            reading: reading_id,
            place: 2,
            outcome: Outcome::Melted,
            first_liquid: Some(moment(101.0, 113.5)),
            last_crystal: Some(moment(161.0, 114.4)),
        };
        let unexplained = book.append(who, vec![Draft::new(other.clone())]).await;
        assert!(matches!(unexplained, Err(BookError::ReasonMissing { .. })));
        let determination = Determination {
            sample: id,
            from: vec![TubeRef {
                reading: reading_id,
                place: 2,
            }],
            agreed: true,
            spread_c: Some(0.1),
            further_runs_needed: 0,
            convention: Convention::AsLogged,
            first_liquid: None,
            last_crystal: None,
            range_text: "113.4–114.3 °C".into(),
            basis: None,
        };
        add(&book, who, determination).await;
        let explained = Draft::new(other).because("a bubble, not the first liquid");
        book.append(who, vec![explained]).await.expect("explained");
        let detail = book.store().sample(id).await.expect("there");
        assert_eq!(detail.row.standing, Standing::Agreed);
        assert_eq!(detail.row.range_text.as_deref(), Some("113.4–114.3 °C"));
        let [one, two] = detail.tubes.as_slice() else {
            panic!("two tubes");
        };
        assert!(matches!(
            one.tube.decision.as_ref().map(|decision| &decision.says),
            Some(DecisionKind::Confirmed)
        ));
        assert_eq!(two.tube.counts().first_liquid, Some(moment(101.0, 113.5)));
        // The result stands on a tube that was decided otherwise since.
        assert_eq!(detail.determinations[0].outdated.len(), 1);
        let query = RecordingQuery {
            state: Some(RecordingState::Read),
            ..RecordingQuery::default()
        };
        let page = book.store().recordings(&query).await.expect("readable");
        assert_eq!((page.total, page.rows[0].readings), (1, 1));
        assert_eq!(
            page.rows[0].labels,
            [Some("U-1".into()), Some("U-1".into())]
        );
    });
}

#[test]
fn what_points_nowhere_is_refused() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let confirmation = Confirmation {
            reading: meltrange_labbook::ReadingId::new(),
            place: 1,
        };
        let refused = book.append(who, vec![Draft::new(confirmation)]).await;
        assert!(matches!(
            refused,
            Err(BookError::Unknown {
                what: "reading",
                ..
            })
        ));
        let stranger = meltrange_labbook::PersonId::new();
        let refused = book
            .append(stranger, vec![Draft::new(sample("U-1", "urea"))])
            .await;
        assert!(matches!(
            refused,
            Err(BookError::Unknown { what: "person", .. })
        ));
        let twice = book.append(who, vec![Draft::new(supervisor())]).await;
        assert!(matches!(twice, Err(BookError::Taken { .. })));
    });
}

#[test]
fn listeners_hear_of_changes_in_order() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let mut changes = book.changes();
        let drafts = ["U-1", "U-2"].map(|label| Draft::new(sample(label, "urea")));
        let records = book.append(who, drafts.to_vec()).await.expect("kept");
        for record in &records {
            let change = changes.recv().await.expect("announced");
            assert_eq!((change.seq, change.id), (record.seq, record.id));
        }
        let missed = book.store().after(2, 10).await.expect("readable");
        assert_eq!(missed, records);
    });
}

#[test]
fn what_happens_in_a_run_is_kept_in_order_and_exported() {
    let (room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let order = MeasuringOrder::around(113.0, 115.0);
        let programme = Programme::measuring(&order, 300.0).expect("in order");
        let run = Run {
            programme: Some(programme.clone()),
            ..run_under_way(&[])
        };
        let one = book.begin_run(who, run).await.expect("kept");
        let other = book.begin_run(who, run_under_way(&[])).await.expect("kept");
        let detail = book.store().run(one).await.expect("there").run;
        assert_eq!(detail.programme, Some(programme));
        assert_eq!(detail.state, RunState::UnderWay);
        let happened = |time_s, what, text: &str| (time_s, what, text.to_owned());
        let first = vec![
            happened(0.0, EventKind::Leg, "approach to 108 °C"),
            happened(
                61.5,
                EventKind::Marked,
                "tube 1: first liquid, \"sweating\"",
            ),
        ];
        let first = book.record_events(who, one, first).await.expect("kept");
        let first = first.recorded().expect("in the book");
        book.record_events(who, other, vec![happened(3.0, EventKind::Doubt, "dark")])
            .await
            .expect("kept");
        // The clock of a run is its own: what was called later may lie earlier.
        let second = vec![happened(60.25, EventKind::Called, "tube 1: first liquid")];
        let second = book.record_events(who, one, second).await.expect("kept");
        let second = second.recorded().expect("in the book");
        let kept = book.store().events(one).await.expect("readable");
        assert_eq!(kept, [first.as_slice(), second.as_slice()].concat());
        // Said anew, it keeps its place.
        let marked = Event {
            run: one,
            time_s: 61.5,
            what: EventKind::Marked,
            text: "tube 2: first liquid".into(),
        };
        let draft =
            Draft::revision(first[1].subject, first[1].id, marked).because("the wrong tube");
        let anew = book.append(who, vec![draft]).await.expect("latest");
        let kept = book.store().events(one).await.expect("readable");
        assert_eq!(kept, [&first[..1], &anew[..], &second[..]].concat());
        assert_eq!(book.store().events(other).await.expect("readable").len(), 1);
        let nowhere = book.store().events(RunId::new()).await;
        assert_eq!(nowhere.expect("readable"), []);

        let target = room.path().join("export");
        book.export_tables(&target).await.expect("there is room");
        let table = std::fs::read_to_string(target.join("events.csv")).expect("there");
        let lines: Vec<&str> = table.lines().collect();
        assert_eq!(lines[0], "run,time_s,what,text,person,when");
        assert_eq!(lines.len(), 5, "{table}");
        assert_eq!(
            lines[1],
            format!("{one},0,leg,approach to 108 °C,R. Amsel,{}", first[0].when)
        );
        assert!(
            lines[2].starts_with(&format!("{one},61.5,marked,tube 2")),
            "{table}"
        );
        book.close().await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
    });
}

#[test]
fn events_that_cannot_be_are_refused_whole() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let run = book.begin_run(who, run_under_way(&[])).await.expect("kept");
        let good = || (1.0, EventKind::Leg, "soak".to_owned());
        for bad in [
            (f64::NAN, EventKind::Leg, "soak".to_owned()),
            (f64::INFINITY, EventKind::Leg, "soak".to_owned()),
            (2.0, EventKind::Fault, "x".repeat(4001)),
            (2.0, EventKind::Fault, "\u{7}".to_owned()),
        ] {
            let refused = book.record_events(who, run, vec![good(), bad]).await;
            assert!(
                matches!(refused, Err(BookError::Field { .. })),
                "{refused:?}"
            );
        }
        assert_eq!(book.store().events(run).await.expect("readable"), []);
        let nowhere = book.record_events(who, RunId::new(), vec![good()]).await;
        assert!(matches!(
            nowhere,
            Err(BookError::Unknown { what: "run", .. })
        ));
        let none = book.record_events(who, run, Vec::new()).await;
        assert_eq!(none.expect("nothing happened"), Handed::Recorded(vec![]));
    });
}

#[test]
fn a_run_ends_once_and_says_why_when_it_broke() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let under_way = || async {
            let today = book.store().today().await.expect("readable");
            today.runs_under_way.len()
        };
        let ended = Run {
            state: RunState::Ended,
            ..run_under_way(&[])
        };
        let run = book.begin_run(who, ended).await.expect("kept");
        assert_eq!(under_way().await, 1);
        let same = book.end_run(who, run, RunState::UnderWay, None).await;
        assert!(matches!(
            same,
            Err(BookError::Field {
                field: "run.state",
                ..
            })
        ));
        let silent = book.end_run(who, run, RunState::Broken, None).await;
        assert!(matches!(silent, Err(BookError::ReasonMissing { .. })));
        let why = Some("the thermometer was silent for 5 s");
        let over = book.end_run(who, run, RunState::Broken, why).await;
        let over = over.expect("said").recorded().expect("in the book");
        assert_eq!(over[0].reason.as_deref(), why);
        assert_eq!(under_way().await, 0);
        let twice = book.end_run(who, run, RunState::Ended, None).await;
        let said = twice.expect_err("it is over").to_string();
        assert!(said.contains("run.state is broken"), "{said}");
        let nowhere = book.end_run(who, RunId::new(), RunState::Ended, None).await;
        assert!(matches!(
            nowhere,
            Err(BookError::Unknown { what: "run", .. })
        ));
    });
}
