//! Records of teaching: class sessions, what is done in them, and blind readings for practice.

use crate::workshop::{add, new_book, room, verdict, wait};
use meltrange_labbook::{
    BookError, DealtVial, Digest, Draft, Entry, Person, PersonId, Practical, PracticalAct,
    PracticalId, PracticalStep, PracticeAttempt, PracticeEnd, PracticeExercise, Role, StepId,
    Unknown,
};
use meltrange_planning::SessionBench;
use meltrange_teaching::Rubric;

fn unknown(name: &str, first_liquid_c: f64, last_crystal_c: f64) -> Unknown {
    Unknown {
        library: None,
        name: name.into(),
        first_liquid_c,
        last_crystal_c,
        hazards: None,
        fusion_j_per_mol: None,
    }
}

fn practical() -> Practical {
    Practical {
        title: "Evening practical".into(),
        seats_per_row: 2,
        people_per_seat: 1,
        unknowns: vec![unknown("benzil", 94.0, 95.0), unknown("urea", 132.0, 133.5)],
        standard_uncertainty_c: 1.0,
        runs_each: 2,
        length_min: 180.0,
        operators: 2,
        benches: vec![SessionBench {
            name: "Bench 1".into(),
            places: 3,
            room_c: 22.0,
            start_c: 22.0,
            heat_rate_c_per_min: 10.0,
            cool_time_constant_min: 8.0,
            max_c: 300.0,
        }],
        rubric: Rubric::default(),
        seed: 5,
        deal: vec![
            DealtVial {
                vial: "U-101".into(),
                unknown: 0,
            },
            DealtVial {
                vial: "U-102".into(),
                unknown: 1,
            },
        ],
    }
}

fn step(practical: PracticalId, act: PracticalAct) -> PracticalStep {
    PracticalStep {
        practical,
        done: None,
        act,
    }
}

fn result(seat: u32, first_liquid_c: f64, last_crystal_c: f64) -> PracticalAct {
    PracticalAct::Result {
        seat,
        run: 1,
        first_liquid_c,
        last_crystal_c,
        heating_rate_c_per_min: Some(1.0),
        fresh_tube: true,
        note: String::new(),
        bench: None,
    }
}

fn student(book_name: &str) -> Person {
    Person {
        name: book_name.into(),
        role: Role::Student,
    }
}

#[test]
fn a_class_session_is_kept_step_by_step_and_verifies() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let set_up = add(&book, who, practical()).await;
        let id: PracticalId = set_up.subject.into();
        let person = PersonId::new();
        let joined = PracticalAct::Joined {
            seat: 1,
            person,
            name: Some(Digest::of(b"a random number\nMira")),
        };
        let drafts = vec![
            Draft::about(person, student("Amber Alder 7K2M")),
            Draft::new(step(id, joined)),
        ];
        book.append(person, drafts).await.expect("kept");
        let own = StepId::new();
        let draft = || Draft::about(own, step(id, result(1, 94.1, 95.2)));
        book.append(person, vec![draft()]).await.expect("kept");
        // The same step again is no second one.
        let again = book.append(person, vec![draft()]).await;
        assert!(again.is_err(), "{again:?}");
        let store = book.store();
        let steps = store.practical_steps(id, 0).await.expect("readable");
        assert_eq!(steps.len(), 2);
        let later = store.practical_steps(id, steps[0].seq).await;
        assert_eq!(later.expect("readable").len(), 1);
        assert_eq!(store.practicals().await.expect("readable").len(), 1);
        let other = store.practical_steps(PracticalId::new(), 0).await;
        assert!(other.expect("readable").is_empty());
        book.close().await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
    });
}

#[test]
fn what_cannot_be_is_refused_by_name() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let id: PracticalId = add(&book, who, practical()).await.subject.into();
        let refused = async |act: PracticalAct, field: &str| {
            let found = book.append(who, vec![Draft::new(step(id, act))]).await;
            match found {
                Err(BookError::Field { field: named, .. }) => assert_eq!(named, field),
                other => panic!("{field}: {other:?}"),
            }
        };
        refused(result(1, 96.0, 95.0), "last_crystal_c").await;
        refused(result(1, f64::NAN, 95.0), "first_liquid_c").await;
        let mut nobody = practical();
        nobody.deal[0].unknown = 2;
        let found = book.append(who, vec![Draft::new(nobody)]).await;
        assert!(
            matches!(&found, Err(BookError::Field { field, .. }) if *field == "practical.deal"),
            "{found:?}"
        );
        // A swap, a bench out of use and points by hand say why.
        let swap = PracticalAct::Swapped {
            seat: 1,
            from: 0,
            to: 1,
        };
        let found = book
            .append(who, vec![Draft::new(step(id, swap.clone()))])
            .await;
        assert!(
            matches!(found, Err(BookError::ReasonMissing { .. })),
            "{found:?}"
        );
        let draft = Draft::new(step(id, swap)).because("vials were mixed up");
        book.append(who, vec![draft]).await.expect("kept");
        // Nothing happens in a class session that there is not.
        let lost = step(PracticalId::new(), PracticalAct::Begun);
        assert!(book.append(who, vec![Draft::new(lost)]).await.is_err());
        book.close().await;
    });
}

#[test]
fn attempts_are_found_by_person() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let end = |marked_c: f64| PracticeEnd {
            marked_s: 100.0,
            marked_c,
            known_s: 101.0,
            known_c: 95.0,
            known_uncertainty_c: 0.02,
        };
        let attempt = |person: PersonId| PracticeAttempt {
            person,
            exercise: PracticeExercise::Simulated {
                exercise: "settling".into(),
                seed: 7,
                program: "meltrange 0.1.0".into(),
            },
            first_liquid: end(94.8),
            last_crystal: end(95.4),
            seconds_spent: Some(40.0),
        };
        let other = add(&book, who, student("Teal Oak 19XZ"))
            .await
            .subject
            .into();
        add(&book, who, attempt(who)).await;
        add(&book, other, attempt(other)).await;
        add(&book, other, attempt(other)).await;
        let store = book.store();
        let count = async |person| {
            let found = store.practice_attempts(person).await.expect("readable");
            found.len()
        };
        assert_eq!(count(Some(who)).await, 1);
        assert_eq!(count(Some(other)).await, 2);
        assert_eq!(count(None).await, 3);
        let all = store.practice_attempts(Some(who)).await.expect("readable");
        let Entry::PracticeAttempt(found) = &all[0].entry else {
            panic!("{all:?}");
        };
        assert!((found.last_crystal.error_c() - 0.4).abs() < 1e-12);
        book.close().await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
    });
}
