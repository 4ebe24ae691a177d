//! Marks against keys made by hand, and against drawn exercises.

use super::*;
use meltrange_scene::Film;
use proptest::prelude::*;

/// A picture each 3 s at 1 °C/min from 100 °C; first liquid at 151 s, last crystal at 201 s.
fn key() -> AnswerKey {
    let times_s: Vec<f64> = (0..=100).map(|picture| 3.0 * f64::from(picture)).collect();
    let temperatures_c = times_s.iter().map(|time_s| 100.0 + time_s / 60.0).collect();
    let solid_left = times_s
        .iter()
        .map(|time_s| ((201.0 - time_s) / 50.0).clamp(0.0, 1.0))
        .collect();
    let known = |time_s: f64| KnownEnd {
        time_s,
        temperature_c: 100.0 + time_s / 60.0,
        standard_uncertainty_c: 0.0144,
    };
    let lasting = |kind: &str, from_s, to_s| Happening {
        kind: kind.to_owned(),
        from_s,
        to_s,
    };
    AnswerKey {
        basis: Basis::Truth,
        track: PictureTrack::new(times_s, temperatures_c).expect("a sound track"),
        first_liquid: known(151.0),
        last_crystal: known(201.0),
        events: vec![
            lasting("settling", 40.0, None),
            lasting("glistening", 70.0, Some(160.0)),
            lasting("wetting", 55.0, Some(69.0)),
        ],
        specks: true,
        solid_left_fraction: Some(solid_left),
    }
}

fn marked(first_liquid_s: f64, last_crystal_s: f64) -> Marked {
    let marks = Marks {
        first_liquid_s,
        last_crystal_s,
    };
    mark(&key(), marks, 0.5).expect("sound marks")
}

#[test]
fn errors_are_marked_less_known() {
    let found = marked(141.0, 216.0);
    assert!((found.first_liquid.error_c + 10.0 / 60.0).abs() < 1e-9);
    assert!((found.last_crystal.error_c - 0.25).abs() < 1e-9);
    assert!(found.first_liquid.within_limit && found.last_crystal.within_limit);
    assert_eq!(found.first_liquid.fooled_by, None);
    assert_eq!(found.first_liquid.deciding_s, [150.0, 153.0, 156.0]);
    assert_eq!(found.last_crystal.deciding_s, [198.0, 201.0, 204.0]);
    // Exactly at the limit is within.
    assert!(marked(121.0, 201.0).first_liquid.within_limit);
    assert!(!marked(120.9, 201.0).first_liquid.within_limit);
}

#[test]
fn what_fooled_is_told_by_where_the_mark_lies() {
    let first = |at_s| marked(at_s, 201.0).first_liquid.fooled_by;
    assert_eq!(first(20.0), Some(FooledBy::Early));
    assert_eq!(first(38.0), Some(FooledBy::Settling));
    assert_eq!(first(48.0), Some(FooledBy::Settling));
    assert_eq!(first(60.0), Some(FooledBy::Wetting));
    assert_eq!(first(100.0), Some(FooledBy::Glistening));
    assert_eq!(first(190.0), Some(FooledBy::Late));
    let last = |at_s| marked(151.0, at_s).last_crystal.fooled_by;
    assert_eq!(last(160.0), Some(FooledBy::Early));
    assert_eq!(last(240.0), Some(FooledBy::Specks));
    let clean = AnswerKey {
        specks: false,
        ..key()
    };
    let marks = Marks {
        first_liquid_s: 151.0,
        last_crystal_s: 240.0,
    };
    let found = mark(&clean, marks, 0.5).expect("sound marks");
    assert_eq!(found.last_crystal.fooled_by, Some(FooledBy::Late));
    // A limit of 0.1 °C makes 15 s too early a mistake, with a tenth of a fifty-second melting left.
    let marks = Marks {
        first_liquid_s: 151.0,
        last_crystal_s: 191.0,
    };
    let found = mark(&key(), marks, 0.1).expect("sound marks");
    assert_eq!(
        found.last_crystal.fooled_by,
        Some(FooledBy::LateLastCrystal)
    );
}

#[test]
fn marks_that_cannot_be_are_refused() {
    let refused = |first_liquid_s, last_crystal_s, limit_c| {
        let marks = Marks {
            first_liquid_s,
            last_crystal_s,
        };
        mark(&key(), marks, limit_c).expect_err("not sound")
    };
    assert!(matches!(
        refused(-1.0, 200.0, 0.5),
        MarkingError::Outside { .. }
    ));
    assert!(matches!(
        refused(100.0, f64::NAN, 0.5),
        MarkingError::Outside { .. }
    ));
    assert!(matches!(
        refused(150.0, 149.0, 0.5),
        MarkingError::Order { .. }
    ));
    assert!(matches!(
        refused(150.0, 200.0, f64::NAN),
        MarkingError::Limit { .. }
    ));
}

