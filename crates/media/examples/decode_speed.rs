//! How fast frames arrive, next to ffmpeg decoding to nothing: `decode_speed FILE [ROUNDS]`.
//!
//! Prints wall and processor seconds (this program and the ffmpeg that it starts; Linux) for
//! `ffmpeg -i FILE -f null -` and for delivering key frames, everything, frames a spacing apart and
//! a minute in the middle; least of ROUNDS (default 3) of each, taken in turns.
#![expect(clippy::print_stdout, reason = "a program for people")]

use std::error::Error;
use std::ops::ControlFlow;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use meltrange_media::open;
use meltrange_reading::{Density, FrameRequest, FrameSource};

/// Clock ticks a second of `/proc/self/stat`; 100 on every Linux of today.
const TICKS_PER_S: f64 = 100.0;

#[derive(Clone, Copy)]
struct Cost {
    wall_s: f64,
    processor_s: f64,
    frames: u64,
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let file = arguments
        .next()
        .ok_or("usage: decode_speed FILE [ROUNDS]")?;
    let rounds: usize = arguments.next().map_or(Ok(3), |text| text.parse())?;
    let path = Path::new(&file);
    let info = open(path, 0.0)?.info();
    let middle_s = 0.5 * (info.start_s + info.end_s);
    let whole = (f64::NEG_INFINITY, f64::INFINITY);
    let minute = (middle_s - 30.0, middle_s + 30.0);
    let spaced = |spacing_s| Density::Spaced { spacing_s };
    let ways = [
        ("key frames", whole, Density::KeyFrames { spacing_s: 0.0 }),
        ("everything", whole, spaced(0.0)),
        ("every 0.6 s", whole, spaced(0.6)),
        ("a minute, every 1 s", minute, spaced(1.0)),
        ("a minute, all of it", minute, spaced(0.0)),
    ];
    let mut found: Vec<Option<Cost>> = vec![None; ways.len() + 1];
    for _ in 0..rounds {
        keep_less(&mut found[0], measured(|| decode_to_nothing(path))?);
        for ((_, span, density), best) in ways.iter().zip(&mut found[1..]) {
            keep_less(best, measured(|| deliver(path, *span, *density))?);
        }
    }
    let names = std::iter::once("decoding to nothing").chain(ways.iter().map(|way| way.0));
    let null = found[0].ok_or("ROUNDS is 0; expected at least 1")?;
    for (name, cost) in names.zip(found.into_iter().flatten()) {
        println!(
            "{name:20} {:6} frames, wall {:6.2} s ({:.2} of decoding), processor {:6.2} s ({:.2})",
            cost.frames,
            cost.wall_s,
            cost.wall_s / null.wall_s,
            cost.processor_s,
            cost.processor_s / null.processor_s
        );
    }
    Ok(())
}

fn keep_less(best: &mut Option<Cost>, cost: Cost) {
    let before = best.unwrap_or(cost);
    *best = Some(Cost {
        wall_s: before.wall_s.min(cost.wall_s),
        processor_s: before.processor_s.min(cost.processor_s),
        frames: cost.frames,
    });
}

fn measured(work: impl FnOnce() -> Result<u64, Box<dyn Error>>) -> Result<Cost, Box<dyn Error>> {
    let (started, before_s) = (Instant::now(), processor_s()?);
    let frames = work()?;
    Ok(Cost {
        wall_s: started.elapsed().as_secs_f64(),
        processor_s: processor_s()? - before_s,
        frames,
    })
}

/// Processor time of this process and of its children that have ended [s].
fn processor_s() -> Result<f64, Box<dyn Error>> {
    let text = std::fs::read_to_string("/proc/self/stat")?;
    // The name in parentheses may hold blanks; utime, stime, cutime, cstime are fields 14 to 17.
    let (_, after) = text.rsplit_once(')').ok_or("an odd /proc/self/stat")?;
    let ticks: Result<Vec<f64>, _> = after
        .split_whitespace()
        .skip(11)
        .take(4)
        .map(str::parse)
        .collect();
    Ok(ticks?.iter().sum::<f64>() / TICKS_PER_S)
}

fn decode_to_nothing(path: &Path) -> Result<u64, Box<dyn Error>> {
    let status = Command::new("ffmpeg")
        .args(["-nostdin", "-v", "error", "-i"])
        .arg(path)
        .args(["-map", "0:v:0", "-f", "null", "-"])
        .stdin(Stdio::null())
        .status()?;
    if !status.success() {
        return Err("ffmpeg could not decode the file".into());
    }
    Ok(0)
}

fn deliver(path: &Path, span: (f64, f64), density: Density) -> Result<u64, Box<dyn Error>> {
    let mut frames = 0;
    let request = FrameRequest {
        from_s: span.0,
        to_s: span.1,
        density,
    };
    open(path, 0.0)?.deliver(request, &mut |_| {
        frames += 1;
        ControlFlow::Continue(())
    })?;
    Ok(frames)
}
