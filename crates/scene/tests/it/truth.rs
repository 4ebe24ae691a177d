//! Truth: outcomes, order of the moments, and that what is not melting does not count as liquid.

use meltrange_scene::{Film, Scene, Truth};

use crate::pictures::small;

fn truth(extra_tube: &str) -> Truth {
    small(extra_tube, "").truth()
}

#[test]
fn a_good_tube_melts_and_its_moments_are_in_order() {
    let truth = truth("");
    let tube = &truth.tubes[0];
    assert_eq!(tube.outcome, "melted");
    let (first, last) = (
        tube.first_liquid.expect("liquid is seen"),
        tube.last_crystal.expect("all melts"),
    );
    assert!(first.time_s < last.time_s);
    assert!(
        first.temperature_c > 113.0 && last.temperature_c < 117.0,
        "{first:?} {last:?}"
    );
    let times: Vec<f64> = ["0.5%", "1%", "2%", "5%", "20%"]
        .iter()
        .map(|level| tube.first_liquid_levels[level].expect("reached").time_s)
        .collect();
    assert!(times.is_sorted(), "{times:?}");
}

#[test]
fn twice_as_fine_a_look_finds_the_same_moments() {
    // The grid of the survey starts at the video's start: shifting it by half a step is a second look.
    let text = small("", "").scene().to_toml().expect("TOML");
    let shifted = text.replace("video_start_s = 0.0", "video_start_s = 1.0");
    let of = |text: &str| {
        let scene = Scene::from_toml(text).expect("a sound scene");
        Film::new(scene).expect("possible").truth().tubes[0].clone()
    };
    let (one, other) = (of(&text), of(&shifted));
    let first = one.first_liquid.expect("melts").time_s - other.first_liquid.expect("melts").time_s;
    let last = one.last_crystal.expect("melts").time_s - other.last_crystal.expect("melts").time_s;
    assert!(first.abs() < 0.3 && last.abs() < 0.3, "{first} s, {last} s");
}

#[test]
fn dry_troubles_are_not_liquid() {
    // Cold enough that nothing melts: whatever happens is not liquid.
    for trouble in [
        "settling = [{ at_s = 20.0, drop_fraction = 0.2 }, { at_s = 60.0 }]",
        "shrinkage = { at_s = 20.0, strength = 0.3, cracks = 2 }",
        "shrinkage = { at_s = 20.0, strength = 0.3, side = \"left\" }",
        "wetting = { at_s = 20.0, strength = 1.0 }",
        "glistening = { at_s = 20.0, strength = 1.0 }",
        "sublimate = { at_s = 20.0, strength = 1.0 }",
        "condensation = { at_s = 20.0, strength = 1.0 }",
        "wet_translucency = 0.5",
    ] {
        let text = trouble.to_owned() + "\nplace_offset_c = -10.0";
        let tube = truth(&text).tubes[0].clone();
        assert_eq!(tube.outcome, "unmelted", "{trouble}");
        assert!(
            tube.first_liquid.is_none(),
            "{trouble}: {:?}",
            tube.first_liquid
        );
        assert!(tube.first_liquid_levels["0.5%"].is_none(), "{trouble}");
    }
}

#[test]
fn outcomes_follow_from_the_content() {
    assert_eq!(truth("content = \"empty\"").tubes[0].outcome, "empty");
    assert_eq!(truth("content = \"absent\"").tubes[0].outcome, "no_tube");
    let partly = truth("place_offset_c = -2.4").tubes[0].clone();
    assert_eq!(partly.outcome, "partly_melted");
    assert!(partly.first_liquid.is_some() && partly.last_crystal.is_none());
    let charred =
        truth("place_offset_c = -10.0\ncharring = { at_c = 102.0, time_constant_s = 20.0 }");
    assert_eq!(charred.tubes[0].outcome, "decomposed");
}

#[test]
fn impurity_lowers_and_broadens() {
    let pure = truth("impurity_mole_fraction = 0.0002").tubes[0].clone();
    let impure = truth("impurity_mole_fraction = 0.003").tubes[0].clone();
    let range = |tube: &meltrange_scene::TubeTruth| tube.range_c.expect("both melt");
    assert!(
        range(&impure) > range(&pure) + 0.1,
        "{} {}",
        range(&impure),
        range(&pure)
    );
    let last = |tube: &meltrange_scene::TubeTruth| tube.last_crystal.expect("melts").temperature_c;
    assert!(last(&impure) < last(&pure) - 0.1);
}

#[test]
fn truth_has_the_fields_a_grader_needs() {
    let value = serde_json::to_value(truth("settling = [{ at_s = 20.0 }]")).expect("JSON");
    for field in [
        "name",
        "media",
        "video_start_s",
        "duration_s",
        "n_frames",
        "tubes",
        "events",
        "scenario",
    ] {
        assert!(!value[field].is_null(), "{field}");
    }
    assert_eq!(value["events"][0]["kind"], "settling");
    for field in [
        "tube",
        "x_px",
        "y_px",
        "column_height_px",
        "bore_px",
        "outcome",
        "first_liquid",
    ] {
        assert!(!value["tubes"][0][field].is_null(), "tube {field}");
    }
    for field in [
        "time_s",
        "video_time_s",
        "temperature_c",
        "rate_c_per_min",
        "char",
    ] {
        assert!(
            value["tubes"][0]["first_liquid"][field].is_number(),
            "first_liquid {field}"
        );
    }
    assert!(value["scenario"]["tags"].is_array());
}

#[test]
fn the_log_follows_the_block_within_its_noise_and_keeps_its_gaps() {
    let film = small("", "");
    let mut scene = film.scene().clone();
    scene.log.gaps = vec![meltrange_scene::Span {
        from_s: 30.0,
        to_s: 40.0,
    }];
    scene.log.quantum_c = 0.1;
    let film = Film::new(scene).expect("possible");
    let log = film.log();
    assert!(log.windows(2).all(|pair| pair[0].time_s < pair[1].time_s));
    assert!(log.iter().all(|line| !(30.0..40.0).contains(&line.time_s)));
    for line in &log {
        let off = line.temperature_c - film.block_temperature(line.time_s).0;
        // Half a quantum, six standard deviations of noise, and the jitter of the clock.
        assert!(
            off.abs() < 0.05 + 0.12 + 0.01,
            "{off} °C at {} s",
            line.time_s
        );
    }
}
