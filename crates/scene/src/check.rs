//! From TOML text to a checked scene, with errors that name the line.

use toml::de::{DeTable, DeValue};

use crate::heating::solid;
use crate::spec::{Container, Scene};
use crate::tube_spec::TubeSpec;

/// Why a scene cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SceneError {
    /// It is not TOML, or a key is unknown or of the wrong kind.
    #[error("line {line}: {message}")]
    Syntax {
        /// Line, from 1.
        line: usize,
        /// What the parser says.
        message: String,
    },
    /// A value is out of range.
    #[error("{}{key} is {found}; expected {expected}", at_line(*line))]
    Value {
        /// Line, from 1, when the key stands in the file.
        line: Option<usize>,
        /// Which key.
        key: String,
        /// What it is.
        found: String,
        /// What it may be.
        expected: String,
    },
}

fn at_line(line: Option<usize>) -> String {
    line.map_or_else(String::new, |line| format!("line {line}: "))
}

impl Scene {
    /// Parse and check a scene.
    ///
    /// # Errors
    /// [`SceneError`] with the line for a syntax error, an unknown key or a value out of range.
    ///
    /// # Example
    /// ```
    /// let scene = meltrange_scene::Scene::from_toml("[[tube]]\nmelts_at_c = 122.4\n")?;
    /// assert_eq!(scene.tubes.len(), 1);
    /// let error = meltrange_scene::Scene::from_toml("[[tube]]\ngrain_mm = 9.0\n").unwrap_err();
    /// assert_eq!(error.to_string(), "line 2: tube 1 grain_mm is 9; expected 0.05 to 0.5");
    /// # Ok::<(), meltrange_scene::SceneError>(())
    /// ```
    pub fn from_toml(text: &str) -> Result<Self, SceneError> {
        let scene: Self = toml::from_str(text).map_err(|error| SceneError::Syntax {
            line: error.span().map_or(1, |span| line_of(text, span.start)),
            message: error.message().trim().replace('\n', ", "),
        })?;
        scene.check().map_err(|error| error.located(text))?;
        Ok(scene)
    }

    /// The scene as TOML; [`Scene::from_toml`] reads it back equal.
    ///
    /// # Errors
    /// [`SceneError`] when a value has no place in TOML (a seed above 2⁶³).
    pub fn to_toml(&self) -> Result<String, SceneError> {
        toml::to_string(self).map_err(|error| SceneError::Value {
            line: None,
            key: "scene".into(),
            found: error.to_string(),
            expected: "values that TOML can hold".into(),
        })
    }

    /// Check every value against its range.
    ///
    /// # Errors
    /// [`SceneError::Value`] for the first one out of range.
    pub fn check(&self) -> Result<(), SceneError> {
        let count = |key: &str, found: usize, holds: bool, expected: &str| {
            if holds {
                Ok(())
            } else {
                Err(value(key, found.to_string(), expected))
            }
        };
        let (width, height) = (self.picture.width, self.picture.height);
        let size = |side: usize| side.is_multiple_of(2) && (64..=7680).contains(&side);
        count(
            "picture.width",
            width,
            size(width),
            "an even number from 64 to 7680",
        )?;
        count(
            "picture.height",
            height,
            size(height),
            "an even number from 64 to 7680",
        )?;
        let tubes = self.tubes.len();
        count(
            "tube",
            tubes,
            (1..=3).contains(&tubes),
            "1 to 3 [[tube]] tables",
        )?;
        if self.name.is_empty() || self.name.contains(['/', '\\', '\0']) {
            return Err(value(
                "name",
                format!("{:?}", self.name),
                "a name that can name a folder",
            ));
        }
        self.check_bench()?;
        self.check_camera()?;
        for (index, tube) in self.tubes.iter().enumerate() {
            check_tube(tube, index + 1)?;
        }
        if self.output.container == Container::Avi
            && (self.timing.jitter > 0.0 || self.timing.dropped_fraction > 0.0)
        {
            let expected =
                "another container: AVI keeps a steady rate only (timing has jitter or drops)";
            return Err(value("output.container", "\"avi\"".into(), expected));
        }
        Ok(())
    }

