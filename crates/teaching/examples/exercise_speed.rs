//! How long exercises take: made ready, a first picture, all pictures, the truth.
#![expect(clippy::print_stdout, reason = "what it finds goes to the terminal")]
#![expect(clippy::disallowed_methods, reason = "it measures time")]

use meltrange_scene::Film;
use meltrange_teaching::{AnswerKey, ExerciseKind, scene};
use std::time::Instant;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    println!(
        "kind seed pictures film_s first_s all_s key_s first_liquid last_crystal width events"
    );
    for kind in ExerciseKind::SIMULATED {
        for seed in 1..=4 {
            let scene = scene(kind, seed).ok_or("a simulated kind")?;
            let start = Instant::now();
            let film = Film::new(scene)?;
            let film_s = start.elapsed().as_secs_f64();
            let picture = film.picture(0);
            let first_s = start.elapsed().as_secs_f64();
            let begin = Instant::now();
            film.play(&mut |_, _| Ok::<(), std::convert::Infallible>(()))?;
            let all_s = begin.elapsed().as_secs_f64();
            let begin = Instant::now();
            let key = AnswerKey::of_film(&film);
            let key_s = begin.elapsed().as_secs_f64();
            let n = film.times_s().len();
            match key {
                Ok(key) => println!(
                    "{} {seed} {n} {film_s:.3} {first_s:.3} {all_s:.2} {key_s:.2} {:.2} {:.2} {:.2} {} {:?}",
                    kind.code(),
                    key.first_liquid.time_s / film.end_s(),
                    key.last_crystal.time_s / film.end_s(),
                    key.last_crystal.temperature_c - key.first_liquid.temperature_c,
                    picture.width,
                    key.events
                        .iter()
                        .map(|event| format!("{}@{:.0}", event.kind, event.from_s))
                        .collect::<Vec<_>>()
                ),
                Err(error) => println!("{} {seed}: {error}", kind.code()),
            }
        }
    }
    Ok(())
}
