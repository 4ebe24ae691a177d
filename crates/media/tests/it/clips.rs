//! Clips made with ffmpeg, and what ffprobe says of them.

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::process::Command;

use meltrange_media::{MediaError, Opened, open};
use meltrange_reading::{Density, FrameRequest, FrameSource};

/// A folder for one test's clips.
pub struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    pub fn new() -> Self {
        Self {
            folder: tempfile::tempdir().expect("a temporary folder"),
        }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Run ffmpeg in the folder; arguments separated by blanks.
    pub fn ffmpeg(&self, arguments: &str) {
        let output = Command::new("ffmpeg")
            .args(["-nostdin", "-v", "error", "-y"])
            .args(arguments.split_whitespace())
            .current_dir(self.folder.path())
            .output()
            .expect("ffmpeg is installed (Debian package ffmpeg)");
        assert!(
            output.status.success(),
            "ffmpeg {arguments}: {}",
            String::from_utf8_lossy(&output.stderr)
        );
    }

    /// Make `name` from ffmpeg's moving test picture with these encoder arguments.
    pub fn clip(&self, name: &str, size: &str, rate: &str, seconds: f64, encoder: &str) -> PathBuf {
        self.ffmpeg(&format!(
            "-f lavfi -i testsrc2=s={size}:r={rate}:d={seconds} {encoder} {name}"
        ));
        self.path(name)
    }

    /// Keep only the first `bytes` of a file, under another name.
    pub fn cut(&self, path: &Path, name: &str, fraction: f64) -> PathBuf {
        let bytes = std::fs::read(path).expect("the clip was made");
        let keep = (bytes.len() as f64 * fraction) as usize;
        let cut = self.path(name);
        std::fs::write(&cut, &bytes[..keep]).expect("a temporary folder takes files");
        cut
    }
}

/// Frame times as ffprobe prints them, decoding every frame [s].
pub fn ffprobe_times(path: &Path) -> Vec<f64> {
    let output = Command::new("ffprobe")
        .args(["-v", "error", "-select_streams", "v:0"])
        .args(["-show_entries", "frame=pts_time", "-of", "csv=p=0"])
        .arg(path)
        .output()
        .expect("ffprobe is installed (Debian package ffmpeg)");
    String::from_utf8_lossy(&output.stdout)
        .lines()
        // Frames with side data are followed by a line of their own, empty here.
        .filter(|line| !line.is_empty())
        .map(|line| {
            line.trim_end_matches(',')
                .parse()
                .expect("ffprobe prints numbers")
        })
        .collect()
}

/// A delivered frame, kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    pub time_s: f64,
    pub width: usize,
    pub height: usize,
    pub luma: Vec<u8>,
}

pub const ALL: FrameRequest = FrameRequest {
    from_s: f64::NEG_INFINITY,
    to_s: f64::INFINITY,
    density: Density::Spaced { spacing_s: 0.0 },
};

/// Deliver a request and keep everything.
pub fn collect(source: &mut Opened, request: FrameRequest) -> Vec<Kept> {
    try_collect(source, request).expect("the frames can be delivered")
}

pub fn try_collect(source: &mut Opened, request: FrameRequest) -> Result<Vec<Kept>, MediaError> {
    let mut kept = Vec::new();
    source.deliver(request, &mut |frame| {
        assert_eq!(frame.luma.len(), frame.width * frame.height);
        kept.push(Kept {
            time_s: frame.time_s,
            width: frame.width,
            height: frame.height,
            luma: frame.luma.to_vec(),
        });
        ControlFlow::Continue(())
    })?;
    Ok(kept)
}

pub fn opened(path: &Path) -> Opened {
    open(path, 0.0).expect("the clip can be opened")
}

pub fn times(kept: &[Kept]) -> Vec<f64> {
    kept.iter().map(|frame| frame.time_s).collect()
}

/// Times equal to what ffprobe prints, to its last printed digit.
pub fn assert_same_times(found: &[f64], expected: &[f64]) {
    assert_eq!(found.len(), expected.len(), "number of frames");
    for (at, (found, expected)) in found.iter().zip(expected).enumerate() {
        assert!(
            (found - expected).abs() <= 5.1e-7,
            "frame {at}: {found} s, ffprobe says {expected} s"
        );
    }
}
