//! Lens, hand, lamp and sensor: from levels of the scene to 8-bit luma.

use crate::backdrop::dust;
use crate::camera_spec::{CameraSpec, Occlusion, OcclusionKind};
use crate::random::{Purpose, Wander, mix, normal, smooth_step, stream, uniform};
use crate::spec::{Light, Scene};

/// Entries of the noise table; a power of two.
const NOISE_ENTRIES: usize = 1 << 16;

/// Everything of the camera that is fixed for a scene.
#[derive(Debug)]
pub(crate) struct Camera {
    spec: CameraSpec,
    width: usize,
    height: usize,
    light: Light,
    seed: u64,
    /// Gain per pixel: uneven light, vignetting, dust, uneven sensor.
    shading: Vec<f32>,
    noise: Vec<f32>,
    shake: [Wander; 2],
    drift: [Wander; 2],
    turn: Wander,
    zoom: Wander,
    exposure: Wander,
    white: Wander,
    occlusion_from: f64,
}

/// Where a picture position of one frame comes from in the steady scene.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Warp {
    /// Source = matrix · (position − centre) + centre + shift.
    matrix: [f64; 2],
    shift: [f64; 2],
    centre: [f64; 2],
}

impl Warp {
    pub(crate) fn source(&self, x: f64, y: f64) -> (f64, f64) {
        let (dx, dy) = (x - self.centre[0], y - self.centre[1]);
        let [a, b] = self.matrix;
        (
            a * dx - b * dy + self.centre[0] + self.shift[0],
            b * dx + a * dy + self.centre[1] + self.shift[1],
        )
    }

    fn is_identity(&self) -> bool {
        self.shift.iter().all(|shift| shift.abs() < 1e-9)
            && (self.matrix[0] - 1.0).abs() < 1e-12
            && self.matrix[1].abs() < 1e-12
    }
}

impl Camera {
    pub(crate) fn new(scene: &Scene, end_s: f64) -> Self {
        let spec = scene.camera.clone();
        let mut rng = stream(scene.seed, Purpose::Camera, 0);
        let slow = (0.35 * end_s).max(20.0);
        let mut wander = |short: f64, long: f64| Wander::new(&mut rng, short, long);
        let shake = [wander(0.25, 2.0), wander(0.25, 2.0)];
        let drift = [wander(slow, 4.0 * slow), wander(slow, 4.0 * slow)];
        let (turn, zoom) = (wander(slow, 3.0 * slow), wander(12.0, 60.0));
        let (exposure, white) = (wander(slow, 3.0 * slow), wander(slow, 3.0 * slow));
        let occlusion_from = uniform(&mut rng, -0.3, 0.3);
        let mut noise_rng = stream(scene.seed, Purpose::Sensor, 0);
        let white_noise: Vec<f64> = (0..NOISE_ENTRIES).map(|_| normal(&mut noise_rng)).collect();
        // Cameras smooth a little along rows; the table keeps a standard deviation of 1.
        let norm = (0.25f64.powi(2) * 2.0 + 0.5f64.powi(2)).sqrt();
        let noise = (0..NOISE_ENTRIES)
            .map(|at| {
                let next = white_noise[(at + 1) % NOISE_ENTRIES];
                let last = white_noise[(at + 2) % NOISE_ENTRIES];
                ((0.25 * white_noise[at] + 0.5 * next + 0.25 * last) / norm) as f32
            })
            .collect();
        Self {
            shading: shading(scene),
            spec,
            width: scene.picture.width,
            height: scene.picture.height,
            light: scene.picture.light,
            seed: scene.seed,
            noise,
            shake,
            drift,
            turn,
            zoom,
            exposure,
            white,
            occlusion_from,
        }
    }

    /// How the picture is displaced at a time; no displacement at time 0 of the drift terms.
    pub(crate) fn warp(&self, time_s: f64, end_s: f64) -> Warp {
        let spec = &self.spec;
        let since = |wander: &Wander| wander.at(time_s) - wander.at(0.0);
        let grown = (time_s / end_s.max(1.0)).clamp(0.0, 1.0).sqrt();
        let axis = |at: usize| {
            spec.drift_px * grown * since(&self.drift[at])
                + spec.shake_px * self.shake[at].at(time_s)
        };
        let angle = (0.7 * spec.rotation_deg * since(&self.turn)).to_radians();
        let scale = 1.0 + 0.7 * spec.zoom * since(&self.zoom);
        Warp {
            matrix: [angle.cos() * scale, angle.sin() * scale],
            shift: [axis(0), axis(1)],
            centre: [0.5 * self.width as f64, 0.5 * self.height as f64],
        }
    }

