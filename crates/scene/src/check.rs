//! From TOML text to a checked scene, with errors that name the line.

mod tube;

use toml::de::{DeTable, DeValue};

use crate::heating::{block, scan_span_c};
use crate::spec::{Container, Scene};

use self::tube::check_tube;

/// Latest log time that a scene may name \[s\].
const LATEST_S: f64 = 1e6;
/// Most pictures of a recording: over an hour at 30 a second.
const MOST_PICTURES: f64 = 120_000.0;

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
        let leads_elsewhere = self.name == "." || self.name == "..";
        if self.name.is_empty() || leads_elsewhere || self.name.contains(['/', '\\', '\0']) {
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
        self.check_scan()
    }

    /// The scan goes upwards and the recording has an end in sight.
    fn check_scan(&self) -> Result<(), SceneError> {
        let impossible = |error| value("programme", "impossible".into(), &format!("{error}"));
        let (start_c, end_c) = scan_span_c(self).map_err(impossible)?;
        if end_c <= start_c {
            let (key, found, expected) = match self.programme.end_c {
                Some(end_c) => ("end_c", end_c, format!("above the start at {start_c:.1}")),
                None => ("start_c", start_c, format!("below the end at {end_c:.1}")),
            };
            return Err(value(
                &format!("programme.{key}"),
                found.to_string(),
                &expected,
            ));
        }
        let programme_s = block(self).map_err(impossible)?.programme_end_s();
        let video_s = programme_s + self.programme.tail_s - self.log.video_start_s;
        let pictures = video_s * self.timing.frames_per_s;
        if !(1.0..=MOST_PICTURES).contains(&pictures) {
            let found = format!(
                "{}, which makes {pictures:.0} pictures over {video_s:.0} s",
                self.timing.frames_per_s
            );
            let expected = format!("1 to {MOST_PICTURES} pictures");
            return Err(value("timing.frames_per_s", found, &expected));
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
                ("lamp_tint", farthest(&picture.lamp_tint, 1.0), 0.05, 3.0),
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
        for gap in &self.log.gaps {
            ranges(
                "log.gaps",
                &[
                    ("from_s", gap.from_s, 0.0, LATEST_S),
                    ("to_s", gap.to_s, gap.from_s, LATEST_S),
                ],
            )?;
        }
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
                    ("at_s", step.at_s, 0.0, LATEST_S),
                ],
            )?;
        }
        for hunt in &camera.refocus {
            ranges(
                "camera.refocus",
                &[
                    ("blur_px", hunt.blur_px, 0.0, 20.0),
                    ("duration_s", hunt.duration_s, 0.01, 1e4),
                    ("at_s", hunt.at_s, 0.0, LATEST_S),
                ],
            )?;
        }
        for occlusion in &camera.occlusions {
            ranges(
                "camera.occlusions",
                &[
                    ("duration_s", occlusion.duration_s, 0.01, 1e4),
                    ("at_s", occlusion.at_s, 0.0, LATEST_S),
                ],
            )?;
        }
        Ok(())
    }
}

/// The component farthest from `middle`; one that is not a number is farthest of all.
fn farthest<const N: usize>(values: &[f64; N], middle: f64) -> f64 {
    let mut farthest = middle;
    for &value in values {
        if value.is_nan() {
            return value;
        }
        if (value - middle).abs() > (farthest - middle).abs() {
            farthest = value;
        }
    }
    farthest
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
