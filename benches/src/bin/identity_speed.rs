//! How long a ranking of the whole library takes, the choice of the next test, and a diagram: prints JSON. Beside
//! `benches/peer/identity.py`, which ranks alike; `benches/identity.sh` runs both.

use meltrange_identity::{
    Candidates, Convention, IdentifyError, Library, MeltingRange, Pair, identify, rank,
};
use serde_json::json;
use std::error::Error;
use std::hint::black_box;
use std::io::Write as _;
use std::time::Instant;

/// Queries, over the temperatures of teaching [°C].
const QUERIES_C: [f64; 9] = [48.0, 69.0, 82.0, 95.0, 114.4, 122.4, 150.5, 187.0, 236.0];
const DIAGRAMS: usize = 200;
const POINTS: usize = 400;

fn range(last_crystal_c: f64) -> MeltingRange {
    MeltingRange {
        first_liquid_c: last_crystal_c - 0.7,
        last_crystal_c,
        standard_uncertainty_c: 0.5,
        convention: Convention::Unstated,
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let begin = Instant::now();
    let library = Library::shipped();
    let unpacking_s = begin.elapsed().as_secs_f64();
    let mut ranking = Vec::new();
    let mut with_tests = Vec::new();
    for last_c in QUERIES_C {
        let range = range(last_c);
        let ranked = timed(&mut ranking, || {
            rank(library, library.substances(), &range, None)
        })?;
        let found = timed(&mut with_tests, || {
            identify(library, library.substances(), &range, None)
        })?;
        assert_eq!(ranked.ranked.len(), found.ranked.len());
    }
    let [a, b] = ["naphthalene", "biphenyl"].map(|name| library.named(name));
    let pair = Pair::of(library, a?, 80.24, b?, 68.94)?;
    let begin = Instant::now();
    for _ in 0..DIAGRAMS {
        assert_eq!(black_box(pair.diagram(POINTS)).len(), POINTS);
    }
    let diagram_s = begin.elapsed().as_secs_f64() / DIAGRAMS as f64;
    let told = json!({
        "substances": library.substances().len(),
        "unpacking_s": unpacking_s,
        "ranking_s": median(&mut ranking),
        "next_tests_s": median(&mut with_tests) - median(&mut ranking),
        "diagram_s": diagram_s,
    });
    writeln!(std::io::stdout(), "{told}")?;
    Ok(())
}

fn timed<'a>(
    times: &mut Vec<f64>,
    work: impl Fn() -> Result<Candidates<'a>, IdentifyError>,
) -> Result<Candidates<'a>, IdentifyError> {
    let begin = Instant::now();
    let found = black_box(work()?);
    times.push(begin.elapsed().as_secs_f64());
    Ok(found)
}

fn median(times: &mut [f64]) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}
