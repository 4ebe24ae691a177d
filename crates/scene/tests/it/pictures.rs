//! Pictures: repeatable, of the announced size, and changing where they should.

use meltrange_scene::{Film, Picture, Scene};

/// A small scene of one tube that melts within about two minutes at one picture a second.
pub fn small(extra_tube: &str, extra: &str) -> Film {
    let text = format!(
        "{extra}\n[picture]\nwidth = 160\nheight = 160\nbore_px = 28.0\n\
         [programme]\nrate_c_per_min = 2.0\nstart_c = 111.5\nend_c = 117.5\nsoak_s = 10.0\n\
         [[tube]]\nmelts_at_c = 114.0\ncolumn_height_mm = 2.2\ngrain_mm = 0.15\n{extra_tube}\n"
    );
    let scene = Scene::from_toml(&text).expect("a sound scene");
    Film::new(scene).expect("a possible scene")
}

pub fn mean_difference(a: &Picture, b: &Picture) -> f64 {
    let sum: u64 = a
        .luma
        .iter()
        .zip(&b.luma)
        .map(|(a, b)| u64::from(a.abs_diff(*b)))
        .sum();
    sum as f64 / a.luma.len() as f64
}

#[test]
fn the_seed_fixes_the_pictures_in_whatever_order_they_are_drawn() {
    let (film, again) = (small("", "seed = 7"), small("", "seed = 7"));
    let late = again.picture(60);
    assert_eq!(film.picture(3), again.picture(3));
    assert_eq!(film.picture(60), late);
    let mut played = Vec::new();
    film.play(&mut |index, picture| {
        if index == 60 {
            played.push(picture);
        }
        Ok::<(), std::convert::Infallible>(())
    })
    .expect("the sink never refuses");
    assert_eq!(played, [late]);
    assert_ne!(small("", "seed = 8").picture(3), film.picture(3));
}

#[test]
fn pictures_have_the_announced_size_and_colours_convert() {
    let picture = small("", "").picture(0);
    assert_eq!(
        (picture.luma.len(), picture.rgb().len()),
        (160 * 160, 160 * 160 * 3)
    );
    let [blue, red] = picture.chroma.as_ref().expect("colour is the default");
    assert_eq!((blue.len(), red.len()), (80 * 80, 80 * 80));
    // BT.601: neutral chroma gives red = green = blue = luma.
    let grey = Picture {
        chroma: None,
        ..picture
    };
    assert!(
        grey.rgb()
            .chunks_exact(3)
            .zip(&grey.luma)
            .all(|(rgb, luma)| rgb == [*luma; 3])
    );
}

#[test]
fn a_refusing_sink_ends_the_drawing() {
    let mut drawn = 0;
    let end = small("", "").play(&mut |index, _| {
        drawn = index;
        if index == 5 { Err("full") } else { Ok(()) }
    });
    assert_eq!((end, drawn), (Err("full"), 5));
}

#[test]
fn camera_troubles_change_the_picture_by_what_they_say() {
    let steady = small("", "");
    // Noise of 1.5 grey levels twice over, rounded: a difference of about 1.7 between any two pictures.
    let rest = mean_difference(&steady.picture(2), &steady.picture(5));
    assert!(rest < 2.5, "{rest}");
    let cases = [
        (
            "black",
            "[camera]\nocclusions = [{ kind = \"black\", at_s = 4.0, duration_s = 3.0 }]",
        ),
        (
            "hand",
            "[camera]\nocclusions = [{ kind = \"hand\", at_s = 1.0, duration_s = 8.0 }]",
        ),
        (
            "step",
            "[camera]\nexposure_steps = [{ at_s = 4.0, gain = 1.6 }]",
        ),
        (
            "focus",
            "[camera]\nrefocus = [{ at_s = 3.0, duration_s = 4.0, blur_px = 4.0 }]",
        ),
        ("shake", "[camera]\nshake_px = 3.0"),
    ];
    for (name, extra) in cases {
        let film = small("", extra);
        let change = mean_difference(&film.picture(0), &film.picture(5));
        assert!(
            change > rest + 0.8,
            "{name}: {change} against {rest} at rest"
        );
    }
    let black = small("", cases[0].1).picture(5);
    assert!(black.luma.iter().all(|&luma| luma < 20));
}

#[test]
fn back_light_turns_the_contrast_round() {
    // Middle of the powder against the middle of the empty tube well above it.
    let contrast = |film: &Film| {
        let picture = film.picture(0);
        let mean = |y: usize| {
            let sum: u32 = (74..86).map(|x| u32::from(picture.luma[y * 160 + x])).sum();
            f64::from(sum) / 12.0
        };
        mean(95) - mean(25)
    };
    let front = small("specks = 0", "");
    let text = front
        .scene()
        .to_toml()
        .expect("TOML")
        .replace("light = \"front\"", "light = \"back\"");
    let back = Film::new(Scene::from_toml(&text).expect("a sound scene")).expect("possible");
    assert!(contrast(&front) > 30.0, "front {}", contrast(&front));
    assert!(contrast(&back) < -60.0, "back {}", contrast(&back));
}

#[test]
fn a_wide_blur_spreads_the_light_and_loses_none() {
    let total = |blur_px: f64| -> (f64, u8) {
        let camera =
            format!("[camera]\nnoise = 0.0\nshot_noise = 0.0\nblur_px = {blur_px:?}\n[timing]");
        let luma = small("", &camera).picture(0).luma;
        let sum: u64 = luma.iter().map(|&level| u64::from(level)).sum();
        (sum as f64, luma.into_iter().max().unwrap_or(0))
    };
    let (sharp, brightest) = total(0.0);
    // 1.3 px stays within the margin of a tube's map, 5 px is wider than the tube's whole map.
    for blur_px in [1.3, 2.0, 5.0] {
        let (blurred, still_bright) = total(blur_px);
        assert!(
            (blurred / sharp - 1.0).abs() < 0.01,
            "{blur_px} px: {blurred} of {sharp}"
        );
        assert!(
            still_bright < brightest,
            "{blur_px} px: {still_bright}, {brightest} sharp"
        );
    }
}
