//! Every scene of the suite, drawn small: repeatable, and with a truth that agrees with itself.

use meltrange_scene::{CameraSpec, Film, Scene, TimingSpec, TrueMoment, TubeTruth, suite};

use crate::stage::{assert_same, follow};

/// Bore at which the whole suite takes seconds \[px\].
const BORE_PX: f64 = 12.0;

/// The same scene in smaller pictures.
fn shrink(mut scene: Scene) -> Scene {
    let scale = BORE_PX / scene.picture.bore_px();
    let even = |side: usize| ((side as f64 * scale / 2.0).round() as usize * 2).max(64);
    scene.picture.width = even(scene.picture.width);
    scene.picture.height = even(scene.picture.height);
    scene.picture.bore_px = Some(BORE_PX);
    scene
}

fn assert_on_the_programme(film: &Film, moment: &TrueMoment, what: &str) {
    let start_s = film.scene().log.video_start_s;
    // Times and temperatures are given to four decimals.
    let off_s = moment.time_s - start_s - moment.video_time_s;
    assert!(off_s.abs() < 2e-4, "{what}: clocks {off_s} s apart");
    let off_c = moment.temperature_c - film.block_temperature(moment.time_s).0;
    assert!(off_c.abs() < 2e-4, "{what}: {off_c} °C off the programme");
    assert!(
        // Nothing melts while the recording has hardly begun.
        (20.0..film.end_s() - start_s).contains(&moment.video_time_s),
        "{what}: at {} s",
        moment.video_time_s
    );
}

fn assert_consistent(film: &Film, tube: &TubeTruth, what: &str) {
    let (first, last) = (tube.first_liquid, tube.last_crystal);
    match tube.outcome {
        "melted" => assert!(first.is_some() && last.is_some(), "{what}: a moment lacks"),
        "partly_melted" => assert!(first.is_some() && last.is_none(), "{what}: it ends early"),
        "unmelted" | "empty" | "no_tube" => {
            assert!(first.is_none() && last.is_none(), "{what}: nothing melts");
        }
        "decomposed" => {}
        other => panic!("{what}: outcome {other}"),
    }
    for moment in [first, last].into_iter().flatten() {
        assert_on_the_programme(film, &moment, what);
    }
    if let (Some(first), Some(last)) = (first, last) {
        assert!(first.time_s < last.time_s, "{what}: {first:?}, {last:?}");
        let range_c = tube.range_c.expect("both moments are there");
        assert!((range_c - (last.temperature_c - first.temperature_c)).abs() < 1e-9);
    }
    let rising = |levels: [Option<TrueMoment>; 3]| {
        // Once a higher level is reached, the lower ones were before it.
        levels.windows(2).all(|pair| match (pair[0], pair[1]) {
            (Some(lower), Some(higher)) => lower.time_s <= higher.time_s,
            (None, Some(_)) => false,
            (_, None) => true,
        })
    };
    assert!(
        rising(
            ["0.5%", "1%", "2%"].map(|level| tube
                .first_liquid_levels
                .get(level)
                .copied()
                .flatten())
        ),
        "{what}: {:?}",
        tube.first_liquid_levels
    );
    assert!(
        rising(
            ["2%", "1%", "0.5%"].map(|level| tube
                .last_crystal_levels
                .get(level)
                .copied()
                .flatten())
        ),
        "{what}: {:?}",
        tube.last_crystal_levels
    );
}

#[test]
fn every_truth_agrees_with_itself_and_its_kind() {
    for scene in suite(1) {
        let film = Film::new(shrink(scene)).expect("a possible scene");
        let truth = film.truth();
        let name = &truth.name;
        assert_eq!(truth.tubes.len(), film.scene().tubes.len());
        for tube in &truth.tubes {
            assert_consistent(&film, tube, &format!("{name} tube {}", tube.tube));
        }
        for (tag, outcome) in [
            ("plain", "melted"),
            ("empty", "empty"),
            ("absent", "no_tube"),
            ("unmelted", "unmelted"),
            ("partly", "partly_melted"),
        ] {
            // The first tag is the kind; further ones say what else may be met.
            let tagged = film.scene().tags[0] == tag;
            let found = truth.tubes.iter().any(|tube| tube.outcome == outcome);
            assert!(found || !tagged, "{name}: of kind {tag}, nothing {outcome}");
        }
    }
}

#[test]
fn every_scene_draws_the_same_picture_again() {
    for scene in suite(1) {
        let scene = shrink(scene);
        let again = Film::new(scene.clone()).expect("a possible scene");
        let film = Film::new(scene).expect("a possible scene");
        let middle = film.times_s().len() / 2;
        assert_eq!(film.times_s(), again.times_s());
        assert_eq!(film.log(), again.log());
        assert!(
            film.picture(middle) == again.picture(middle),
            "{}",
            film.scene().name
        );
    }
}

#[test]
fn another_seed_draws_other_variations_of_the_same_kinds() {
    let (one, other) = (suite(1), suite(2));
    assert_eq!(one.len(), other.len());
    for (one, other) in one.iter().zip(&other) {
        assert_eq!((&one.name, &one.tags), (&other.name, &other.tags));
        assert_ne!(one.seed, other.seed, "{}", one.name);
        assert_ne!(one.tubes, other.tubes, "{}", one.name);
    }
}

/// The film of a scene with a steady block and looks of the truth at every second second, as a stage has.
fn film_in_step(scene: Scene) -> Film {
    let mut scene = shrink(scene);
    // Where the block swings a film's powder freezes back a little in every swing; a stage's does not.
    scene.programme.ripple_c = 0.0;
    scene.log.video_start_s = 0.0;
    scene.timing = TimingSpec::default();
    // The truth is measured before the camera.
    scene.camera = CameraSpec::default();
    let end_s = Film::new(scene.clone()).expect("a possible scene").end_s();
    scene.programme.tail_s += 2.5 - end_s % 2.0;
    let film = Film::new(scene).expect("a possible scene");
    let last_s = film.times_s()[film.times_s().len() - 1];
    assert_eq!(last_s % 2.0, 0.0, "an even length");
    film
}

#[test]
fn a_third_of_the_scenes_happen_the_same_when_heated_live() {
    for scene in suite(2).into_iter().step_by(3) {
        let film = film_in_step(scene);
        let stage = follow(&film, 0.1, |_, _| ());
        let live = stage.truth();
        for (of_film, of_stage) in film.truth().tubes.iter().zip(&live) {
            let what = format!("{} tube {}", film.scene().name, of_film.tube);
            assert_same(of_film, of_stage, &what);
        }
    }
}
