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

#[test]
fn what_cannot_be_is_refused() {
    let cases = [
        (
            "[programme]\nstart_c = 120.0\nend_c = 110.0\n",
            "line 3: programme.end_c is 110; expected above the start at 120.0",
        ),
        (
            "[programme]\nstart_c = 300.0\n",
            "line 2: programme.start_c is 300; expected below the end at",
        ),
        (
            "[programme]\nstart_c = 20.0\nrate_c_per_min = 0.02\n[timing]\nframes_per_s = 30.0\n",
            "line 5: timing.frames_per_s is 30, which makes 8",
        ),
        (
            "[log]\nvideo_start_s = 30000.0\n",
            "timing.frames_per_s is 1, which makes -",
        ),
        (
            "[log]\ngaps = [{ from_s = 40.0, to_s = 30.0 }]\n",
            "line 2: log.gaps.to_s is 30; expected 40 to",
        ),
        (
            "[[tube]]\nshift_px = [0.0, nan]\n",
            "line 2: tube 1 shift_px is NaN; expected -500 to 500",
        ),
        (
            "[[tube]]\ntint = [1.0, 9.0, 0.0]\n",
            "line 2: tube 1 tint is 9; expected 0 to 3",
        ),
        (
            "[[tube]]\nwetting = { at_s = 10.0, at_c = 100.0 }\n",
            "line 2: tube 1 wetting.at_c is 100; expected either at_s or at_c, not both",
        ),
        (
            "[[tube]]\nsettling = [{ at_s = nan }]\n",
            "line 2: tube 1 settling at_s is NaN; expected 0 to",
        ),
        (
            "name = \"..\"\n",
            "line 1: name is \"..\"; expected a name that can name a folder",
        ),
        (
            "[picture]\nlight = \"side\"\n",
            "line 2: unknown variant `side`, expected `front` or `back`",
        ),
        ("seed = -1\n", "line 1: invalid value: integer `-1`"),
        ("seed = 1\nseed = 2\n", "line 2: duplicate key"),
    ];
    for (text, expected) in cases {
        let message = refusal(text);
        assert!(message.starts_with(expected), "{text}gave: {message}");
    }
}

#[test]
fn the_scene_files_in_the_repository_are_sound() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut read = 0;
    for folder in ["tests/scenes", "benches/scenes"] {
        for entry in std::fs::read_dir(root.join(folder)).expect("the folder is there") {
            let path = entry.expect("readable").path();
            if path
                .extension()
                .is_some_and(|extension| extension == "toml")
            {
                let text = std::fs::read_to_string(&path).expect("readable");
                let scene = Scene::from_toml(&text)
                    .unwrap_or_else(|error| panic!("{}: {error}", path.display()));
                Film::new(scene).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
                read += 1;
            }
        }
    }
    assert!(read >= 2, "{read} scene files");
}

proptest! {
    #[test]
    fn any_text_is_read_or_refused(text in "[a-z_\\[\\]=.\"0-9\n -]{0,200}") {
        // Refusing must name a line within the text.
        if let Err(SceneError::Syntax { line, .. }) = Scene::from_toml(&text) {
            prop_assert!(line >= 1 && line <= text.lines().count() + 1);
        }
    }

    /// A sound file in which one stretch was overwritten: what still passes is drawable and reads back.
    #[test]
    fn a_damaged_file_is_read_or_refused(
        begin in 0usize..DEMO.len(),
        length in 0usize..12,
        patch in "(-?[0-9]{1,9}(\\.[0-9]{1,3})?|nan|inf|true|\"[a-z]*\"|[=\\[\\]{},.\n #]{0,4}|\\PC{0,6})",
    ) {
        let mut text = DEMO.to_owned();
        let floor = |mut at: usize| {
            while !DEMO.is_char_boundary(at) {
                at -= 1;
            }
            at
        };
        let end = (begin + length).min(DEMO.len());
        text.replace_range(floor(begin)..floor(end).max(floor(begin)), &patch);
        match Scene::from_toml(&text) {
            Ok(scene) => {
                let back = scene.to_toml().expect("what was read has a TOML form");
                prop_assert_eq!(Scene::from_toml(&back).expect("and reads back"), scene);
            }
            Err(error) => prop_assert!(error.to_string().contains(' ')),
        }
    }
}

const DEMO: &str = include_str!("../../../../tests/scenes/demo_unknown_1.toml");
