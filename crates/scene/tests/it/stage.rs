//! A scene that is heated live: the same as the film of the same block, and sane on any other.

use meltrange_physics::Celsius;
use meltrange_scene::{Film, Scene, Stage, TrueMoment, TubeTruth};
use proptest::prelude::*;

use crate::pictures::{mean_difference, small};

/// The stage of a film's scene, and what is done with it at each step of the film's own block temperature.
pub fn follow(film: &Film, step_s: f64, mut each: impl FnMut(&mut Stage, f64)) -> Stage {
    let mut stage = Stage::new(film.scene().clone(), film.block_temperature(0.0))
        .expect("as possible as the film");
    each(&mut stage, 0.0);
    let end_s = film.scene().log.video_start_s + film.times_s().last().expect("a picture");
    let steps = (end_s / step_s).round() as usize;
    for step in 1..=steps {
        let time_s = step as f64 * step_s;
        stage.advance(time_s, film.block_temperature(time_s));
        each(&mut stage, time_s);
    }
    stage
}

pub fn assert_same(film: &TubeTruth, stage: &TubeTruth, what: &str) {
    assert_eq!(film.outcome, stage.outcome, "{what}");
    let pairs = [
        (film.first_liquid, stage.first_liquid),
        (film.last_crystal, stage.last_crystal),
    ];
    for (of_film, of_stage) in pairs {
        let apart = |get: fn(&TrueMoment) -> f64| match (&of_film, &of_stage) {
            (Some(a), Some(b)) => (get(a) - get(b)).abs(),
            (None, None) => 0.0,
            _ => f64::INFINITY,
        };
        assert!(
            apart(|moment| moment.time_s) < 0.5
                && apart(|moment| moment.temperature_c) < 0.02
                && apart(|moment| moment.rate_c_per_min) < 0.1,
            "{what}: {of_film:?} but {of_stage:?}"
        );
    }
}

#[test]
fn fed_with_the_block_of_a_film_it_shows_the_same() {
    for (tube, extra) in [
        ("", ""),
        ("impurity_mole_fraction = 0.003", "[camera]\nshake_px = 1.0"),
        (
            "settling = [{ at_c = 112.5, drop_fraction = 0.2 }, { at_s = 60.0 }]\nwetting = {}",
            "",
        ),
        (
            "shrinkage = { strength = 0.2, cracks = 2 }\nglistening = { at_c = 113.0 }",
            "",
        ),
        (
            "sublimate = { at_c = 112.0, strength = 1.0 }\ncondensation = { strength = 1.0 }",
            "",
        ),
        ("charring = { at_c = 113.0, time_constant_s = 60.0 }", ""),
        ("content = \"empty\"", ""),
    ] {
        let film = small(tube, extra);
        let mut worst = 0.0f64;
        let stage = follow(&film, 0.1, |stage, time_s| {
            // The film has a picture every second; the numbers of the pictures fix the noise.
            let index = time_s.round() as usize;
            if (time_s - time_s.round()).abs() < 1e-6 && index < film.times_s().len() {
                let apart = mean_difference(&stage.picture(), &film.picture(index));
                worst = worst.max(apart);
            }
        });
        assert!(worst < 0.02, "{tube}: pictures {worst} levels apart");
        assert_same(&film.truth().tubes[0], &stage.truth()[0], tube);
    }
}

#[test]
fn bubbles_and_automatic_exposure_come_close() {
    let film = small(
        "bubbles = { at_c = 113.5, strength = 1.0 }",
        "[camera]\nauto_exposure = 0.8\nauto_exposure_s = 4.0",
    );
    let mut worst = 0.0f64;
    let stage = follow(&film, 0.25, |stage, time_s| {
        let index = time_s.round() as usize;
        if time_s.fract() == 0.0 && index < film.times_s().len() {
            worst = worst.max(mean_difference(&stage.picture(), &film.picture(index)));
        }
    });
    assert!(worst < 6.0, "pictures {worst} levels apart");
    assert_same(&film.truth().tubes[0], &stage.truth()[0], "bubbles");
}

#[test]
fn the_width_of_the_steps_hardly_matters() {
    let film = small("", "");
    let fine = follow(&film, 0.05, |_, _| ()).truth();
    for step_s in [0.25, 0.7, 3.0] {
        let coarse = follow(&film, step_s, |_, _| ()).truth();
        assert_same(&fine[0], &coarse[0], &format!("{step_s} s"));
    }
}

/// A small stage at a temperature.
fn stage(start_c: f64, tube: &str) -> Stage {
    Stage::new(small(tube, "").scene().clone(), Celsius(start_c)).expect("possible")
}

/// Go to a temperature at a steady rate in steps of half a second.
fn go(stage: &mut Stage, to_c: f64, rate_c_per_min: f64) {
    let (from_s, from_c) = (stage.time_s(), stage.block().0);
    let duration_s = 60.0 * (to_c - from_c).abs() / rate_c_per_min;
    let steps = (duration_s / 0.5).ceil() as usize;
    for step in 1..=steps {
        let part = step as f64 / steps as f64;
        stage.advance(
            from_s + duration_s * part,
            Celsius(from_c + (to_c - from_c) * part),
        );
    }
}

fn hold(stage: &mut Stage, duration_s: f64) {
    let (from_s, block) = (stage.time_s(), stage.block());
    for step in 1..=duration_s as usize {
        stage.advance(from_s + step as f64, block);
    }
}