    /// Exposure relative to the start, without the automatic part.
    pub(crate) fn gain(&self, time_s: f64, end_s: f64) -> f64 {
        let spec = &self.spec;
        let step = spec
            .exposure_steps
            .iter()
            .filter(|step| step.at_s <= time_s)
            .max_by(|a, b| a.at_s.total_cmp(&b.at_s))
            .map_or(1.0, |step| step.gain);
        let grown = (time_s / end_s.max(1.0)).clamp(0.0, 1.0);
        let drift = 1.0 + spec.exposure_drift * grown * (1.0 + 0.5 * self.exposure.at(time_s));
        step * drift.max(0.05)
    }

    /// Flicker of the lamp in one picture.
    pub(crate) fn flicker(&self, index: usize) -> f64 {
        let draw = f64::from(mix(self.seed ^ 0xF11C, index as u64)) / f64::from(u32::MAX);
        1.0 + self.spec.flicker * 2.0 * (draw - 0.5)
    }

    /// Relative shift of the white balance at a time.
    pub(crate) fn white_shift(&self, time_s: f64) -> f64 {
        self.spec.white_balance * (self.white.at(time_s) - self.white.at(0.0))
    }

    /// Extra width of the point spread while the focus is lost, standard deviation \[px\].
    pub(crate) fn defocus_px(&self, time_s: f64) -> f64 {
        let mut widest = 0.0f64;
        for hunt in &self.spec.refocus {
            let part = (time_s - hunt.at_s) / hunt.duration_s.max(1e-3);
            if (0.0..1.0).contains(&part) {
                // Out, back, a little out again.
                let swing =
                    (std::f64::consts::PI * part).sin() * (0.75 + 0.25 * (9.0 * part).cos());
                widest = widest.max(hunt.blur_px * swing.abs());
            }
        }
        widest
    }

    /// What comes between at a time, with its progress 0..1.
    pub(crate) fn occlusion(&self, time_s: f64) -> Option<(&Occlusion, f64)> {
        self.spec.occlusions.iter().find_map(|occlusion| {
            let part = (time_s - occlusion.at_s) / occlusion.duration_s.max(1e-3);
            (0.0..1.0).contains(&part).then_some((occlusion, part))
        })
    }

    /// Displace a picture.
    pub(crate) fn displace(&self, from: &[f32], to: &mut [f32], warp: &Warp) {
        if warp.is_identity() {
            to.copy_from_slice(from);
            return;
        }
        let (width, height) = (self.width, self.height);
        let (step_x, step_y) = (warp.matrix[0] as f32, warp.matrix[1] as f32);
        let (last_x, last_y) = ((width - 2) as f32, (height - 2) as f32);
        for y in 0..height {
            let (x0, y0) = warp.source(0.0, y as f64);
            let (mut sx, mut sy) = (x0 as f32, y0 as f32);
            for out in &mut to[y * width..(y + 1) * width] {
                let cx = sx.clamp(0.0, last_x + 0.999);
                let cy = sy.clamp(0.0, last_y + 0.999);
                let (ix, iy) = (cx as usize, cy as usize);
                let (fx, fy) = (cx - ix as f32, cy - iy as f32);
                let at = iy * width + ix;
                let upper = from[at] + (from[at + 1] - from[at]) * fx;
                let lower = from[at + width] + (from[at + width + 1] - from[at + width]) * fx;
                *out = upper + (lower - upper) * fy;
                sx += step_x;
                sy += step_y;
            }
        }
    }

    /// Hand, shadow, black or blown picture, in place.
    pub(crate) fn cover(&self, levels: &mut [f32], occlusion: &Occlusion, part: f64) {
        let presence = smooth_step(0.0, 0.25, part) * smooth_step(1.0, 0.75, part);
        match occlusion.kind {
            OcclusionKind::Black => levels.fill(2.0),
            OcclusionKind::Blown => levels.fill(400.0),
            OcclusionKind::Shadow => {
                let gain = (1.0 - 0.55 * presence) as f32;
                levels.iter_mut().for_each(|level| *level *= gain);
            }
            OcclusionKind::Hand => self.hand(levels, presence),
        }
    }

    fn hand(&self, levels: &mut [f32], presence: f64) {
        let (width, height) = (self.width as f64, self.height as f64);
        let tone = if self.light == Light::Front {
            95.0
        } else {
            30.0
        };
        // An arm with three fingers comes in from the side, far out of focus.
        let tip = (presence * 1.1 - 0.15) * width;
        let middle = (0.5 + self.occlusion_from) * height;
        let soft = 0.06 * width;
        for (row, line) in levels.chunks_exact_mut(self.width).enumerate() {
            let across = (row as f64 - middle) / (0.42 * height);
            let fingers =
                tip - 0.12 * width * (1.0 + (across * 9.0).cos()) - 0.35 * width * across * across;
            for (column, level) in line.iter_mut().enumerate() {
                let cover = smooth_step(soft, -soft, column as f64 - fingers) as f32;
                let skin = (tone * (1.0 + 0.15 * (0.02 * row as f64 + 0.013 * column as f64).sin()))
                    as f32;
                *level += (skin - *level) * cover;
            }
        }
    }