    fn check_bench(&self) -> Result<(), SceneError> {
        let (picture, programme) = (&self.picture, &self.programme);
        let shorter = picture.width.min(picture.height) as f64;
        ranges(
            "picture",
            &[
                ("lamp", picture.lamp, 0.05, 3.0),
                ("bore_px", picture.bore_px(), 12.0, 0.6 * shorter),
                ("spacing", picture.spacing, 1.4, 6.0),
                ("bottom_fraction", picture.bottom_fraction, 0.3, 0.97),
                ("centre_fraction", picture.centre_fraction, 0.1, 0.9),
                ("contrast", picture.contrast, 0.1, 1.2),
                ("lamp_tint", least(&picture.lamp_tint), 0.05, 3.0),
            ],
        )?;
        ranges(
            "programme",
            &[
                ("start_c", programme.start_c.unwrap_or(20.0), -50.0, 500.0),
                ("end_c", programme.end_c.unwrap_or(100.0), -50.0, 500.0),
                ("rate_c_per_min", programme.rate_c_per_min, 0.02, 50.0),
                ("soak_s", programme.soak_s, 0.0, 36_000.0),
                ("approach_c", programme.approach_c, 0.0, 300.0),
                (
                    "approach_rate_c_per_min",
                    programme.approach_rate_c_per_min,
                    0.1,
                    100.0,
                ),
                ("lag_s", programme.lag_s, 0.0, 600.0),
                ("ripple_c", programme.ripple_c, 0.0, 5.0),
                ("ripple_period_s", programme.ripple_period_s, 1.0, 3600.0),
                ("tail_s", programme.tail_s, 0.0, 36_000.0),
            ],
        )?;
        ranges(
            "log",
            &[
                ("interval_s", self.log.interval_s, 0.01, 60.0),
                ("quantum_c", self.log.quantum_c, 0.0, 2.0),
                ("noise_c", self.log.noise_c, 0.0, 2.0),
                ("jitter_s", self.log.jitter_s, 0.0, 5.0),
                ("video_start_s", self.log.video_start_s, 0.0, 36_000.0),
                ("tail_s", self.log.tail_s, 0.0, 3600.0),
            ],
        )?;
        ranges(
            "timing",
            &[
                ("frames_per_s", self.timing.frames_per_s, 0.2, 30.0),
                ("jitter", self.timing.jitter, 0.0, 0.45),
                ("dropped_fraction", self.timing.dropped_fraction, 0.0, 0.9),
            ],
        )?;
        ranges(
            "output",
            &[
                ("quality", self.output.quality, 0.0, 1.0),
                (
                    "key_frame_every",
                    f64::from(self.output.key_frame_every),
                    1.0,
                    1000.0,
                ),
            ],
        )
    }

    fn check_camera(&self) -> Result<(), SceneError> {
        let camera = &self.camera;
        ranges(
            "camera",
            &[
                ("blur_px", camera.blur_px, 0.0, 10.0),
                ("noise", camera.noise, 0.0, 40.0),
                ("shot_noise", camera.shot_noise, 0.0, 5.0),
                ("shake_px", camera.shake_px, 0.0, 40.0),
                ("drift_px", camera.drift_px, 0.0, 200.0),
                ("rotation_deg", camera.rotation_deg, 0.0, 20.0),
                ("zoom", camera.zoom, 0.0, 0.3),
                ("auto_exposure", camera.auto_exposure, 0.0, 1.0),
                ("auto_exposure_s", camera.auto_exposure_s, 0.1, 600.0),
                ("exposure_drift", camera.exposure_drift, -0.9, 2.0),
                ("flicker", camera.flicker, 0.0, 0.5),
                ("bands", camera.bands, 0.0, 0.5),
                ("white_balance", camera.white_balance, 0.0, 0.3),
                ("vignette", camera.vignette, 0.0, 1.0),
                ("uneven_light", camera.uneven_light, 0.0, 1.0),
                ("dust", f64::from(camera.dust), 0.0, 200.0),
            ],
        )?;
        for step in &camera.exposure_steps {
            ranges(
                "camera.exposure_steps",
                &[
                    ("gain", step.gain, 0.05, 10.0),
                    ("at_s", step.at_s, 0.0, 1e6),
                ],
            )?;
        }
        for hunt in &camera.refocus {
            ranges(
                "camera.refocus",
                &[
                    ("blur_px", hunt.blur_px, 0.0, 20.0),
                    ("duration_s", hunt.duration_s, 0.01, 1e4),
                    ("at_s", hunt.at_s, 0.0, 1e6),
                ],
            )?;
        }
        for occlusion in &camera.occlusions {
            ranges(
                "camera.occlusions",
                &[
                    ("duration_s", occlusion.duration_s, 0.01, 1e4),
                    ("at_s", occlusion.at_s, 0.0, 1e6),
                ],
            )?;
        }
        Ok(())
    }
}

