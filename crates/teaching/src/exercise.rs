//! Exercises: recordings of one tube that are drawn, so that what really happened is known.

use meltrange_scene::{
    Backdrop, CameraSpec, Light, LogSpec, Onset, PictureSpec, ProgrammeSpec, Remnants, Scene,
    Settling, TimingSpec, TubeSpec,
};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde::{Deserialize, Serialize};

/// Columns and rows of a picture [px]: upright, as a capillary is, and small enough to be drawn while one waits.
const WIDTH_PX: usize = 240;
const HEIGHT_PX: usize = 320;

/// Heating rate of every exercise [°C/min], that of a careful determination.
pub(crate) const RATE_C_PER_MIN: f64 = 1.0;

/// Soak before the scan, and what is recorded after it [s].
const SOAK_S: f64 = 8.0;
const TAIL_S: f64 = 4.0;

/// Longest time between two pictures [s]: at the heating rate here 0.08 °C.
const SPACING_S: f64 = 4.8;

/// By how much visible melting may begin before the block is at the melting temperature of the pure substance [s]; it
/// did so by up to 58 s, and up to 34 s after it, in 360 exercises.
const MELTS_EARLY_S: f64 = 40.0;

/// What is to mislead comes at least so long before that [s]; in 180 exercises it came 57 s or more, 0.9 °C, before the
/// first liquid, which is more than a limit of 0.5 °C lets pass.
const WELL_BEFORE_S: f64 = 50.0;

/// Nothing happens before this [s]: one looks at the recording first.
const SETTLED_S: f64 = 20.0;

/// By how much longer than others a recording with a late last crystal goes on [s].
const LATE_S: f64 = 80.0;

/// Scan before the melting temperature that has room for what is to mislead [s].
const EVENTFUL_BEFORE_S: f64 = 170.0;

/// What makes an exercise hard; from plain to tricky in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum ExerciseKind {
    /// A white powder in good light that does nothing but melt.
    Plain,
    /// Little contrast and a dim, noisy picture.
    Faint,
    /// The powder drops while it is still dry.
    Settling,
    /// It sparkles or becomes moist well before the first liquid.
    Glistening,
    /// A few crystals straggle, hanging at the wall or floating.
    LateLastCrystal,
    /// Several of these at once.
    Combined,
    /// One of the book's own recordings that several readers agreed on; it is not drawn.
    Recording,
}

impl ExerciseKind {
    /// Those that are drawn, from plain to tricky.
    pub const SIMULATED: [Self; 6] = [
        Self::Plain,
        Self::Faint,
        Self::Settling,
        Self::Glistening,
        Self::LateLastCrystal,
        Self::Combined,
    ];

    /// As written in addresses and records.
    pub fn code(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Faint => "faint",
            Self::Settling => "settling",
            Self::Glistening => "glistening",
            Self::LateLastCrystal => "late_last_crystal",
            Self::Combined => "combined",
            Self::Recording => "recording",
        }
    }

    /// The kind of a code; `None` for what is no code.
    pub fn of_code(code: &str) -> Option<Self> {
        Self::SIMULATED
            .into_iter()
            .chain([Self::Recording])
            .find(|kind| kind.code() == code)
    }
}

/// The scene of an exercise: one tube at 1 °C/min, 60 to 140 pictures.
///
/// # Arguments
/// * `kind`: what makes it hard.
/// * `seed`: fixes everything else, from substance and light to the last grain; kinds share no scene.
///
/// # Returns
/// `None` for [`ExerciseKind::Recording`], which is not drawn. Tags of the scene are the kind's code and its light.
pub fn scene(kind: ExerciseKind, seed: u64) -> Option<Scene> {
    let place = ExerciseKind::SIMULATED
        .iter()
        .position(|&simulated| simulated == kind)?;
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream(place as u64 + 1);
    let mut draft = Draft::new(rng);
    match kind {
        ExerciseKind::Plain | ExerciseKind::Recording => {}
        ExerciseKind::Faint => draft.faint(),
        ExerciseKind::Settling => draft.settling(),
        ExerciseKind::Glistening => draft.glistening(),
        ExerciseKind::LateLastCrystal => draft.late_last_crystal(),
        ExerciseKind::Combined => draft.combined(),
    }
    Some(draft.finish(kind, seed))
}

