//! The scene as written in its TOML file: everything has a default, unknown keys are errors.

use serde::{Deserialize, Serialize};

use crate::camera_spec::CameraSpec;
use crate::tube_spec::TubeSpec;

/// A scene: bench, camera, tubes and what goes wrong.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Scene {
    /// Short name, used for folders and in truth.
    pub name: String,
    /// What the scene is for.
    pub note: String,
    /// Kinds of trouble in it, for grouping results.
    pub tags: Vec<String>,
    /// Fixes everything random: same scene, same pictures.
    pub seed: u64,
    /// Size, light and surroundings.
    pub picture: PictureSpec,
    /// How the block is heated.
    pub programme: ProgrammeSpec,
    /// How the temperature is logged.
    pub log: LogSpec,
    /// When pictures are taken.
    pub timing: TimingSpec,
    /// How the pictures are kept.
    pub output: OutputSpec,
    /// Lens, sensor, hand and lamp.
    pub camera: CameraSpec,
    /// The places from left to right.
    #[serde(rename = "tube")]
    pub tubes: Vec<TubeSpec>,
}

impl Default for Scene {
    fn default() -> Self {
        Self {
            name: "scene".into(),
            note: String::new(),
            tags: Vec::new(),
            seed: 1,
            picture: PictureSpec::default(),
            programme: ProgrammeSpec::default(),
            log: LogSpec::default(),
            timing: TimingSpec::default(),
            output: OutputSpec::default(),
            camera: CameraSpec::default(),
            tubes: vec![TubeSpec::default()],
        }
    }
}

/// From where the light comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Light {
    /// Lamp on the camera's side: powder bright on dark.
    Front,
    /// Diffuser behind the tubes: powder dark on bright.
    Back,
}

/// What stands behind and around the tubes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Backdrop {
    /// An even surface with a soft gradient.
    Plain,
    /// A milled slot in brushed metal.
    Slot,
    /// A window with rounded corners in a block.
    Port,
    /// The round field of an eyepiece.
    Eyepiece,
}

/// Size, light and surroundings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct PictureSpec {
    /// Columns, even \[px\].
    pub width: usize,
    /// Rows, even \[px\].
    pub height: usize,
    /// Colour or grey.
    pub colour: bool,
    /// From where the light comes.
    pub light: Light,
    /// Brightness of the lamp; 1 is a good exposure.
    pub lamp: f64,
    /// Colour of the lamp, red green blue; 1 is neutral.
    pub lamp_tint: [f64; 3],
    /// What is behind the tubes.
    pub backdrop: Backdrop,
    /// Bore of a capillary, taken as 1 mm \[px\]; default 0.12 of the smaller picture side.
    pub bore_px: Option<f64>,
    /// Distance of neighbouring tubes in bores.
    pub spacing: f64,
    /// Height of the sealed bottoms, as part of the picture's height from its top.
    pub bottom_fraction: f64,
    /// Horizontal position of the middle tube, as part of the width.
    pub centre_fraction: f64,
    /// Contrast of the powder against what is behind it; 1 is normal.
    pub contrast: f64,
}

impl Default for PictureSpec {
    fn default() -> Self {
        Self {
            width: 640,
            height: 480,
            colour: true,
            light: Light::Front,
            lamp: 1.0,
            lamp_tint: [1.0, 0.97, 0.9],
            backdrop: Backdrop::Slot,
            bore_px: None,
            spacing: 1.9,
            bottom_fraction: 0.78,
            centre_fraction: 0.5,
            contrast: 1.0,
        }
    }
}

impl PictureSpec {
    /// Bore in pixels: as given, or the default.
    pub fn bore_px(&self) -> f64 {
        self.bore_px
            .unwrap_or(self.width.min(self.height) as f64 * 0.12)
    }
}

/// How the block is heated.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct ProgrammeSpec {
    /// Block temperature at the start \[°C\]; default 3 °C below the first melting.
    pub start_c: Option<f64>,
    /// End of the scan \[°C\]; default a little above the last clear point.
    pub end_c: Option<f64>,
    /// Heating rate of the scan \[°C/min\].
    pub rate_c_per_min: f64,
    /// Soak before the scan \[s\].
    pub soak_s: f64,
    /// A fast approach before the soak: how far below the start it begins \[°C\], 0 for none.
    pub approach_c: f64,
    /// Rate of the approach \[°C/min\].
    pub approach_rate_c_per_min: f64,
    /// First-order lag of the block behind the setpoint \[s\].
    pub lag_s: f64,
    /// Amplitude of the controller's cycling \[°C\].
    pub ripple_c: f64,
    /// Period of the cycling \[s\].
    pub ripple_period_s: f64,
    /// How long the recording goes on after the scan \[s\].
    pub tail_s: f64,
}

impl Default for ProgrammeSpec {
    fn default() -> Self {
        Self {
            start_c: None,
            end_c: None,
            rate_c_per_min: 1.0,
            soak_s: 20.0,
            approach_c: 0.0,
            approach_rate_c_per_min: 10.0,
            lag_s: 8.0,
            ripple_c: 0.02,
            ripple_period_s: 27.0,
            tail_s: 10.0,
        }
    }
}

/// A stretch of time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Span {
    /// Begin, log clock \[s\].
    pub from_s: f64,
    /// End \[s\].
    pub to_s: f64,
}

/// How the temperature is logged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct LogSpec {
    /// Between samples \[s\].
    pub interval_s: f64,
    /// Resolution \[°C\]; 0 for none.
    pub quantum_c: f64,
    /// Standard deviation of one sample \[°C\].
    pub noise_c: f64,
    /// Standard deviation of the sampling times \[s\].
    pub jitter_s: f64,
    /// Stretches without samples.
    pub gaps: Vec<Span>,
    /// The log is so far on when the video starts \[s\].
    pub video_start_s: f64,
    /// The log goes on after the video for this long \[s\].
    pub tail_s: f64,
}

impl Default for LogSpec {
    fn default() -> Self {
        Self {
            interval_s: 0.5,
            quantum_c: 0.1,
            noise_c: 0.02,
            jitter_s: 0.02,
            gaps: Vec::new(),
            video_start_s: 0.0,
            tail_s: 2.0,
        }
    }
}

/// When pictures are taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct TimingSpec {
    /// Mean pictures a second, 0.2 to 30.
    pub frames_per_s: f64,
    /// Relative standard deviation of the spacing; 0 is a steady rate.
    pub jitter: f64,
    /// Part of the pictures lost at random.
    pub dropped_fraction: f64,
}

impl Default for TimingSpec {
    fn default() -> Self {
        Self {
            frames_per_s: 1.0,
            jitter: 0.0,
            dropped_fraction: 0.0,
        }
    }
}

/// What the pictures are kept in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Container {
    /// H.264 in MP4.
    Mp4,
    /// HEVC in MP4.
    Mp4Hevc,
    /// H.264 in Matroska.
    Mkv,
    /// MJPEG in AVI; a steady rate only.
    Avi,
    /// VP9 in WebM.
    Webm,
    /// A folder of JPEG pictures with `frames.csv`.
    Frames,
}

/// How the pictures are kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct OutputSpec {
    /// What in.
    pub container: Container,
    /// 0 coarsest to 1 finest compression.
    pub quality: f64,
    /// Most pictures between two that decode on their own.
    pub key_frame_every: u32,
}

impl Default for OutputSpec {
    fn default() -> Self {
        Self {
            container: Container::Mp4,
            quality: 0.5,
            key_frame_every: 50,
        }
    }
}
