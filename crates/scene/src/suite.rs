//! A suite of varied scenes: every kind of trouble, front- and back-lit, alone and combined.

mod load;
mod powder;
mod view;

use rand::RngExt;
use rand_chacha::ChaCha8Rng;

use crate::random::{Purpose, normal, stream, uniform};
use crate::spec::{Backdrop, Light, Scene};
use crate::tube_spec::{Charring, Onset, Remnants, Settling, TubeSpec};

/// The scenes of the suite for a seed, in a fixed order; names are unique, the first tag is the kind.
pub fn suite(seed: u64) -> Vec<Scene> {
    let mut scenes = Vec::new();
    for (number, kind) in [powder::KINDS, view::KINDS, load::KINDS]
        .concat()
        .iter()
        .enumerate()
    {
        let lights: &[Light] = match kind.lit {
            Lit::Front => &[Light::Front],
            Lit::Back => &[Light::Back],
            Lit::Both => &[Light::Front, Light::Back],
        };
        for (variant, &light) in lights.iter().enumerate() {
            let own_seed = seed.wrapping_mul(1000) + 10 * number as u64 + variant as u64;
            let mut draft = Draft::new(own_seed, light, kind.tubes);
            (kind.change)(&mut draft);
            let mut scene = draft.finish();
            let side = if light == Light::Front {
                "front"
            } else {
                "back"
            };
            scene.name = format!("{:02}_{}_{side}", number + 1, kind.name);
            scene.tags = kind.tags.iter().map(|tag| (*tag).to_owned()).collect();
            scene.tags.push(side.to_owned());
            scene.note = kind.note.to_owned();
            scenes.push(scene);
        }
    }
    scenes
}

/// Under which light a kind is made.
#[derive(Debug, Clone, Copy)]
enum Lit {
    Front,
    Back,
    Both,
}

/// One kind of scene.
#[derive(Clone, Copy)]
struct Kind {
    name: &'static str,
    tags: &'static [&'static str],
    note: &'static str,
    lit: Lit,
    tubes: usize,
    change: fn(&mut Draft),
}

const fn kind(
    name: &'static str,
    tags: &'static [&'static str],
    note: &'static str,
    lit: Lit,
    tubes: usize,
    change: fn(&mut Draft),
) -> Kind {
    Kind {
        name,
        tags,
        note,
        lit,
        tubes,
        change,
    }
}

/// A scene being put together.
pub(crate) struct Draft {
    pub(crate) scene: Scene,
    pub(crate) rng: ChaCha8Rng,
    /// Melting temperature that all tubes are near \[°C\].
    pub(crate) melts_at_c: f64,
    /// Length of the recording \[s\].
    pub(crate) duration_s: f64,
    /// Part of the scan before the melting temperature.
    pub(crate) before_fraction: f64,
}

impl Draft {
    fn new(seed: u64, light: Light, tubes: usize) -> Self {
        let mut rng = stream(seed, Purpose::Backdrop, 77);
        let mut scene = Scene {
            seed,
            ..Scene::default()
        };
        let melts_at_c = (uniform(&mut rng, 55.0, 215.0) * 10.0).round() / 10.0;
        scene.picture.light = light;
        scene.picture.backdrop = [
            Backdrop::Plain,
            Backdrop::Slot,
            Backdrop::Port,
            Backdrop::Eyepiece,
        ][rng.random_range(0..4)];
        scene.picture.lamp = uniform(&mut rng, 0.8, 1.15);
        scene.picture.lamp_tint =
            [[1.0, 0.97, 0.9], [1.0, 1.0, 1.0], [0.92, 0.98, 1.05]][rng.random_range(0..3)];
        scene.picture.spacing = uniform(&mut rng, 1.65, 2.2);
        scene.picture.bottom_fraction = uniform(&mut rng, 0.7, 0.88);
        scene.picture.centre_fraction = uniform(&mut rng, 0.45, 0.55);
        scene.picture.bore_px = Some(uniform(&mut rng, 46.0, 66.0).round());
        scene.output.quality = uniform(&mut rng, 0.35, 0.65);
        scene.camera.blur_px = uniform(&mut rng, 0.6, 1.3);
        scene.camera.noise = uniform(&mut rng, 0.8, 2.5);
        scene.programme.rate_c_per_min = 1.0;
        scene.programme.ripple_c = uniform(&mut rng, 0.0, 0.04);
        scene.tubes = (0..tubes)
            .map(|_| varied_tube(&mut rng, melts_at_c))
            .collect();
        Self {
            scene,
            rng,
            melts_at_c,
            duration_s: 330.0,
            before_fraction: 0.52,
        }
    }

