//! `[camera]`.

use meltrange_scene::Scene;
use serde::{Deserialize, Serialize};

/// What takes the pictures.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum CameraSpec {
    /// The camera of a laptop, tablet or phone, through its browser.
    #[default]
    Browser,
    /// Of the simulated bench.
    Simulated(Box<SimulatedCamera>),
}

/// What the simulated camera sees.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct SimulatedCamera {
    /// Pictures a second of the bench's clock.
    pub frames_per_s: f64,
    /// Tubes, light and camera as in a scene file; fresh tubes of the kind are set in for every run.
    pub scene: Scene,
}

impl Default for SimulatedCamera {
    fn default() -> Self {
        Self {
            frames_per_s: 1.0,
            scene: Scene::default(),
        }
    }
}