fn check_tube(tube: &TubeSpec, number: usize) -> Result<(), SceneError> {
    let place = format!("tube {number}");
    ranges(
        &place,
        &[
            ("melts_at_c", tube.melts_at_c, -20.0, 450.0),
            (
                "impurity_mole_fraction",
                tube.impurity_mole_fraction,
                0.0,
                0.3,
            ),
            (
                "fusion_j_per_mol",
                tube.fusion_j_per_mol,
                1_000.0,
                200_000.0,
            ),
            (
                "molar_mass_g_per_mol",
                tube.molar_mass_g_per_mol,
                20.0,
                2_000.0,
            ),
            ("mass_mg", tube.mass_mg, 0.05, 50.0),
            (
                "thermal_resistance_k_per_w",
                tube.thermal_resistance_k_per_w,
                10.0,
                5_000.0,
            ),
            ("time_constant_s", tube.time_constant_s, 0.5, 300.0),
            ("place_offset_c", tube.place_offset_c, -10.0, 10.0),
            ("column_height_mm", tube.column_height_mm, 0.5, 8.0),
            ("grain_mm", tube.grain_mm, 0.05, 0.5),
            ("grain_spread", tube.grain_spread, 0.0, 0.8),
            ("elongation", tube.elongation, 1.0, 4.0),
            ("packing_fraction", tube.packing_fraction, 0.3, 0.9),
            ("top_roughness", tube.top_roughness, 0.0, 0.4),
            ("albedo", tube.albedo, 0.05, 1.0),
            ("tint", least(&tube.tint), 0.0, 3.0),
            ("dry_translucency", tube.dry_translucency, 0.0, 0.4),
            ("wet_translucency", tube.wet_translucency, 0.0, 0.5),
            ("held_fraction", tube.held_fraction, 0.0, 0.5),
            ("wall_first", tube.wall_first, 0.0, 1.0),
            ("patchiness", tube.patchiness, 0.0, 1.0),
            ("bottom_first", tube.bottom_first, -1.0, 1.0),
            ("grain_span", tube.grain_span, 0.03, 0.8),
            ("straggling", tube.straggling, 0.25, 1.0),
            ("collapse_from", tube.collapse_from, 0.0, 0.8),
            (
                "collapse_to",
                tube.collapse_to,
                tube.collapse_from + 0.02,
                1.0,
            ),
            ("jerkiness", tube.jerkiness, 0.0, 1.0),
            ("tilt_deg", tube.tilt_deg, -25.0, 25.0),
            ("specks", f64::from(tube.specks), 0.0, 50.0),
        ],
    )?;
    if let Some(eutectic_c) = tube.eutectic_c {
        let clear_c = tube.melts_at_c - 0.01;
        ranges(&place, &[("eutectic_c", eutectic_c, -50.0, clear_c)])?;
    }
    if let Err(error) = solid(tube) {
        let found = tube
            .eutectic_c
            .map_or("none".to_owned(), |eutectic_c| eutectic_c.to_string());
        return Err(value(
            &format!("{place} eutectic_c"),
            found,
            &format!("a possible melting law ({error})"),
        ));
    }
    for drop in &tube.settling {
        ranges(
            &format!("{place} settling"),
            &[
                ("drop_fraction", drop.drop_fraction, 0.0, 0.3),
                ("above_fraction", drop.above_fraction, 0.0, 0.9),
            ],
        )?;
    }
    if let Some(shrink) = tube.shrinkage {
        ranges(
            &format!("{place} shrinkage"),
            &[
                ("strength", shrink.strength, 0.0, 0.4),
                ("duration_s", shrink.duration_s, 0.0, 1e5),
                ("cracks", f64::from(shrink.cracks), 0.0, 6.0),
            ],
        )?;
    }
    for (name, onset) in [
        ("wetting", tube.wetting),
        ("glistening", tube.glistening),
        ("condensation", tube.condensation),
        ("sublimate", tube.sublimate),
        ("bubbles", tube.bubbles),
    ] {
        if let Some(onset) = onset {
            ranges(
                &format!("{place} {name}"),
                &[
                    ("strength", onset.strength, 0.0, 1.0),
                    ("duration_s", onset.duration_s, 0.0, 1e5),
                ],
            )?;
        }
    }
    if let Some(char) = tube.charring {
        ranges(
            &format!("{place} charring"),
            &[
                ("at_c", char.at_c, -50.0, 500.0),
                ("width_c", char.width_c, 0.05, 100.0),
                ("time_constant_s", char.time_constant_s, 0.1, 1e5),
                ("strength", char.strength, 0.0, 1.0),
            ],
        )?;
    }
    Ok(())
}

