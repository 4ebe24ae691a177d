//! Five thousand rendered displays of ten digit styles under ten troubles: no wrong digit accepted.

use crate::fonts::{Make, faces};
use crate::optics::rng;
use crate::scene::{Moment, TROUBLES, Trouble, View, moment, texts};
use meltrange_display::{Acceptance, DisplayReader, FrameReading, Picture, Unreadable, read_frame};
use rand::RngExt as _;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// What became of one display.
struct Outcome {
    number: u64,
    face: usize,
    trouble: Trouble,
    text: String,
    before: String,
    /// What the one picture said.
    picture: Result<FrameReading, Unreadable>,
    /// What a reader, settled on the value before, accepted of it and the picture after it.
    accepted: Vec<String>,
}

impl Outcome {
    fn right(&self, text: &str) -> bool {
        text == self.text || text == self.before
    }

    fn picture_wrong(&self) -> bool {
        matches!(&self.picture, Ok(reading) if !self.right(&reading.text))
    }

    fn picture_right(&self) -> bool {
        matches!(&self.picture, Ok(reading) if self.right(&reading.text))
    }

    fn accepted_wrong(&self) -> bool {
        // A trouble that stays is there in the next picture too, so its one picture must not be wrong.
        (!passes(self.trouble) && self.picture_wrong())
            || self.accepted.iter().any(|text| !self.right(text))
    }
}

/// Troubles of a single picture: the next one is whole again.
fn passes(trouble: Trouble) -> bool {
    matches!(
        trouble,
        Trouble::RowsOfBefore | Trouble::Blend | Trouble::DimDigits | Trouble::DimBand
    )
}

fn one(seed: u64, number: u64, face: usize, trouble: Trouble) -> Outcome {
    let mut rng = rng(seed, number);
    let view = View::random(&mut rng, face, trouble);
    let (text, before) = texts(&mut rng, view.decimals);
    let moment = moment(&mut rng, trouble);
    let shot = view.shoot(&text, &before, moment, &mut rng);
    let spec = view.spec(rng.random::<bool>());
    let picture = Picture::new(&shot.luma, shot.width, shot.height).expect("a rendered picture");
    let reading = read_frame(&picture, &shot.region, &spec);

    let mut accepted = Vec::new();
    if passes(trouble) && reading.is_ok() {
        let mut reader = DisplayReader::new(shot.region, spec, Acceptance::default());
        let shown = FrameReading {
            indicated_c: before.parse().expect("a number"),
            text: before.clone(),
            margin_fraction: 1.0,
            last_digit_units: before.replace('.', "").parse().expect("a number"),
        };
        for i in 0..30 {
            let _ = reader.push_reading(0.1 * f64::from(i), Ok(shown.clone()));
        }
        accepted.extend(
            reader
                .push_reading(3.0, reading.clone())
                .map(|sample| sample.text),
        );
        let next = view.shoot(&text, &before, Moment::Whole, &mut rng);
        let picture = Picture::new(&next.luma, next.width, next.height).expect("a picture");
        accepted.extend(reader.push(3.1, &picture).map(|sample| sample.text));
    }
    Outcome {
        number,
        face,
        trouble,
        text,
        before,
        picture: reading,
        accepted,
    }
}

/// Every style in turn, under the trouble that goes with the number.
fn run(seed: u64, count: u64, trouble: fn(usize) -> Trouble) -> Vec<Outcome> {
    let styles: Vec<usize> = (0..faces().len())
        .filter(|&i| faces()[i].make != Make::Foreign)
        .collect();
    (0..count)
        .into_par_iter()
        .map(|number| {
            let i = number as usize;
            one(seed, number, styles[i % styles.len()], trouble(i))
        })
        .collect()
}

/// A third is clean, the others have every trouble in turn; ten styles go round once meanwhile.
fn in_turn(i: usize) -> Trouble {
    if i.is_multiple_of(3) {
        Trouble::Clean
    } else {
        TROUBLES[(i / 10) % TROUBLES.len()]
    }
}

/// Counts by trouble, and of the clean ones by style.
fn table(outcomes: &[Outcome]) -> String {
    let mut rows: BTreeMap<(String, String), [usize; 4]> = BTreeMap::new();
    for outcome in outcomes {
        let mut keys = vec![(format!("{:?}", outcome.trouble), "all styles")];
        if outcome.trouble == Trouble::Clean {
            keys.push(("Clean".to_owned(), faces()[outcome.face].name));
        }
        for (trouble, style) in keys {
            let row = rows.entry((trouble, style.to_owned())).or_default();
            row[0] += 1;
            row[1] += usize::from(outcome.picture_right());
            row[2] += usize::from(outcome.picture_wrong());
            row[3] += usize::from(outcome.accepted_wrong());
        }
    }
    let mut text = String::from(
        "trouble       style                displays   read  picture wrong  accepted wrong\n",
    );
    for ((trouble, style), [count, right, wrong, accepted]) in rows {
        let share = 100.0 * right as f64 / count as f64;
        let _ = writeln!(
            text,
            "{trouble:13} {style:20} {count:8} {share:5.1} % {wrong:14} {accepted:15}"
        );
    }
    text
}

fn refuse_wrong(seed: u64, outcomes: &[Outcome]) {
    let wrong: Vec<String> = outcomes
        .iter()
        .filter(|outcome| outcome.accepted_wrong())
        .map(|outcome| {
            format!(
                "number {}, {}, {:?}: \"{}\" after \"{}\", picture {:?}, accepted {:?}",
                outcome.number,
                faces()[outcome.face].name,
                outcome.trouble,
                outcome.text,
                outcome.before,
                outcome.picture.as_ref().map(|reading| &reading.text),
                outcome.accepted
            )
        })
        .collect();
    assert!(
        wrong.is_empty(),
        "wrong digits accepted, seed {seed}:\n{}",
        wrong.join("\n")
    );
}

fn check(seed: u64, count: u64) {
    let outcomes = run(seed, count, in_turn);
    let table = table(&outcomes);
    println!("seed {seed}\n{table}");
    refuse_wrong(seed, &outcomes);
    let clean = || {
        outcomes
            .iter()
            .filter(|outcome| outcome.trouble == Trouble::Clean)
    };
    let read = clean().filter(|outcome| outcome.picture_right()).count();
    let share = read as f64 / clean().count() as f64;
    assert!(
        share >= 0.95,
        "{:.1} % of clean displays read, seed {seed}\n{table}",
        100.0 * share
    );
}

/// Levels were chosen on seeds 1 and 20261; this is another one.
#[test]
fn of_five_thousand_displays_no_wrong_digit_is_accepted() {
    check(20_262, 5_000);
}

/// More seeds, for when levels are changed: `cargo nextest run -p meltrange-display --run-ignored all`.
#[test]
#[ignore = "minutes of processor time"]
fn nor_of_fifteen_thousand_more() {
    for seed in 101..=103 {
        check(seed, 5_000);
    }
}

/// Glare can hide and add strokes; three thousand more of it.
#[test]
#[ignore = "minutes of processor time"]
fn nor_of_three_thousand_under_glare() {
    let outcomes = run(201, 3_000, |_| Trouble::Glare);
    println!("{}", table(&outcomes));
    refuse_wrong(201, &outcomes);
}

/// The seeds that levels were chosen on.
#[test]
#[ignore = "what levels were chosen on says nothing new"]
fn nor_of_those_the_levels_were_chosen_on() {
    for seed in [1, 20_261] {
        check(seed, 5_000);
    }
}
