//! Every value at the ends of its range: refused with its name, or drawn.

use meltrange_scene::{Film, Scene};

const PICTURE: &[(&str, [f64; 2])] = &[
    ("bore_px", [12.0, 60.0]),
    ("spacing", [1.4, 6.0]),
    ("bottom_fraction", [0.3, 0.97]),
    ("centre_fraction", [0.1, 0.9]),
    ("contrast", [0.1, 1.2]),
    ("lamp", [0.05, 3.0]),
];
const PROGRAMME: &[(&str, [f64; 2])] = &[
    ("rate_c_per_min", [0.02, 50.0]),
    ("soak_s", [0.0, 36_000.0]),
    ("approach_c", [0.0, 300.0]),
    ("lag_s", [0.0, 600.0]),
    ("ripple_c", [0.0, 5.0]),
    ("tail_s", [0.0, 3600.0]),
];
const CAMERA: &[(&str, [f64; 2])] = &[
    ("blur_px", [0.0, 10.0]),
    ("noise", [0.0, 40.0]),
    ("shake_px", [0.0, 40.0]),
    ("drift_px", [0.0, 200.0]),
    ("rotation_deg", [0.0, 20.0]),
    ("zoom", [0.0, 0.3]),
    ("auto_exposure", [0.0, 1.0]),
    ("white_balance", [0.0, 0.3]),
];
const TUBE: &[(&str, [f64; 2])] = &[
    ("melts_at_c", [-20.0, 450.0]),
    ("impurity_mole_fraction", [0.0, 0.3]),
    ("fusion_j_per_mol", [1_000.0, 200_000.0]),
    ("mass_mg", [0.05, 50.0]),
    ("thermal_resistance_k_per_w", [10.0, 5_000.0]),
    ("time_constant_s", [0.5, 300.0]),
    ("column_height_mm", [0.5, 8.0]),
    ("grain_mm", [0.05, 0.5]),
    ("grain_spread", [0.0, 0.8]),
    ("elongation", [1.0, 4.0]),
    ("packing_fraction", [0.3, 0.9]),
    ("top_roughness", [0.0, 0.4]),
    ("held_fraction", [0.0, 0.5]),
    ("grain_span", [0.03, 0.8]),
    ("straggling", [0.25, 1.0]),
    ("collapse_from", [0.0, 0.65]),
    ("collapse_to", [0.23, 1.0]),
    ("tilt_deg", [-25.0, 25.0]),
];

/// First, middle and last picture of the scene, every one the same when drawn again.
fn draw(text: &str) {
    let scene = Scene::from_toml(text).unwrap_or_else(|error| panic!("{text}{error}"));
    let [film, again] =
        [scene.clone(), scene].map(|scene| Film::new(scene).expect("a checked scene is possible"));
    let count = film.times_s().len();
    for index in [0, count / 2, count - 1] {
        assert!(
            film.picture(index) == again.picture(index),
            "{text}picture {index}"
        );
    }
}

fn draw_ends(table: &str, values: &[(&str, [f64; 2])]) {
    for (key, ends) in values {
        for end in ends {
            for light in ["front", "back"] {
                let own = |name: &str| {
                    if name == table {
                        format!("{key} = {end:?}\n")
                    } else {
                        String::new()
                    }
                };
                draw(&format!(
                    "[picture]\nwidth = 112\nheight = 104\nlight = \"{light}\"\n{}\
                     [programme]\n{}[camera]\n{}[[tube]]\n{}\
                     sublimate = {{}}\nshrinkage = {{}}\nsettling = [{{ drop_fraction = 0.3 }}]\n",
                    own("picture"),
                    own("programme"),
                    own("camera"),
                    own("tube"),
                ));
            }
        }
    }
}

#[test]
fn the_picture_and_the_programme_may_be_extreme() {
    draw_ends("picture", PICTURE);
    draw_ends("programme", PROGRAMME);
}

#[test]
fn the_camera_may_be_extreme() {
    draw_ends("camera", CAMERA);
}

#[test]
fn the_tube_may_be_extreme() {
    draw_ends("tube", TUBE);
}

#[test]
fn one_step_beyond_is_refused_by_name() {
    for (table, values) in [
        ("picture", PICTURE),
        ("programme", PROGRAMME),
        ("camera", CAMERA),
        ("tube", TUBE),
    ] {
        for (key, [low, _]) in values {
            // All ranges begin at or above -25, so this is below every one of them.
            let below = low - 100.0;
            let head = if table == "tube" {
                "[[tube]]".to_owned()
            } else {
                format!("[{table}]")
            };
            let error = Scene::from_toml(&format!("{head}\n{key} = {below:?}\n"))
                .expect_err("out of range")
                .to_string();
            assert!(
                error.starts_with("line 2: ")
                    && error.contains(&format!("{key} is {below}; expected")),
                "{error}"
            );
        }
    }
}
