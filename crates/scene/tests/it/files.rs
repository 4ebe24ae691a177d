//! Scene files: defaults, errors with their lines, and back to TOML.

use meltrange_scene::{Container, Film, Scene, SceneError, suite};
use proptest::prelude::*;

fn refusal(text: &str) -> String {
    Scene::from_toml(text)
        .expect_err("this scene must be refused")
        .to_string()
}

#[test]
fn three_lines_make_a_scene() {
    let scene =
        Scene::from_toml("[[tube]]\nmelts_at_c = 114.3\n[[tube]]\n").expect("a sound scene");
    assert_eq!(scene.tubes.len(), 2);
    let film = Film::new(scene).expect("a possible scene");
    assert!(
        film.times_s().len() > 100,
        "{} pictures",
        film.times_s().len()
    );
}

#[test]
fn unknown_keys_and_wrong_kinds_name_their_line() {
    let text =
        "name = \"a\"\n[[tube]]\nmelts_at_c = 114.3\nwetting = { at_c = 100.0, strenght = 0.5 }\n";
    let message = refusal(text);
    assert!(
        message.starts_with("line 4: unknown field `strenght`"),
        "{message}"
    );
    let message = refusal("[picture]\nwidth = \"wide\"\n");
    assert!(
        message.starts_with("line 2: invalid type: string \"wide\""),
        "{message}"
    );
    let message = refusal("[[tube]\n");
    assert!(message.starts_with("line 1: "), "{message}");
}

#[test]
fn values_out_of_range_name_line_found_and_expected() {
    let text = "[[tube]]\n[[tube]]\nmelts_at_c = 114.3\nalbedo = 1.5\n";
    assert_eq!(
        refusal(text),
        "line 4: tube 2 albedo is 1.5; expected 0.05 to 1"
    );
    let text = "[timing]\nframes_per_s = 60.0\n";
    assert_eq!(
        refusal(text),
        "line 2: timing.frames_per_s is 60; expected 0.2 to 30"
    );
    let text = "[[tube]]\nmelts_at_c = nan\n";
    assert_eq!(
        refusal(text),
        "line 2: tube 1 melts_at_c is NaN; expected -20 to 450"
    );
    let text = "[output]\ncontainer = \"avi\"\n[timing]\njitter = 0.1\n";
    assert!(refusal(text).starts_with("line 2: output.container is \"avi\"; expected another"));
    let text = "[[tube]]\n[[tube]]\n[[tube]]\n[[tube]]\n";
    assert_eq!(
        refusal(text),
        "line 1: tube is 4; expected 1 to 3 [[tube]] tables"
    );
}

#[test]
fn a_eutectic_above_the_clear_point_is_refused_at_its_line() {
    let text = "[[tube]]\nmelts_at_c = 120.0\nimpurity_mole_fraction = 0.05\neutectic_c = 119.0\n";
    let message = refusal(text);
    assert!(
        message.starts_with("line 4: tube 1 eutectic_c is 119; expected"),
        "{message}"
    );
}

#[test]
fn a_name_that_leaves_its_folder_is_refused() {
    assert!(matches!(
        Scene::from_toml("name = \"../x\"\n"),
        Err(SceneError::Value { line: Some(1), .. })
    ));
}

#[test]
fn the_suite_is_varied_sound_and_reads_back() {
    let scenes = suite(1);
    assert!(scenes.len() >= 64, "{} scenes", scenes.len());
    let mut names: Vec<&str> = scenes.iter().map(|scene| scene.name.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), scenes.len(), "names are unique");
    for container in [
        Container::Avi,
        Container::Webm,
        Container::Frames,
        Container::Mkv,
        Container::Mp4Hevc,
    ] {
        assert!(
            scenes
                .iter()
                .any(|scene| scene.output.container == container),
            "{container:?}"
        );
    }
    for scene in &scenes {
        let text = scene.to_toml().expect("every scene has a TOML form");
        let back =
            Scene::from_toml(&text).unwrap_or_else(|error| panic!("{}: {error}", scene.name));
        assert_eq!(&back, scene);
    }
}

proptest! {
    #[test]
    fn any_text_is_read_or_refused(text in "[a-z_\\[\\]=.\"0-9\n -]{0,200}") {
        // Refusing must name a line within the text.
        if let Err(SceneError::Syntax { line, .. }) = Scene::from_toml(&text) {
            prop_assert!(line >= 1 && line <= text.lines().count() + 1);
        }
    }
}