    /// Fit the programme to the wanted length.
    fn finish(mut self) -> Scene {
        let programme = &mut self.scene.programme;
        let scan_s = self.duration_s - programme.soak_s - programme.tail_s;
        let scan_c = scan_s / 60.0 * programme.rate_c_per_min;
        let start_c = self.melts_at_c - self.before_fraction * scan_c;
        programme
            .start_c
            .get_or_insert((start_c * 10.0).round() / 10.0);
        programme
            .end_c
            .get_or_insert(((start_c + scan_c) * 10.0).round() / 10.0);
        self.scene
    }

    /// A log time at a part of the way from the start to the first melting \[s\].
    pub(crate) fn before_melting_s(&mut self, part: f64) -> f64 {
        let programme = &self.scene.programme;
        let scan_s = self.duration_s - programme.soak_s - programme.tail_s;
        // Visible melting begins about half a degree early for the purest samples here.
        let early_s = 40.0 / programme.rate_c_per_min;
        let melting_s = programme.soak_s + self.before_fraction * scan_s - early_s;
        (melting_s * part).round()
    }

    /// A trouble that begins well before melting.
    pub(crate) fn early(&mut self, duration_s: f64, strength: f64) -> Option<Onset> {
        let part = uniform(&mut self.rng, 0.3, 0.6);
        let at_s = Some(self.before_melting_s(part));
        Some(Onset {
            at_s,
            at_c: None,
            duration_s,
            strength,
        })
    }

    pub(crate) fn each(&mut self, mut change: impl FnMut(&mut TubeSpec, &mut ChaCha8Rng, usize)) {
        for (index, tube) in self.scene.tubes.iter_mut().enumerate() {
            change(tube, &mut self.rng, index);
        }
    }
}

/// A white powder as it comes: everything a little different from tube to tube.
fn varied_tube(rng: &mut ChaCha8Rng, melts_at_c: f64) -> TubeSpec {
    let collapse_from = uniform(rng, 0.08, 0.3);
    TubeSpec {
        melts_at_c: melts_at_c + 0.08 * normal(rng),
        impurity_mole_fraction: uniform(rng, 0.0002, 0.0015),
        column_height_mm: uniform(rng, 2.0, 3.1),
        grain_mm: uniform(rng, 0.085, 0.16),
        grain_spread: uniform(rng, 0.15, 0.45),
        elongation: uniform(rng, 1.0, 2.0),
        packing_fraction: uniform(rng, 0.48, 0.68),
        top_roughness: uniform(rng, 0.03, 0.12),
        albedo: uniform(rng, 0.78, 0.95),
        dry_translucency: uniform(rng, 0.03, 0.12),
        wet_translucency: uniform(rng, 0.3, 0.48),
        held_fraction: uniform(rng, 0.04, 0.12),
        wall_first: uniform(rng, 0.3, 0.9),
        patchiness: uniform(rng, 0.3, 0.9),
        bottom_first: uniform(rng, -0.3, 0.3),
        grain_span: uniform(rng, 0.07, 0.22),
        straggling: uniform(rng, 0.35, 0.8),
        collapse_from,
        collapse_to: collapse_from + uniform(rng, 0.3, 0.5),
        jerkiness: rng.random::<f64>(),
        thermal_resistance_k_per_w: uniform(rng, 180.0, 340.0),
        time_constant_s: uniform(rng, 2.5, 6.0),
        remnants: [
            Remnants::Mixed,
            Remnants::Float,
            Remnants::Sink,
            Remnants::Hang,
        ][rng.random_range(0..4)],
        specks: rng.random_range(0..7),
        shift_px: [1.5 * normal(rng), 2.0 * normal(rng)],
        tilt_deg: 0.4 * normal(rng),
        ..TubeSpec::default()
    }
}

fn drop(at_s: f64, drop_fraction: f64, above_fraction: f64) -> Settling {
    Settling {
        at_s: Some(at_s),
        at_c: None,
        drop_fraction,
        above_fraction,
    }
}

fn charring(at_c: f64, strength: f64, time_constant_s: f64) -> Charring {
    Charring {
        at_c,
        width_c: 1.0,
        time_constant_s,
        strength,
    }
}

fn size(draft: &mut Draft, (width, height): (usize, usize), bore_px: f64) {
    draft.scene.picture.width = width;
    draft.scene.picture.height = height;
    draft.scene.picture.bore_px = Some(bore_px);
}