fn least(values: &[f64; 3]) -> f64 {
    values.iter().copied().fold(f64::INFINITY, f64::min)
}

fn ranges(place: &str, checks: &[(&str, f64, f64, f64)]) -> Result<(), SceneError> {
    for &(key, found, low, high) in checks {
        if !(low..=high).contains(&found) {
            let joint = if place.starts_with("tube ") { " " } else { "." };
            let expected = format!("{low} to {high}");
            return Err(value(
                &format!("{place}{joint}{key}"),
                found.to_string(),
                &expected,
            ));
        }
    }
    Ok(())
}

fn value(key: &str, found: String, expected: &str) -> SceneError {
    SceneError::Value {
        line: None,
        key: key.into(),
        found,
        expected: expected.into(),
    }
}

fn line_of(text: &str, offset: usize) -> usize {
    text.bytes()
        .take(offset)
        .filter(|&byte| byte == b'\n')
        .count()
        + 1
}

impl SceneError {
    /// Find the line of the key in the text, as far as it stands there.
    fn located(self, text: &str) -> Self {
        match self {
            Self::Value {
                line: None,
                key,
                found,
                expected,
            } => Self::Value {
                line: key_line(text, &key),
                key,
                found,
                expected,
            },
            located => located,
        }
    }
}

/// Line of a key written as `table.key` or `tube 2 table.key`.
fn key_line(text: &str, key: &str) -> Option<usize> {
    let document = DeTable::parse(text).ok()?;
    let mut table: &DeTable<'_> = document.get_ref();
    let mut steps: Vec<&str> = key.split([' ', '.']).collect();
    let last = steps.pop()?;
    let mut position = 0;
    while position < steps.len() {
        let next = table.get(steps[position])?.get_ref();
        table = match next {
            DeValue::Table(inner) => inner,
            DeValue::Array(items) => {
                // A number may follow and says which; otherwise the first that has the key.
                let chosen = steps
                    .get(position + 1)
                    .and_then(|step| step.parse::<usize>().ok());
                position += usize::from(chosen.is_some());
                let item = match chosen {
                    Some(number) => items.get(number.checked_sub(1)?)?,
                    None => items.iter().next()?,
                };
                item.get_ref().as_table()?
            }
            _ => return None,
        };
        position += 1;
    }
    let (found, _) = table.get_key_value(last)?;
    Some(line_of(text, found.span().start))
}