/// An exercise being put together.
struct Draft {
    rng: ChaCha8Rng,
    picture: PictureSpec,
    camera: CameraSpec,
    tube: TubeSpec,
    /// Pictures wanted; more where they would be too far between.
    pictures: f64,
    /// Scan before the melting temperature of the pure substance, and after it [s].
    before_s: f64,
    after_s: f64,
}

impl Draft {
    fn new(mut rng: ChaCha8Rng) -> Self {
        let rng = &mut rng;
        let light = if rng.random::<bool>() {
            Light::Front
        } else {
            Light::Back
        };
        let picture = PictureSpec {
            width: WIDTH_PX,
            height: HEIGHT_PX,
            light,
            lamp: uniform(rng, 0.85, 1.1),
            lamp_tint: [[1.0, 0.97, 0.9], [1.0, 1.0, 1.0], [0.92, 0.98, 1.05]]
                [rng.random_range(0..3)],
            backdrop: [Backdrop::Plain, Backdrop::Slot, Backdrop::Port][rng.random_range(0..3)],
            bore_px: Some(uniform(rng, 50.0, 62.0).round()),
            bottom_fraction: uniform(rng, 0.82, 0.9),
            centre_fraction: uniform(rng, 0.45, 0.55),
            ..PictureSpec::default()
        };
        let camera = CameraSpec {
            blur_px: uniform(rng, 0.5, 0.9),
            noise: uniform(rng, 0.8, 2.0),
            ..CameraSpec::default()
        };
        Self {
            picture,
            camera,
            tube: powder(rng),
            pictures: f64::from(rng.random_range(84..126_u32)),
            before_s: uniform(rng, 120.0, 240.0),
            after_s: uniform(rng, 100.0, 170.0),
            rng: rng.clone(),
        }
    }

    fn faint(&mut self) {
        let rng = &mut self.rng;
        self.picture.contrast = uniform(rng, 0.4, 0.55);
        self.picture.lamp = uniform(rng, 0.6, 0.75);
        self.camera.noise = uniform(rng, 2.5, 4.0);
        self.tube.albedo = uniform(rng, 0.5, 0.75);
    }

    fn settling(&mut self) {
        let drops = self.rng.random_range(1..=3_u32);
        for number in 0..drops {
            let part = (f64::from(number) + uniform(&mut self.rng, 0.2, 1.0)) / f64::from(drops);
            let at_s = self.well_before_melting_s(part);
            self.tube.settling.push(Settling {
                at_s: Some(at_s),
                at_c: None,
                drop_fraction: uniform(&mut self.rng, 0.05, 0.14),
                above_fraction: uniform(&mut self.rng, 0.1, 0.5),
            });
        }
    }

    fn glistening(&mut self) {
        let part = uniform(&mut self.rng, 0.4, 1.0);
        let at_s = Some(self.well_before_melting_s(part));
        let onset = |rng: &mut ChaCha8Rng, duration_s| {
            Some(Onset {
                at_s,
                at_c: None,
                duration_s,
                strength: uniform(rng, 0.6, 0.95),
            })
        };
        match self.rng.random_range(0..3) {
            0 => self.tube.glistening = onset(&mut self.rng, 20.0),
            1 => self.tube.wetting = onset(&mut self.rng, 45.0),
            _ => {
                self.tube.glistening = onset(&mut self.rng, 20.0);
                self.tube.wetting = onset(&mut self.rng, 60.0);
            }
        }
    }

