//! How fast frames arrive, next to ffmpeg decoding to nothing: `decode_speed FILE [SPACING_S]`.
//!
//! Prints seconds for `ffmpeg -i FILE -f null -` and for delivering all frames, key frames, and frames
//! a spacing apart (default 1 s); best of three of each, taken in turns.
#![expect(clippy::print_stdout, reason = "a program for people")]

use std::error::Error;
use std::ops::ControlFlow;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use meltrange_media::open;
use meltrange_reading::{Density, FrameRequest, FrameSource};

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let file = arguments
        .next()
        .ok_or("usage: decode_speed FILE [SPACING_S]")?;
    let spacing_s: f64 = arguments.next().map_or(Ok(1.0), |text| text.parse())?;
    let path = Path::new(&file);
    let kinds = [
        ("all", Density::Spaced { spacing_s: 0.0 }),
        ("key", Density::KeyFrames { spacing_s: 0.0 }),
        ("spaced", Density::Spaced { spacing_s }),
    ];
    let mut null_s = f64::INFINITY;
    let mut best = [(f64::INFINITY, 0_u64); 3];
    for _ in 0..3 {
        null_s = null_s.min(decode_to_nothing(path)?);
        for ((_, density), best) in kinds.into_iter().zip(&mut best) {
            let found = deliver(path, density)?;
            if found.0 < best.0 {
                *best = found;
            }
        }
    }
    println!("decoding to nothing: {null_s:.2} s");
    for ((name, _), (took_s, frames)) in kinds.into_iter().zip(best) {
        let ratio = took_s / null_s;
        println!("{name:7}: {took_s:.2} s for {frames} frames, {ratio:.2} of decoding to nothing");
    }
    Ok(())
}

fn decode_to_nothing(path: &Path) -> Result<f64, Box<dyn Error>> {
    let started = Instant::now();
    let status = Command::new("ffmpeg")
        .args(["-nostdin", "-v", "error", "-i"])
        .arg(path)
        .args([
            "-map",
            "0:v:0",
            "-fps_mode",
            "passthrough",
            "-f",
            "null",
            "-",
        ])
        .stdin(Stdio::null())
        .status()?;
    if !status.success() {
        return Err("ffmpeg could not decode the file".into());
    }
    Ok(started.elapsed().as_secs_f64())
}

fn deliver(path: &Path, density: Density) -> Result<(f64, u64), Box<dyn Error>> {
    let started = Instant::now();
    let mut frames = 0;
    let request = FrameRequest {
        from_s: f64::NEG_INFINITY,
        to_s: f64::INFINITY,
        density,
    };
    open(path, 0.0)?.deliver(request, &mut |_| {
        frames += 1;
        ControlFlow::Continue(())
    })?;
    Ok((started.elapsed().as_secs_f64(), frames))
}
