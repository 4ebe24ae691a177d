//! Pictures made to mislead: broken segments, light on a segment, fonts that are neither segments nor
//! dots, and things that are no display at all.

use crate::fonts::{Make, faces};
use crate::optics::rng;
use crate::scene::{Moment, Shot, Trouble, View};
use meltrange_display::{
    DisplayRegion, DisplaySpec, FrameReading, Picture, Unreadable, read_frame,
};
use rand::RngExt as _;

fn read(shot: &Shot, spec: &DisplaySpec) -> Result<FrameReading, Unreadable> {
    let picture = Picture::new(&shot.luma, shot.width, shot.height).expect("a rendered picture");
    read_frame(&picture, &shot.region, spec)
}

fn styles(make: Make) -> impl Iterator<Item = usize> {
    (0..faces().len()).filter(move |&i| faces()[i].make == make)
}

/// Ones and sevens, in all places, with and without the sevens' tail: never one for the other.
#[test]
fn ones_and_sevens_are_told_apart() {
    let mut read_right = 0;
    let mut shown = 0;
    for face in styles(Make::Segments).chain(styles(Make::Dots)) {
        for (i, text) in [
            "111.1", "177.7", "117.1", "171.7", "77.1", "11.7", "71.1", "1.7",
        ]
        .into_iter()
        .enumerate()
        {
            let mut rng = rng(31, (face * 10 + i) as u64);
            let mut view = View::random(&mut rng, face, Trouble::Clean);
            view.decimals = 1;
            let shot = view.shoot(text, text, Moment::Whole, &mut rng);
            shown += 1;
            if let Ok(reading) = read(&shot, &view.spec(i % 2 == 0)) {
                assert_eq!(reading.text, text, "{}", faces()[face].name);
                read_right += 1;
            }
        }
    }
    assert!(read_right * 10 > shown * 8, "{read_right} of {shown}");
}

/// A segment of a seven-segment display that is half as bright as the others, or less, yet to be seen.
#[test]
fn a_dim_segment_is_refused_not_guessed() {
    let mut refused = 0;
    for face in styles(Make::Segments) {
        for level in [0.35, 0.4, 0.45, 0.5, 0.55] {
            let mut rng = rng(32, face as u64);
            let mut view = View::random(&mut rng, face, Trouble::Clean);
            view.decimals = 1;
            // The middle of an eight, dim: between an eight and a nought.
            let moment = Moment::Patch {
                place: 1,
                from: 0.38,
                to: 0.62,
                level,
            };
            let shot = view.shoot("188.8", "188.8", moment, &mut rng);
            let answer = read(&shot, &view.spec(true));
            refused += usize::from(answer.is_err());
            if let Ok(reading) = answer {
                assert_eq!(reading.text, "188.8", "{} at {level}", faces()[face].name);
            }
        }
    }
    assert!(refused >= 20, "{refused} of 35 refused");
}

/// A spot of light on one segment, dark or lit, of all sizes and strengths.
#[test]
fn a_spot_of_light_on_a_segment_does_not_make_another_digit() {
    let mut answers = 0;
    for face in styles(Make::Segments) {
        for number in 0..60 {
            let mut rng = rng(33, (face * 1000 + number) as u64);
            let mut view = View::random(&mut rng, face, Trouble::Clean);
            view.decimals = 1;
            let x = -1.0 + 2.0 * rng.random::<f64>();
            let y = [-0.45, -0.25, 0.0, 0.25, 0.45][number % 5];
            let radius = 0.06 + 0.3 * rng.random::<f64>();
            let strength = 1.5 * rng.random::<f64>().powi(2);
            view.add_spot(x, y, radius, strength);
            let text = ["100.0", "188.8", "143.7", "120.6", "95.3", "166.4"][number % 6];
            let shot = view.shoot(text, text, Moment::Whole, &mut rng);
            if let Ok(reading) = read(&shot, &view.spec(number % 2 == 0)) {
                answers += 1;
                assert_eq!(
                    reading.text,
                    text,
                    "{} number {number}: spot at {x:.2}, {y:.2}, radius {radius:.2}, strength {strength:.2}",
                    faces()[face].name
                );
            }
        }
    }
    assert!(answers > 50, "{answers} of 420 read");
}

