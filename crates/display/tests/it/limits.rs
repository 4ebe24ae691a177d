//! How far reading goes: share of displays read by digit height, blur, noise and tilt.
//! The tables in docs/models/display.md come from here.

use crate::fonts::{Make, faces};
use crate::optics::rng;
use crate::scene::{Moment, Trouble, View, texts};
use meltrange_display::{Picture, read_frame};
use rayon::prelude::*;

/// Share read of 12 displays of each style of a make; wrong ones are named.
fn share(make: Make, seed: u64, change: impl Fn(&mut View) + Sync) -> (f64, Vec<String>) {
    let styles: Vec<usize> = (0..faces().len())
        .filter(|&i| faces()[i].make == make)
        .collect();
    let answers: Vec<Result<(), Option<String>>> = (0..12 * styles.len())
        .into_par_iter()
        .map(|i| {
            let mut rng = rng(seed, i as u64);
            let mut view = View::random(&mut rng, styles[i % styles.len()], Trouble::Clean);
            view.decimals = 1;
            change(&mut view);
            let (text, _) = texts(&mut rng, 1);
            let shot = view.shoot(&text, &text, Moment::Whole, &mut rng);
            let picture = Picture::new(&shot.luma, shot.width, shot.height).expect("a picture");
            match read_frame(&picture, &shot.region, &view.spec(true)) {
                Ok(reading) if reading.text == text => Ok(()),
                Ok(reading) => Err(Some(format!("{text} read as {}", reading.text))),
                Err(_) => Err(None),
            }
        })
        .collect();
    let read = answers.iter().filter(|answer| answer.is_ok()).count();
    let wrong = answers
        .iter()
        .filter_map(|answer| answer.clone().err().flatten());
    (100.0 * read as f64 / answers.len() as f64, wrong.collect())
}

#[test]
#[ignore = "a table for the documentation"]
fn how_far_it_goes() {
    let mut wrong = Vec::new();
    for (make, name) in [(Make::Segments, "segments"), (Make::Dots, "dots")] {
        let mut row = |what: &str, values: &[f64], change: &(dyn Fn(&mut View, f64) + Sync)| {
            print!("{name:9} {what:30}");
            for &value in values {
                let (share, more) = share(make, 55, |view| change(view, value));
                wrong.extend(more);
                print!("  {value}: {share:.0} %");
            }
            println!();
        };
        row(
            "digit height [px]",
            &[10.0, 12.0, 15.0, 18.0, 24.0, 36.0, 72.0],
            &|view, px| {
                view.set_digit_px(px);
            },
        );
        for px in [20.0, 40.0] {
            row(
                &format!("blur [digit heights], {px} px"),
                &[0.02, 0.04, 0.05, 0.06, 0.08, 0.1],
                &|view, blur| {
                    view.set_digit_px(px);
                    view.blur_px = blur * px;
                },
            );
            row(
                &format!("noise [levels], {px} px"),
                &[4.0, 6.0, 8.0, 12.0],
                &|view, noise| {
                    view.set_digit_px(px);
                    view.noise = noise;
                },
            );
        }
        row(
            "yaw and pitch [degrees]",
            &[10.0, 20.0, 25.0, 30.0, 40.0],
            &|view, angle| {
                view.yaw = angle;
                view.pitch = 0.5 * angle;
            },
        );
    }
    assert!(wrong.is_empty(), "{wrong:?}");
}

#[test]
#[ignore = "a time for the documentation"]
#[expect(
    clippy::disallowed_methods,
    reason = "the crate is pure, this takes its time"
)]
fn how_long_a_picture_takes() {
    for (stated, name) in [
        (true, "style and polarity stated"),
        (false, "nothing stated"),
    ] {
        let (mut seconds, mut size) = (Vec::new(), [0; 2]);
        for face in (0..faces().len()).filter(|&i| faces()[i].make != Make::Foreign) {
            let mut rng = rng(77, face as u64);
            let mut view = View::random(&mut rng, face, Trouble::Clean);
            view.decimals = 1;
            view.set_digit_px(130.0);
            let shot = view.shoot("123.4", "123.4", Moment::Whole, &mut rng);
            size = [shot.width, shot.height];
            let picture = Picture::new(&shot.luma, shot.width, shot.height).expect("a picture");
            // The least of many: whatever else the machine does only adds.
            let least = (0..40)
                .map(|_| {
                    let start = std::time::Instant::now();
                    let answer = read_frame(&picture, &shot.region, &view.spec(stated));
                    assert_eq!(answer.expect("large and clean").text, "123.4");
                    start.elapsed().as_secs_f64()
                })
                .fold(f64::MAX, f64::min);
            seconds.push(1000.0 * least);
        }
        seconds.sort_by(f64::total_cmp);
        println!(
            "{name}: {:.1} to {:.1} ms a picture of about {size:?}",
            seconds[0],
            seconds[seconds.len() - 1]
        );
    }
}