#[test]
fn readers_who_agree_make_a_key() {
    let times_s: Vec<f64> = (0..=100).map(|picture| 3.0 * f64::from(picture)).collect();
    let temperatures_c = times_s.iter().map(|time_s| 100.0 + time_s / 60.0).collect();
    let track = PictureTrack::new(times_s, temperatures_c).expect("a sound track");
    let reader = |first_liquid_s, last_crystal_s| Marks {
        first_liquid_s,
        last_crystal_s,
    };
    let readers = [
        reader(144.0, 201.0),
        reader(150.0, 201.0),
        reader(156.0, 201.0),
    ];
    let found = AnswerKey::of_consensus(track.clone(), &readers).expect("three readers");
    assert_eq!(found.basis, Basis::Consensus);
    assert!((found.first_liquid.temperature_c - 102.5).abs() < 1e-9);
    // s = 0.1 °C, over √3.
    assert!((found.first_liquid.standard_uncertainty_c - 0.1 / 3f64.sqrt()).abs() < 1e-9);
    // All at one picture: half of 3 s at 1 °C/min, rectangular.
    let half = 1.5 / 60.0 / 3f64.sqrt();
    assert!((found.last_crystal.standard_uncertainty_c - half).abs() < 1e-9);
    assert_eq!(
        AnswerKey::of_consensus(track.clone(), &readers[..1]),
        Err(KeyError::Readers { found: 1 })
    );
    assert!(matches!(
        AnswerKey::of_consensus(track, &[reader(1.0, 2.0), reader(1.0, 400.0)]),
        Err(KeyError::Outside { reader: 1, .. })
    ));
    assert!(PictureTrack::new(vec![0.0, 0.0], vec![1.0, 1.0]).is_err());
    assert!(PictureTrack::new(vec![0.0], vec![1.0]).is_err());
}

/// Who marks the drop of an exercise in settling is told so; who marks the truth is right.
#[test]
fn a_drawn_exercise_is_marked() {
    let scene = crate::scene(crate::ExerciseKind::Settling, 7).expect("simulated");
    let film = Film::new(scene).expect("a sound scene");
    let key = AnswerKey::of_film(&film).expect("it melts");
    let drop = key
        .events
        .iter()
        .find(|event| event.kind == "settling")
        .expect("it settles");
    let marks = Marks {
        first_liquid_s: drop.from_s,
        last_crystal_s: key.last_crystal.time_s,
    };
    let found = mark(&key, marks, 0.5).expect("sound marks");
    assert_eq!(found.first_liquid.fooled_by, Some(FooledBy::Settling));
    assert!(found.last_crystal.error_c.abs() < 0.01);
    assert!(found.last_crystal.within_limit);
    // The solid left is what the truth goes by: 0.5 % of the fresh column at the last crystal, nearly all at the begin.
    let times_s = [0.0, key.last_crystal.time_s];
    let left = film.solid_left_fractions(0, &times_s).expect("powder");
    assert!(left[0] > 0.9, "{left:?}");
    assert!((left[1] - 0.005).abs() < 1e-3, "{left:?}");
    assert_eq!(film.solid_left_fractions(1, &times_s), None);
    // Half of a picture's spacing at 1 °C/min, rectangular; the controller's cycling moves the rate by a quarter.
    let half_c = 0.5 * key.track.spacing_s(key.first_liquid.time_s) / 60.0;
    let u_c = key.first_liquid.standard_uncertainty_c;
    assert!((u_c / (half_c / 3f64.sqrt()) - 1.0).abs() < 0.3, "{u_c}");
}

proptest! {
    /// Whoever is outside of the limit is told why, whoever is within is not; the pictures that decide surround the moment.
    #[test]
    fn every_mark_is_judged(first in 0.0..300.0f64, length in 0.0..300.0f64, limit_c in 0.05..2.0f64) {
        let marks = Marks { first_liquid_s: first, last_crystal_s: (first + length).min(300.0) };
        let found = mark(&key(), marks, limit_c).expect("sound marks");
        for end in [&found.first_liquid, &found.last_crystal] {
            prop_assert_eq!(end.within_limit, end.fooled_by.is_none());
            prop_assert!((end.error_c - (end.marked_s - end.true_s) / 60.0).abs() < 1e-9);
            prop_assert!(end.deciding_s[0] < end.true_s && end.deciding_s[1] >= end.true_s);
        }
    }
}
