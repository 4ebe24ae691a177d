//! Draws of a budget of ten inputs: how long one run takes. Beside it stands benches/peer/monte_carlo.py.

use meltrange_metrology::{Component, Distribution, MonteCarloOptions, Source, propagate};
use std::time::Instant;

/// Draws of one run.
const DRAWS: usize = 1_000_000;

/// Runs; the fastest and the median are printed.
const RUNS: usize = 9;

fn main() {
    let shapes = [
        (Distribution::Normal, f64::INFINITY, 4),
        (Distribution::Rectangular, f64::INFINITY, 3),
        (Distribution::Triangular, f64::INFINITY, 1),
        (Distribution::StudentT, 9.0, 2),
    ];
    let budget: Vec<Component> = shapes
        .into_iter()
        .flat_map(|(distribution, degrees_of_freedom, count)| {
            (0..count).map(move |place| Component {
                source: Source::Other,
                text: String::new(),
                standard_uncertainty: 0.05 + 0.01 * f64::from(place),
                sensitivity: 1.0,
                degrees_of_freedom,
                distribution,
            })
        })
        .collect();
    let options = MonteCarloOptions {
        draws: DRAWS,
        ..MonteCarloOptions::default()
    };
    let mut times_s = Vec::new();
    let mut found = propagate(0.0, &budget, options);
    for _ in 0..RUNS {
        let start = Instant::now();
        found = propagate(0.0, &budget, options);
        times_s.push(start.elapsed().as_secs_f64());
    }
    times_s.sort_by(f64::total_cmp);
    println!(
        "{{\"draws\":{DRAWS},\"inputs\":{},\"fastest_s\":{:.4},\"median_s\":{:.4},\"low\":{:.4},\"high\":{:.4}}}",
        budget.len(),
        times_s[0],
        times_s[RUNS / 2],
        found.low,
        found.high
    );
}