    fn late_last_crystal(&mut self) {
        let rng = &mut self.rng;
        self.tube.straggling = uniform(rng, 0.25, 0.3);
        self.tube.grain_span = uniform(rng, 0.16, 0.24);
        self.tube.impurity_mole_fraction = uniform(rng, 0.001, 0.002);
        // A good filling in poor contact with the block: the end takes its time.
        self.tube.thermal_resistance_k_per_w = uniform(rng, 600.0, 850.0);
        self.tube.mass_mg = uniform(rng, 1.9, 2.4);
        self.tube.remnants = if rng.random::<bool>() {
            Remnants::Hang
        } else {
            Remnants::Float
        };
        self.after_s += LATE_S;
    }

    fn combined(&mut self) {
        self.late_last_crystal();
        if self.rng.random::<bool>() {
            self.faint();
        }
        self.glistening();
        self.settling();
        self.tube.specks = self.rng.random_range(3..8);
    }

    /// A log time between shortly after the start and well before the first liquid [s]: whoever takes what happens then for
    /// melting is further off than the limit. Recordings in which something happens begin earlier to have room for it.
    fn well_before_melting_s(&mut self, part: f64) -> f64 {
        self.before_s = self.before_s.max(EVENTFUL_BEFORE_S);
        let latest_s = SOAK_S + self.before_s - MELTS_EARLY_S - WELL_BEFORE_S;
        (SETTLED_S + part * (latest_s - SETTLED_S)).round()
    }

    fn finish(self, kind: ExerciseKind, seed: u64) -> Scene {
        let duration_s = SOAK_S + self.before_s + self.after_s + TAIL_S;
        let pictures = self.pictures.max((duration_s / SPACING_S).ceil());
        let rise_c = |time_s: f64| time_s / 60.0 * RATE_C_PER_MIN;
        let light = match self.picture.light {
            Light::Front => "front",
            Light::Back => "back",
        };
        Scene {
            name: format!("{}_{seed}", kind.code()),
            note: "an exercise in reading".to_owned(),
            tags: vec![kind.code().to_owned(), light.to_owned()],
            // A stream of its own for each kind: the same seed is another tube.
            seed: self.rng.clone().random(),
            picture: self.picture,
            programme: ProgrammeSpec {
                start_c: Some(self.tube.melts_at_c - rise_c(self.before_s)),
                end_c: Some(self.tube.melts_at_c + rise_c(self.after_s)),
                rate_c_per_min: RATE_C_PER_MIN,
                soak_s: SOAK_S,
                tail_s: TAIL_S,
                ..ProgrammeSpec::default()
            },
            log: LogSpec::default(),
            timing: TimingSpec {
                frames_per_s: pictures / duration_s,
                ..TimingSpec::default()
            },
            camera: self.camera,
            tubes: vec![self.tube],
            ..Scene::default()
        }
    }
}

/// A white powder as it comes: everything a little different from seed to seed.
fn powder(rng: &mut ChaCha8Rng) -> TubeSpec {
    let collapse_from = uniform(rng, 0.1, 0.3);
    TubeSpec {
        melts_at_c: (uniform(rng, 55.0, 215.0) * 10.0).round() / 10.0,
        impurity_mole_fraction: uniform(rng, 0.0003, 0.0012),
        column_height_mm: uniform(rng, 2.3, 3.1),
        grain_mm: uniform(rng, 0.1, 0.17),
        grain_spread: uniform(rng, 0.15, 0.45),
        elongation: uniform(rng, 1.0, 2.0),
        packing_fraction: uniform(rng, 0.48, 0.66),
        top_roughness: uniform(rng, 0.03, 0.12),
        albedo: uniform(rng, 0.8, 0.95),
        dry_translucency: uniform(rng, 0.03, 0.1),
        wet_translucency: uniform(rng, 0.3, 0.45),
        held_fraction: uniform(rng, 0.04, 0.1),
        wall_first: uniform(rng, 0.3, 0.9),
        patchiness: uniform(rng, 0.3, 0.9),
        bottom_first: uniform(rng, -0.3, 0.3),
        grain_span: uniform(rng, 0.08, 0.18),
        straggling: uniform(rng, 0.55, 0.8),
        collapse_from,
        collapse_to: collapse_from + uniform(rng, 0.3, 0.5),
        jerkiness: rng.random::<f64>(),
        thermal_resistance_k_per_w: uniform(rng, 180.0, 320.0),
        time_constant_s: uniform(rng, 2.5, 5.5),
        remnants: Remnants::Mixed,
        specks: rng.random_range(0..3),
        tilt_deg: uniform(rng, -1.5, 1.5),
        ..TubeSpec::default()
    }
}

