//! Trying a camera before a run depends on it.

use super::jpeg_stream::jpeg_size;
use crate::clock::BenchClock;
use crate::device::{Camera, CameraNews};
use serde::Serialize;
use std::time::Duration;
use tokio::sync::mpsc;

/// What a camera showed while it was tried.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct CameraFindings {
    /// How long it was tried [s].
    pub tried_s: f64,
    /// Until the first picture [s]; none when there was none.
    pub first_after_s: Option<f64>,
    /// Whole pictures.
    pub pictures: u64,
    /// Columns and rows of the newest picture [px]; none when it is no JPEG that says so.
    pub size_px: Option<(u16, u16)>,
    /// Mean size of a picture [bytes].
    pub mean_bytes: u64,
    /// Pictures a second between the first and the last; none with fewer than two.
    pub frames_per_s: Option<f64>,
    /// Longest time between two pictures [s].
    pub longest_gap_s: Option<f64>,
    /// Why it was lost, each time.
    pub losses: Vec<String>,
    /// Doubts about times or pictures.
    pub doubts: Vec<String>,
}

/// Try a camera for `wall_s` seconds and tell what it showed.
pub async fn camera_check(camera: Box<dyn Camera>, wall_s: f64) -> CameraFindings {
    let clock = BenchClock::start();
    let (to, mut news) = mpsc::channel(16);
    let showing = tokio::spawn(camera.show(clock, to));
    let mut findings = CameraFindings::default();
    let (mut first_s, mut last_s, mut bytes) = (None, None, 0_u64);
    let span = Duration::from_secs_f64(wall_s.clamp(0.1, 600.0));
    let end = tokio::time::Instant::now() + span;
    while let Ok(Some(told)) = tokio::time::timeout_at(end, news.recv()).await {
        match told {
            CameraNews::Picture { time_s, jpeg } => {
                findings.pictures += 1;
                findings.size_px = jpeg_size(&jpeg);
                bytes += jpeg.len() as u64;
                if let Some(before_s) = last_s.replace(time_s) {
                    let gap_s = time_s - before_s;
                    findings.longest_gap_s = Some(
                        findings
                            .longest_gap_s
                            .map_or(gap_s, |most: f64| most.max(gap_s)),
                    );
                }
                if first_s.is_none() {
                    first_s = Some(time_s);
                    findings.first_after_s = Some(clock.now_s());
                }
            }
            CameraNews::Lost { why, .. } => findings.losses.push(why),
            CameraNews::Doubt { what, .. } => findings.doubts.push(what),
            CameraNews::Found { .. } => {}
        }
    }
    findings.tried_s = clock.now_s();
    // The driver ends once nobody listens; a camera must be free again when this returns.
    drop(news);
    let _ = tokio::time::timeout(Duration::from_secs(2), showing).await;
    findings.mean_bytes = bytes.checked_div(findings.pictures).unwrap_or(0);
    findings.frames_per_s = first_s.zip(last_s).and_then(|(first_s, last_s)| {
        let span_s: f64 = last_s - first_s;
        (span_s > 0.0).then(|| (findings.pictures - 1) as f64 / span_s)
    });
    findings
}
