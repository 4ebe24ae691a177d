//! `[thermometer] kind = "display"`.

use super::camera::CameraSpec;
use super::field::{Wrong, wrong};
use meltrange_display::{Acceptance, DisplayRegion, DisplaySpec};
use serde::{Deserialize, Serialize};

/// A camera pointed at the apparatus's own display.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DisplayThermometerSpec {
    /// The camera: `mjpeg`, `v4l2` or `ffmpeg`.
    pub camera: CameraSpec,
    /// Corners of the digits in the picture [px]: top left, top right, bottom right, bottom left, as
    /// read on the upright display. None: the whole picture.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub corners_px: Option<[[f64; 2]; 4]>,
    /// What is known of the display.
    #[serde(default)]
    pub digits: DisplaySpec,
    /// What it takes to accept a value.
    #[serde(default)]
    pub acceptance: Acceptance,
}

impl DisplayThermometerSpec {
    /// Where the digits stand.
    pub(crate) fn region(&self) -> DisplayRegion {
        self.corners_px
            .map_or(DisplayRegion::WholePicture, DisplayRegion::Corners)
    }

    pub(super) fn check(&self) -> Result<(), Wrong> {
        match &self.camera {
            CameraSpec::Browser | CameraSpec::Simulated(_) => wrong(
                "thermometer.camera.kind",
                "one that cannot be pointed at a display from here",
                "mjpeg, v4l2 or ffmpeg",
            ),
            camera => match camera.wrong() {
                Some((field, found, expected)) => {
                    wrong(&format!("thermometer.camera.{field}"), found, expected)
                }
                None => Ok(()),
            },
        }
    }
}