    /// Shading, gain, bands, noise and rounding: levels to luma.
    pub(crate) fn expose(
        &self,
        levels: &[f32],
        gain: f64,
        (index, time_s): (usize, f64),
        luma: &mut Vec<u8>,
    ) {
        let spec = &self.spec;
        let read = (spec.noise * spec.noise) as f32;
        let shot = spec.shot_noise as f32;
        luma.clear();
        luma.reserve(levels.len());
        for row in 0..self.height {
            let phase = row as f64 / self.height as f64 * 2.4 + 0.37 * time_s;
            let band = 1.0 + spec.bands * (std::f64::consts::TAU * phase).sin();
            let row_gain = (gain * band) as f32;
            let offset = mix(self.seed ^ ((index as u64) << 20), row as u64) as usize;
            let line = row * self.width..(row + 1) * self.width;
            let pixels = levels[line.clone()].iter().zip(&self.shading[line]);
            for (column, (level, shading)) in pixels.enumerate() {
                let bright = (level * shading * row_gain).max(0.0);
                let deviate = self.noise[(offset + column) & (NOISE_ENTRIES - 1)];
                let noisy = bright + (read + shot * bright).sqrt() * deviate;
                luma.push((noisy + 0.5).clamp(0.0, 255.0) as u8);
            }
        }
    }
}

fn shading(scene: &Scene) -> Vec<f32> {
    let mut rng = stream(scene.seed, Purpose::Sensor, 2);
    let (spec, picture) = (&scene.camera, &scene.picture);
    let (width, height) = (picture.width as f64, picture.height as f64);
    let direction = uniform(&mut rng, 0.0, std::f64::consts::TAU);
    let specks = dust(scene.seed, spec.dust, picture);
    let mut map = Vec::with_capacity(picture.width * picture.height);
    for y in 0..picture.height {
        for x in 0..picture.width {
            let (x, y) = (x as f64, y as f64);
            let (dx, dy) = (x / width - 0.5, y / height - 0.5);
            let uneven = 1.0 + spec.uneven_light * (dx * direction.cos() + dy * direction.sin());
            let vignette = 1.0 - spec.vignette * 2.0 * (dx * dx + dy * dy);
            let mut gain = uneven * vignette;
            for &[cx, cy, radius, darkness] in &specks {
                let distance = ((x - cx).hypot(y - cy) / radius).powi(2);
                if distance < 9.0 {
                    gain *= 1.0 - darkness * (-distance).exp();
                }
            }
            map.push((gain * (1.0 + 0.004 * normal(&mut rng))) as f32);
        }
    }
    map
}

/// How far [`blur`] carries a level, and how far from an edge it is not quite right \[px\].
pub(crate) fn blur_reach_px(sigma_px: f64) -> usize {
    blur_passes(sigma_px) as usize
}

fn blur_passes(sigma_px: f64) -> f64 {
    (sigma_px * sigma_px / 0.62).ceil().max(1.0)
}

/// Blur in place with a point spread of standard deviation `sigma_px`, by repeated three-point means;
/// `scratch` is overwritten. The outermost pixels keep their value in each pass.
pub(crate) fn blur(levels: &mut [f32], width: usize, sigma_px: f64, scratch: &mut Vec<f32>) {
    if sigma_px < 0.05 || width < 3 || levels.len() < 3 * width {
        return;
    }
    let passes = blur_passes(sigma_px);
    // A three-point mean with side weights w has variance 2w.
    let side = (sigma_px * sigma_px / (2.0 * passes)) as f32;
    let middle = 1.0 - 2.0 * side;
    scratch.resize(levels.len(), 0.0);
    for _ in 0..passes as usize {
        for (out, row) in scratch
            .chunks_exact_mut(width)
            .zip(levels.chunks_exact(width))
        {
            out[0] = row[0];
            out[width - 1] = row[width - 1];
            for (value, three) in out[1..width - 1].iter_mut().zip(row.windows(3)) {
                *value = middle * three[1] + side * (three[0] + three[2]);
            }
        }
        let rows = levels.len() / width;
        levels[..width].copy_from_slice(&scratch[..width]);
        let end = (rows - 1) * width;
        levels[end..rows * width].copy_from_slice(&scratch[end..rows * width]);
        for row in 1..rows - 1 {
            let at = row * width;
            let (above, rest) = scratch[at - width..].split_at(width);
            let (here, below) = rest.split_at(width);
            let target = &mut levels[at..at + width];
            for (((value, a), h), b) in target.iter_mut().zip(above).zip(here).zip(below) {
                *value = middle * h + side * (a + b);
            }
        }
    }
}
