//! Trying a camera.

use super::{DeviceFinding, DeviceRole, DeviceState};
use crate::bench_file::CameraSpec;

pub(super) fn check(spec: &CameraSpec) -> DeviceFinding {
    let (kind, found) = match spec {
        CameraSpec::Browser => ("browser", "not tried: a browser takes the pictures"),
        CameraSpec::Simulated(_) => ("simulated", "it is always there"),
    };
    DeviceFinding::new(DeviceRole::Camera, kind, DeviceState::NotTried, found)
}