fn uniform(rng: &mut ChaCha8Rng, low: f64, high: f64) -> f64 {
    low + (high - low) * rng.random::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::AnswerKey;
    use meltrange_scene::Film;

    #[test]
    fn a_seed_fixes_the_scene_and_another_is_another() {
        for kind in ExerciseKind::SIMULATED {
            assert_eq!(scene(kind, 5), scene(kind, 5));
            let scenes = [5, 6, 7].map(|seed| scene(kind, seed).expect("simulated"));
            for (one, other) in [(0, 1), (1, 2), (0, 2)] {
                assert_ne!(scenes[one].seed, scenes[other].seed);
                assert_ne!(
                    scenes[one].tubes[0].melts_at_c,
                    scenes[other].tubes[0].melts_at_c
                );
            }
        }
        let seeds = ExerciseKind::SIMULATED.map(|kind| scene(kind, 5).expect("simulated").seed);
        let mut unique = seeds.to_vec();
        unique.sort_unstable();
        unique.dedup();
        assert_eq!(unique.len(), seeds.len());
        assert_eq!(scene(ExerciseKind::Recording, 5), None);
    }

    /// Scenes are written and read back as any other, which checks every value against its range.
    #[test]
    fn scenes_are_sound_for_any_seed() {
        let mut lights = [0; 2];
        for kind in ExerciseKind::SIMULATED {
            for seed in (0..200).chain([u64::MAX]) {
                let scene = scene(kind, seed).expect("simulated");
                scene.check().expect("every value in its range");
                assert_eq!(scene.tubes.len(), 1);
                lights[usize::from(scene.picture.light == Light::Back)] += 1;
                let melts_at_c = scene.tubes[0].melts_at_c;
                assert!((50.0..=220.0).contains(&melts_at_c), "{melts_at_c}");
            }
        }
        assert!(lights.iter().all(|&count| count > 400), "{lights:?}");
    }

    #[test]
    fn both_moments_are_in_it_and_what_misleads_is_far_enough() {
        for kind in ExerciseKind::SIMULATED {
            for seed in [1, 2] {
                let film = Film::new(scene(kind, seed).expect("simulated")).expect("sound");
                let name = &film.scene().name;
                let pictures = film.times_s().len();
                assert!((60..=140).contains(&pictures), "{name}: {pictures}");
                let key = AnswerKey::of_film(&film).expect("both moments");
                let (first_s, last_s) = (key.first_liquid.time_s, key.last_crystal.time_s);
                assert!(
                    first_s > 60.0 && last_s > first_s,
                    "{name}: {first_s} {last_s}"
                );
                assert!(film.end_s() - last_s > 15.0, "{name}: {last_s}");
                for event in &key.events {
                    if event.kind != "collapse" {
                        assert!(first_s - event.from_s > 40.0, "{name}: {event:?}");
                    }
                }
                let has = |what: &str| key.events.iter().any(|event| event.kind == what);
                let moist = has("glistening") || has("wetting");
                let combined = kind == ExerciseKind::Combined;
                assert_eq!(has("settling"), combined || kind == ExerciseKind::Settling);
                assert_eq!(moist, combined || kind == ExerciseKind::Glistening);
                // From a quarter of the solid to the end: it takes longer only where it is to be late.
                let quarter_s = key
                    .track
                    .times_s()
                    .iter()
                    .copied()
                    .filter(|&time_s| key.solid_left(time_s).is_some_and(|left| left >= 0.25))
                    .fold(0.0, f64::max);
                let late = combined || kind == ExerciseKind::LateLastCrystal;
                let tail_s = last_s - quarter_s;
                assert_eq!(tail_s > 22.0, late, "{name}: {tail_s}");
            }
        }
    }
}
