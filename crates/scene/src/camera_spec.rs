//! Lens, sensor, hand, lamp and what comes between.

use serde::{Deserialize, Serialize};

/// The camera and how it is held. All strengths are 0 for "not at all".
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct CameraSpec {
    /// Width of the point spread, standard deviation \[px\].
    pub blur_px: f64,
    /// Read noise, standard deviation \[grey levels of 255\].
    pub noise: f64,
    /// Shot noise: variance per grey level.
    pub shot_noise: f64,
    /// Fast movements of the hand, standard deviation \[px\].
    pub shake_px: f64,
    /// Slow drift over the recording \[px\].
    pub drift_px: f64,
    /// Slow rotation over the recording \[°\].
    pub rotation_deg: f64,
    /// Breathing of the scale, relative.
    pub zoom: f64,
    /// Strength of an automatic exposure, 0 to 1.
    pub auto_exposure: f64,
    /// How long the automatic exposure takes \[s\].
    pub auto_exposure_s: f64,
    /// Slow relative drift of the exposure over the recording.
    pub exposure_drift: f64,
    /// Sudden changes of exposure or lamp.
    pub exposure_steps: Vec<ExposureStep>,
    /// Relative flicker of the lamp from picture to picture.
    pub flicker: f64,
    /// Relative strength of bands that roll through the picture.
    pub bands: f64,
    /// Slow drift of the white balance, relative.
    pub white_balance: f64,
    /// The focus is lost and found again.
    pub refocus: Vec<Refocus>,
    /// Something comes between.
    pub occlusions: Vec<Occlusion>,
    /// Dust specks on the optics that stay put in the picture.
    pub dust: u32,
    /// Darkening towards the corners, 0 to 1.
    pub vignette: f64,
    /// Unevenness of the light across the picture, relative.
    pub uneven_light: f64,
}

impl Default for CameraSpec {
    fn default() -> Self {
        Self {
            blur_px: 0.8,
            noise: 1.5,
            shot_noise: 0.015,
            shake_px: 0.0,
            drift_px: 0.0,
            rotation_deg: 0.0,
            zoom: 0.0,
            auto_exposure: 0.0,
            auto_exposure_s: 6.0,
            exposure_drift: 0.0,
            exposure_steps: Vec::new(),
            flicker: 0.0,
            bands: 0.0,
            white_balance: 0.0,
            refocus: Vec::new(),
            occlusions: Vec::new(),
            dust: 2,
            vignette: 0.1,
            uneven_light: 0.1,
        }
    }
}

/// A sudden change of exposure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExposureStep {
    /// Log time \[s\].
    pub at_s: f64,
    /// Factor from then on, relative to before the first step.
    pub gain: f64,
}

/// The focus is lost and found again.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Refocus {
    /// Log time \[s\].
    pub at_s: f64,
    /// How long \[s\].
    pub duration_s: f64,
    /// Widest point spread, standard deviation \[px\].
    pub blur_px: f64,
}

/// What comes between.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OcclusionKind {
    /// A hand sweeps through.
    Hand,
    /// Black pictures.
    Black,
    /// Blown-out pictures.
    Blown,
    /// A shadow falls on the bench.
    Shadow,
}

/// Something comes between for a while.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Occlusion {
    /// What.
    pub kind: OcclusionKind,
    /// Log time \[s\].
    pub at_s: f64,
    /// How long \[s\].
    pub duration_s: f64,
}