#[test]
fn cooling_unmelts_nothing() {
    let mut stage = stage(111.0, "");
    go(&mut stage, 118.0, 2.0);
    hold(&mut stage, 60.0);
    let melted = stage.picture();
    let truth = stage.truth()[0].clone();
    assert_eq!(truth.outcome, "melted");
    go(&mut stage, 60.0, 20.0);
    hold(&mut stage, 30.0);
    let cold = stage.picture();
    assert!(mean_difference(&melted, &cold) < 2.5, "no more than noise");
    assert_eq!(stage.tube(0).expect("powder").melted_fraction, 1.0);
    let later = stage.truth()[0].clone();
    let moments = |truth: &TubeTruth| (truth.first_liquid, truth.last_crystal);
    assert_eq!(moments(&truth), moments(&later), "what is past stays");
    go(&mut stage, 118.0, 20.0);
    assert_same(&truth, &stage.truth()[0], "after melting again");
}

#[test]
fn a_melting_that_is_stopped_half_way_goes_on_from_there() {
    let mut stage = stage(111.0, "impurity_mole_fraction = 0.004");
    while stage.tube(0).expect("powder").melted_fraction < 0.4 {
        let next_s = stage.time_s() + 0.5;
        stage.advance(next_s, Celsius(111.0 + next_s / 60.0));
        assert!(next_s < 600.0, "it melts");
    }
    let half = stage.tube(0).expect("powder").melted_fraction;
    go(&mut stage, 105.0, 10.0);
    hold(&mut stage, 60.0);
    let kept = stage.tube(0).expect("powder").melted_fraction;
    assert!(
        (kept - half).abs() < 0.05,
        "{half} when stopped, {kept} later"
    );
    assert_eq!(stage.truth()[0].outcome, "partly_melted");
    go(&mut stage, 118.0, 2.0);
    let truth = &stage.truth()[0];
    assert_eq!(truth.outcome, "melted");
    let (first, last) = (
        truth.first_liquid.expect("seen"),
        truth.last_crystal.expect("gone"),
    );
    assert!(last.time_s - first.time_s > 120.0, "{first:?} {last:?}");
}

#[test]
fn heating_by_hand_up_and_down_below_melting_melts_nothing() {
    let mut stage = stage(25.0, "settling = [{ at_c = 90.0, drop_fraction = 0.25 }]");
    go(&mut stage, 80.0, 30.0);
    let before = stage.picture();
    go(&mut stage, 60.0, 10.0);
    hold(&mut stage, 120.0);
    let waited = stage.picture();
    assert!(mean_difference(&before, &waited) < 2.5, "nothing moved");
    go(&mut stage, 95.0, 30.0);
    go(&mut stage, 60.0, 10.0);
    let settled = stage.picture();
    assert!(
        mean_difference(&waited, &settled) > 1.5 * mean_difference(&before, &waited),
        "the powder dropped and stays there"
    );
    let truth = &stage.truth()[0];
    assert_eq!(truth.outcome, "unmelted");
    assert!(truth.first_liquid.is_none() && truth.last_crystal.is_none());
}

#[test]
fn odd_calls_are_refused_or_change_nothing() {
    let scene = small("", "").scene().clone();
    for start_c in [f64::NAN, f64::INFINITY, -300.0] {
        let error = Stage::new(scene.clone(), Celsius(start_c)).expect_err("refused");
        assert!(error.to_string().contains("start temperature"), "{error}");
    }
    let mut stage = stage(100.0, "");
    assert_eq!(stage.truth()[0].outcome, "unmelted");
    stage.advance(10.0, Celsius(101.0));
    for (time_s, block_c) in [
        (10.0, 500.0),
        (3.0, 500.0),
        (f64::NAN, 500.0),
        (20.0, f64::NAN),
    ] {
        stage.advance(time_s, Celsius(block_c));
        assert_eq!((stage.time_s(), stage.block()), (10.0, Celsius(101.0)));
    }
    assert!((stage.block_temperature(5.0).0 - 100.5).abs() < 1e-12);
    assert!(stage.tube(0).is_some() && stage.tube(1).is_none());
}

#[test]
fn a_stage_can_go_to_another_thread() {
    fn sent<T: Send>(value: T) -> T {
        value
    }
    let mut stage = sent(stage(100.0, ""));
    let picture = std::thread::spawn(move || stage.picture())
        .join()
        .expect("drawn");
    assert_eq!((picture.width, picture.height), (160, 160));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn any_course_is_drawn_and_nothing_melts_backwards(
        start_c in 20.0..130.0f64,
        course in proptest::collection::vec((0.05..40.0f64, -20.0..200.0f64), 1..30),
    ) {
        let scene = Scene::from_toml(
            "[picture]\nwidth = 80\nheight = 80\nbore_px = 14.0\n[[tube]]\nmelts_at_c = 114.0\n\
             settling = [{ at_c = 100.0 }]\nbubbles = {}\nsublimate = {}\ncharring = { at_c = 150.0 }\n\
             [[tube]]\ncontent = \"absent\"\n",
        )
        .expect("sound");
        let mut stage = Stage::new(scene, Celsius(start_c)).expect("possible");
        let mut melted = 0.0;
        let mut hottest_c = start_c;
        for (duration_s, block_c) in course {
            stage.advance(stage.time_s() + duration_s, Celsius(block_c));
            hottest_c = hottest_c.max(block_c);
            let now = stage.tube(0).expect("powder").melted_fraction;
            prop_assert!((melted..=1.0).contains(&now), "{now} after {melted}");
            melted = now;
            prop_assert_eq!(stage.picture().luma.len(), 80 * 80);
        }
        // Far below the melting range there is none.
        prop_assert!(hottest_c > 105.0 || melted == 0.0);
        let truth = &stage.truth()[0];
        for moment in [truth.first_liquid, truth.last_crystal].into_iter().flatten() {
            // Times are given to four decimals, during which the block may move.
            let there = stage.block_temperature(moment.time_s).0;
            prop_assert!((moment.temperature_c - there).abs() < 0.5);
            prop_assert!(moment.time_s <= stage.time_s());
        }
    }
}
