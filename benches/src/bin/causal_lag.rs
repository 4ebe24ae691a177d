//! How soon the causal reader calls the moments: `causal_lag DIR` goes through every recording with a
//! `truth.json` below DIR as if the pictures came live, and prints when moments were called.

use std::error::Error;
use std::io::Write;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use meltrange_reading::{Density, FrameRequest, FrameSource, LiveReader, ReadOptions};
use serde_json::Value;

/// A call is in time up to so long after the moment [s].
const IN_TIME_S: f64 = 10.0;
/// Frames a second that a live camera would give at most.
const SPACING_S: f64 = 0.2;

/// Calls of one moment over all tubes: seconds after the truth.
#[derive(Default)]
struct Calls {
    lags_s: Vec<f64>,
    missed: usize,
    without_truth: usize,
}

impl Calls {
    fn enter(&mut self, truth_s: Option<f64>, called_s: Option<f64>) {
        match (truth_s, called_s) {
            (Some(truth_s), Some(called_s)) => self.lags_s.push(called_s - truth_s),
            (Some(_), None) => self.missed += 1,
            (None, Some(_)) => self.without_truth += 1,
            (None, None) => {}
        }
    }

    fn line(&mut self, name: &str) -> String {
        self.lags_s.sort_by(f64::total_cmp);
        let n = self.lags_s.len() + self.missed;
        let in_time = self.lags_s.iter().filter(|lag| **lag <= IN_TIME_S).count();
        let at = |q: f64| {
            let last = self.lags_s.len().saturating_sub(1) as f64;
            self.lags_s
                .get((q * last).round() as usize)
                .copied()
                .unwrap_or(f64::NAN)
        };
        format!(
            "{name:13} {in_time} of {n} called by {IN_TIME_S} s after ({:.0} %); lag median {:+.1} s, 5 % {:+.1} s, 95 % {:+.1} s; \
             never called {}, called without truth {}\n",
            100.0 * in_time as f64 / n.max(1) as f64,
            at(0.5),
            at(0.05),
            at(0.95),
            self.missed,
            self.without_truth,
        )
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let usage = "usage: causal_lag DIR";
    let folder = PathBuf::from(std::env::args_os().nth(1).ok_or(usage)?);
    let mut recordings: Vec<PathBuf> = std::fs::read_dir(&folder)?
        .filter_map(|entry| entry.ok().map(|e| e.path()))
        .filter(|path| path.join("truth.json").is_file())
        .collect();
    recordings.sort();
    let (mut first, mut last, mut taken_back) = (Calls::default(), Calls::default(), 0);
    let mut out = std::io::stdout().lock();
    for recording in recordings {
        let told = go_through(&recording, &mut first, &mut last)?;
        taken_back += told;
        if told > 0 {
            writeln!(out, "{}: {told} taken back", recording.display())?;
        }
    }
    write!(out, "{}", first.line("first liquid"))?;
    write!(out, "{}", last.line("last crystal"))?;
    writeln!(out, "taken back    {taken_back}")?;
    Ok(())
}

/// One recording; returns how many first liquids were taken back.
fn go_through(
    recording: &Path,
    first: &mut Calls,
    last: &mut Calls,
) -> Result<usize, Box<dyn Error>> {
    let truth: Value = serde_json::from_slice(&std::fs::read(recording.join("truth.json"))?)?;
    let start_s = truth["video_start_s"].as_f64().unwrap_or(0.0);
    let media = truth["media"].as_str().ok_or("truth.json names no media")?;
    let mut source = meltrange_media::open(&recording.join(media), start_s)?;
    let mut reader = LiveReader::new(&ReadOptions::default());
    let mut called: Vec<[Option<f64>; 2]> = Vec::new();
    let mut taken_back = 0;
    let request = FrameRequest {
        from_s: f64::MIN,
        to_s: f64::MAX,
        density: Density::Spaced {
            spacing_s: SPACING_S,
        },
    };
    source.deliver(request, &mut |frame| {
        let states = reader.push(&frame);
        called.resize(states.len(), [None; 2]);
        for (called, state) in called.iter_mut().zip(states) {
            for (called, moment) in called
                .iter_mut()
                .zip([state.first_liquid_s, state.last_crystal_s])
            {
                match moment {
                    Some(_) => {
                        called.get_or_insert(frame.time_s);
                    }
                    None => *called = None,
                }
            }
        }
        taken_back = states.iter().map(|s| s.taken_back).sum();
        ControlFlow::Continue(())
    })?;
    let tubes = truth["tubes"]
        .as_array()
        .ok_or("truth.json names no tubes")?;
    let standing = tubes.iter().filter(|t| t["outcome"] != "no_tube");
    for (tube, called) in standing.zip(&called) {
        // What charring hides cannot be called.
        let hidden = |moment: &Value| moment["char"].as_f64().unwrap_or(0.0) > 0.3;
        let of = |name: &str| {
            tube[name]["time_s"]
                .as_f64()
                .filter(|_| !hidden(&tube[name]))
        };
        first.enter(of("first_liquid"), called[0]);
        last.enter(of("last_crystal"), called[1]);
    }
    Ok(taken_back)
}
