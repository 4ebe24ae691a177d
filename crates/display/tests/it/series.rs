//! A heating display in a film: updates, blends, dark digits. Every accepted value is one that the
//! display showed just now.

use crate::fonts::{Make, faces};
use crate::optics::rng;
use crate::scene::{Moment, Trouble, View};
use meltrange_display::{Acceptance, DisplayReader, Picture};
use rand::RngExt as _;
use rayon::prelude::*;

/// One film.
#[derive(Clone, Copy)]
struct Film {
    seed: u64,
    face: usize,
    rate_c_per_min: f64,
    /// Pictures a second.
    pictures_per_s: f64,
    /// Time between updates of the display [s].
    update_s: f64,
    /// How long a picture of the display mixes the values before and after an update [s].
    mixing_s: f64,
    /// Share of pictures in which some digits are dark.
    dark_share: f64,
}

/// What a film gave.
struct Account {
    pictures: usize,
    accepted: usize,
    wrong: Vec<String>,
}

const LENGTH_S: f64 = 10.0;

fn play(film: Film) -> Account {
    let mut rng = rng(film.seed, 0);
    let mut view = View::random(&mut rng, film.face, Trouble::Clean);
    view.decimals = 1;
    // Large enough to be read, small enough to be quick.
    view.digit_px = 20.0 + 14.0 * rng.random::<f64>();
    let start_c = 60.0 + 240.0 * rng.random::<f64>();
    let shown = |update: i64| {
        let time_s = update.max(0) as f64 * film.update_s;
        format!("{:.1}", start_c + film.rate_c_per_min / 60.0 * time_s)
    };
    let mut reader: Option<DisplayReader> = None;
    let mut account = Account {
        pictures: 0,
        accepted: 0,
        wrong: Vec::new(),
    };
    let count = (LENGTH_S * film.pictures_per_s) as usize;
    for i in 0..count {
        let time_s = i as f64 / film.pictures_per_s;
        let update = (time_s / film.update_s).floor() as i64;
        let since_s = time_s - update as f64 * film.update_s;
        let (text, before) = (shown(update), shown(update - 1));
        // Sometimes a sharp cut between rows, sometimes both values in one exposure.
        let moment = if rng.random::<f64>() < film.dark_share {
            Moment::Digits {
                dimmed: rng.random_range(1..16),
                to: 0.5 * rng.random::<f64>(),
            }
        } else if since_s < film.mixing_s {
            if rng.random::<bool>() {
                Moment::Rows {
                    cut: rng.random::<f64>(),
                    soft: 0.3 * rng.random::<f64>().powi(2),
                }
            } else {
                Moment::Share {
                    before: 1.0 - since_s / film.mixing_s,
                }
            }
        } else {
            Moment::Whole
        };
        let shot = view.shoot(&text, &before, moment, &mut rng);
        let reader = reader.get_or_insert_with(|| {
            DisplayReader::new(shot.region, view.spec(true), Acceptance::default())
        });
        let picture = Picture::new(&shot.luma, shot.width, shot.height).expect("a picture");
        account.pictures += 1;
        if let Ok(sample) = reader.push(time_s, &picture) {
            account.accepted += 1;
            if sample.text != text && sample.text != before {
                account.wrong.push(format!(
                    "seed {} at {time_s:.2} s: \"{}\" for \"{text}\" after \"{before}\"",
                    film.seed, sample.text
                ));
            }
        }
    }
    account
}

/// Films of every style at both rates, with and without dark digits.
fn films(first_seed: u64, rounds: usize) -> Vec<Film> {
    let styles: Vec<usize> = (0..faces().len())
        .filter(|&i| faces()[i].make != Make::Foreign)
        .collect();
    let mut films = Vec::new();
    for round in 0..rounds {
        for (k, &face) in styles.iter().enumerate() {
            for (rate_c_per_min, dark_share) in [(1.0, 0.0), (20.0, 0.0), (20.0, 0.3)] {
                films.push(Film {
                    seed: first_seed + films.len() as u64,
                    face,
                    rate_c_per_min,
                    pictures_per_s: [10.0, 15.0][(k + round) % 2],
                    update_s: [0.3, 0.5][(k + round) / 2 % 2],
                    mixing_s: [0.08, 0.15][k % 2],
                    dark_share,
                });
            }
        }
    }
    films
}

fn check(first_seed: u64, rounds: usize) {
    let films = films(first_seed, rounds);
    let accounts: Vec<Account> = films.par_iter().map(|&film| play(film)).collect();
    let wrong: Vec<&String> = accounts.iter().flat_map(|account| &account.wrong).collect();
    for (name, of) in [
        ("1 °C/min", (1.0, 0.0)),
        ("20 °C/min", (20.0, 0.0)),
        ("20 °C/min, digits dark in 30 % of pictures", (20.0, 0.3)),
    ] {
        let (mut pictures, mut accepted, mut silent) = (0, 0, 0);
        for (film, account) in films.iter().zip(&accounts) {
            if (film.rate_c_per_min, film.dark_share) == of {
                pictures += account.pictures;
                accepted += account.accepted;
                silent += usize::from(account.accepted == 0);
            }
        }
        println!(
            "{name}: {pictures} pictures, {:.1} % gave a value, {silent} films gave none",
            100.0 * f64::from(accepted as u32) / f64::from(pictures as u32)
        );
        // The first two seconds settle; after that most pictures away from updates should count.
        let least = if of.1 > 0.0 { 0.08 } else { 0.3 };
        assert!(
            accepted as f64 > least * pictures as f64,
            "{name}: only {accepted} of {pictures}"
        );
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn a_heating_display_gives_only_values_that_it_showed() {
    check(7_000, 1);
}

#[test]
#[ignore = "minutes of processor time"]
fn many_heating_displays_give_only_values_that_they_showed() {
    check(90_000, 4);
}
