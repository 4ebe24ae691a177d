//! Trying a camera.

use super::{DeviceFinding, DeviceRole, DeviceState, LISTEN};
use crate::bench_file::CameraSpec;
use crate::camera::{CameraFindings, camera_check};
use crate::rig::open_camera;

/// Slower than this, first liquids are missed between pictures [pictures/s]; common practice, no source.
const SLOW_FRAMES_PER_S: f64 = 0.2;

pub(super) async fn check(spec: &CameraSpec) -> DeviceFinding {
    let kind = match spec {
        CameraSpec::Browser => "browser",
        CameraSpec::Mjpeg(_) => "mjpeg",
        CameraSpec::V4l2(_) => "v4l2",
        CameraSpec::Ffmpeg(_) => "ffmpeg",
        CameraSpec::Simulated(_) => "simulated",
    };
    let finding = |state, found: String| DeviceFinding::new(DeviceRole::Camera, kind, state, found);
    match open_camera(spec) {
        Ok(Some(camera)) => judged(finding, camera_check(camera, LISTEN.as_secs_f64()).await),
        Ok(None) if matches!(spec, CameraSpec::Browser) => {
            finding(DeviceState::NotTried, "a browser takes the pictures".into())
        }
        Ok(None) => finding(DeviceState::NotTried, "it is always there".into()),
        Err(error) => finding(DeviceState::NotUsable, error.to_string()),
    }
}

fn judged(
    finding: impl Fn(DeviceState, String) -> DeviceFinding,
    found: CameraFindings,
) -> DeviceFinding {
    if found.pictures == 0 {
        let why = found.losses.last().cloned();
        let said = why.unwrap_or_else(|| format!("no picture within {:.0} s", found.tried_s));
        return finding(DeviceState::NotUsable, said)
            .next("check its plug, its address, and whether another program holds it");
    }
    let size = found.size_px.map_or(String::new(), |(width, height)| {
        format!(" of {width} × {height}")
    });
    let rate = found
        .frames_per_s
        .map_or(String::new(), |rate| format!(", {rate:.1} a second"));
    let said = format!("{} pictures{size}{rate}", found.pictures);
    let slow = found
        .frames_per_s
        .is_none_or(|rate| rate < SLOW_FRAMES_PER_S);
    if let Some(doubt) = found.doubts.first() {
        return finding(DeviceState::Doubtful, format!("{said}; {doubt}"));
    }
    if slow {
        return finding(DeviceState::Doubtful, said)
            .next("have it take at least one picture in five seconds");
    }
    finding(DeviceState::Usable, said)
}