/// Pixel fonts that are drawn by neither rule may be refused, but not misread.
#[test]
fn other_fonts_are_refused_or_read_right() {
    for face in styles(Make::Foreign) {
        let (mut right, mut refused) = (0, 0);
        for number in 0..150 {
            let mut rng = rng(34, (face * 1000 + number) as u64);
            let mut view = View::random(&mut rng, face, Trouble::Clean);
            view.decimals = 1;
            let text = format!("{:.1}", 20.0 + 350.0 * rng.random::<f64>());
            let shot = view.shoot(&text, &text, Moment::Whole, &mut rng);
            match read(&shot, &view.spec(number % 2 == 0)) {
                Ok(reading) => {
                    assert_eq!(reading.text, text, "{} number {number}", faces()[face].name);
                    right += 1;
                }
                Err(_) => refused += 1,
            }
        }
        println!("{}: {right} read, {refused} refused", faces()[face].name);
    }
}

/// Negative values, and the range of the apparatus.
#[test]
fn signs_and_the_range_count() {
    for face in styles(Make::Segments).chain(styles(Make::Dots)) {
        let mut rng = rng(35, face as u64);
        let mut view = View::random(&mut rng, face, Trouble::Clean);
        view.decimals = 1;
        let shot = view.shoot("-12.5", "-12.5", Moment::Whole, &mut rng);
        let wide = DisplaySpec {
            lowest_c: -50.0,
            ..view.spec(true)
        };
        match read(&shot, &wide) {
            Ok(reading) => {
                assert_eq!(reading.text, "-12.5");
                assert_eq!(reading.last_digit_units, -125);
                assert!(matches!(
                    read(&shot, &view.spec(true)),
                    Err(Unreadable::OutOfRange { .. })
                ));
            }
            Err(why) => println!("{}: {why}", faces()[face].name),
        }
    }
}

/// The point is needed, and where the display has it.
#[test]
fn a_point_in_another_place_is_refused() {
    for face in styles(Make::Segments).chain(styles(Make::Dots)) {
        for (text, decimals) in [("123.4", 0), ("123.4", 2), ("1234", 1), ("12.34", 1)] {
            let mut rng = rng(36, face as u64);
            let view = View::random(&mut rng, face, Trouble::Clean);
            let shot = view.shoot(text, text, Moment::Whole, &mut rng);
            let spec = DisplaySpec {
                decimals,
                highest_c: 5000.0,
                digits_before: 4,
                ..view.spec(true)
            };
            let answer = read(&shot, &spec);
            assert!(
                answer.is_err(),
                "{} {text} with {decimals}: {answer:?}",
                faces()[face].name
            );
        }
    }
}

/// Noise, stripes, checks and letters: no number.
#[test]
fn what_is_no_display_gives_no_number() {
    let (width, height) = (200, 90);
    for number in 0..200_u64 {
        let mut rng = rng(37, number);
        let period = 2 + (number % 23) as usize;
        let luma: Vec<u8> = (0..width * height)
            .map(|i| {
                let (x, y) = (i % width, i / width);
                let base = match number % 4 {
                    0 => 0,
                    1 => 160 * usize::from((x / period).is_multiple_of(2)),
                    2 => 160 * usize::from((y / period).is_multiple_of(2)),
                    _ => 160 * usize::from((x / period + y / period).is_multiple_of(2)),
                };
                (base as f64 + 60.0 * rng.random::<f64>()) as u8
            })
            .collect();
        let picture = Picture::new(&luma, width, height).expect("200 x 90");
        let answer = read_frame(
            &picture,
            &DisplayRegion::WholePicture,
            &DisplaySpec::default(),
        );
        assert!(answer.is_err(), "{number}: {answer:?}");
    }
}
