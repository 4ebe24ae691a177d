//! What is seen besides the powder: droplets and sublimate on the glass, bubbles in the melt, stray specks.

use rand::RngExt;

use crate::bed::Bed;
use crate::canvas::{Canvas, LocalMap};
use crate::course::Horizon;
use crate::grains::{Grain, pack};
use crate::random::{Field, Purpose, normal, smooth_step, stream, uniform};
use crate::spec::Light;
use crate::trouble::Swell;
use crate::tube_spec::TubeSpec;

/// Most droplets and bubbles, at strength 1.
const MOST_DROPLETS: usize = 60;
const BUBBLES_PER_S: f64 = 1.2;

/// A round thing on the glass.
#[derive(Debug, Clone, Copy)]
struct Droplet {
    u: f64,
    v: f64,
    radius_px: f64,
    /// Part of the full strength at which it begins to show.
    from: f64,
}

/// Everything besides the powder of one tube.
#[derive(Debug, Clone)]
pub(crate) struct Overlay {
    light: Light,
    lamp: f64,
    bore_radius_px: f64,
    droplets: Vec<Droplet>,
    /// Per pixel of the map, the strength at which crystals stand there.
    sublimate: Vec<f32>,
    bubbles: Vec<Bubble>,
}

#[derive(Debug, Clone, Copy)]
struct Bubble {
    /// After the bubbling began.
    after_s: f64,
    u: f64,
    from_part: f64,
    radius_px: f64,
    speed_px_per_s: f64,
    wanted: f64,
}

/// The troubles of this module.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct OverlaySwells {
    pub(crate) condensation: Option<Swell>,
    pub(crate) sublimate: Option<Swell>,
    pub(crate) bubbles: Option<Swell>,
}

impl OverlaySwells {
    /// Leave out what does not come in a scene that is known to its end.
    pub(crate) fn forget_unknown(&mut self) {
        for swell in [
            &mut self.condensation,
            &mut self.sublimate,
            &mut self.bubbles,
        ] {
            *swell = swell.filter(|swell| swell.cue.is_known());
        }
    }
}

impl Overlay {
    /// What the troubles in `swells` can bring.
    pub(crate) fn new(
        swells: &OverlaySwells,
        map: &LocalMap,
        (light, lamp): (Light, f64),
        (seed, index): (u64, usize),
        (bore_radius_px, column_px): (f64, f64),
        horizon: Horizon,
    ) -> Self {
        let mut rng = stream(seed, Purpose::Glass, 50 + index);
        let reach_px = map.v.iter().copied().fold(0.0f32, f32::max);
        let free_px = (f64::from(reach_px) - column_px).max(1.0);
        let droplets = swells.condensation.map_or_else(Vec::new, |_| {
            (0..MOST_DROPLETS)
                .map(|_| Droplet {
                    u: bore_radius_px * uniform(&mut rng, -0.9, 0.9),
                    v: column_px + bore_radius_px * 0.25 + free_px * rng.random::<f64>(),
                    radius_px: bore_radius_px * uniform(&mut rng, 0.04, 0.14),
                    from: rng.random::<f64>(),
                })
                .collect()
        });
        let sublimate = swells.sublimate.map_or_else(Vec::new, |_| {
            let coarse = Field::new(&mut rng, 1.1 * bore_radius_px);
            let fine = Field::new(&mut rng, 0.22 * bore_radius_px);
            map.u
                .iter()
                .zip(&map.v)
                .map(|(&u, &v)| {
                    let (u, v) = (f64::from(u), f64::from(v));
                    let height = (v - column_px) / free_px;
                    if height < 0.04 {
                        return f32::INFINITY;
                    }
                    let texture =
                        0.55 + 0.18 * coarse.at(u, v, 0.0) + 0.22 * fine.at(u, 0.6 * v, 0.0);
                    (texture + 0.5 * (0.3 - height).max(0.0) + 1.7 * (height - 0.45).max(0.0))
                        as f32
                })
                .collect()
        });
        let bubbles = swells.bubbles.map_or_else(Vec::new, |swell| {
            let lasting_s = horizon.lasting_s(swell.cue.start_s());
            let count = (BUBBLES_PER_S * swell.strength * lasting_s) as usize;
            (0..count.min(2000))
                .map(|_| Bubble {
                    after_s: lasting_s * rng.random::<f64>(),
                    u: bore_radius_px * uniform(&mut rng, -0.75, 0.75),
                    from_part: uniform(&mut rng, 0.05, 0.7),
                    radius_px: bore_radius_px * (0.08 + 0.05 * normal(&mut rng).abs()),
                    speed_px_per_s: bore_radius_px * uniform(&mut rng, 0.05, 0.4),
                    wanted: rng.random::<f64>(),
                })
                .collect()
        });
        Self {
            light,
            lamp,
            bore_radius_px,
            droplets,
            sublimate,
            bubbles,
        }
    }

    /// Draw on top of the content.
    pub(crate) fn paint(
        &self,
        swells: &OverlaySwells,
        canvas: &mut Canvas,
        map: &LocalMap,
        bed: &Bed,
        time_s: f64,
    ) {
        if let Some(swell) = &swells.condensation {
            let strength = swell.at(time_s);
            for droplet in &self.droplets {
                let grown = ((strength - droplet.from) * 3.0).clamp(0.0, 1.0);
                if grown > 0.0 {
                    self.ring(
                        canvas,
                        map,
                        (droplet.u, droplet.v),
                        droplet.radius_px * grown.sqrt(),
                    );
                }
            }
        }
        if let Some(swell) = &swells.sublimate {
            let strength = swell.at(time_s) as f32 * 1.2;
            for (at, threshold) in self.sublimate.iter().enumerate() {
                let cover = ((strength - threshold) * 3.0).clamp(0.0, 0.75);
                if cover > 0.0 {
                    let glow = if self.light == Light::Front {
                        150.0 * self.lamp as f32
                    } else {
                        25.0
                    };
                    canvas.light[at] = canvas.light[at] * (1.0 - cover) + cover * glow;
                    canvas.open[at] *= 1.0 - cover;
                }
            }
        }
        if let Some(swell) = &swells.bubbles {
            let strength = swell.at(time_s);
            for bubble in &self.bubbles {
                let age_s = time_s - (swell.cue.start_s() + bubble.after_s);
                let v = bubble.from_part * bed.top_px + bubble.speed_px_per_s * age_s;
                let afloat = v + bubble.radius_px < bed.top_px && v < bed.saturated_px;
                if age_s > 0.0 && afloat && bubble.wanted < strength + 0.3 {
                    let radius = bubble.radius_px * smooth_step(0.0, 3.0, age_s);
                    self.ring(canvas, map, (bubble.u, v), radius);
                }
            }
        }
    }

    /// A clear ball: dark rim, bright spot towards the lamp.
    fn ring(&self, canvas: &mut Canvas, map: &LocalMap, (cu, cv): (f64, f64), radius_px: f64) {
        let radius = radius_px.min(0.3 * self.bore_radius_px) as f32;
        if radius < 0.4 {
            return;
        }
        let (cu, cv) = (cu as f32, cv as f32);
        let width = map.region.width;
        // Rows and columns are close to v and u; the lean adds a little.
        for at in nearby(map, cu, cv, radius + 2.0) {
            let (du, dv) = (map.u[at] - cu, map.v[at] - cv);
            let distance = (du * du + dv * dv).sqrt();
            if distance > radius + 1.0 || width == 0 {
                continue;
            }
            let rim = (-((distance - 0.85 * radius) / (0.22 * radius + 0.4)).powi(2)).exp();
            let towards_lamp = ((0.7 * dv - 0.7 * du) / radius).max(0.0);
            match self.light {
                Light::Front => {
                    canvas.light[at] +=
                        rim * (12.0 + 70.0 * towards_lamp * towards_lamp) * self.lamp as f32;
                    canvas.open[at] *= 1.0 - 0.15 * rim;
                }
                Light::Back => {
                    canvas.open[at] *= 1.0 - 0.75 * rim;
                }
            }
        }
    }
}

/// Indices of the pixels whose local coordinates may be within `reach` of a point.
fn nearby(map: &LocalMap, u: f32, v: f32, reach: f32) -> impl Iterator<Item = usize> {
    let width = map.region.width;
    let height = map.region.height;
    // Local coordinates are a rotation of the picture's: invert it from the first pixel.
    let (mut x, mut y) = (0.0f32, 0.0f32);
    if width > 1 && height > 1 {
        let (cos, sin) = (map.u[1] - map.u[0], map.v[1] - map.v[0]);
        let (du, dv) = (u - map.u[0], v - map.v[0]);
        (x, y) = (du * cos + dv * sin, du * sin - dv * cos);
    }
    let clip = |value: f32, limit: usize| value.max(0.0).min(limit as f32) as usize;
    let (x0, x1) = (
        clip((x - reach).floor(), width),
        clip(x + reach + 2.0, width),
    );
    let (y0, y1) = (
        clip((y - reach).floor(), height),
        clip(y + reach + 2.0, height),
    );
    (y0..y1).flat_map(move |row| (x0..x1).map(move |column| row * width + column))
}

/// Stray grains on the glass above the column.
pub(crate) fn specks(
    tube: &TubeSpec,
    seed: u64,
    index: usize,
    bore_radius_px: f64,
    (from_px, to_px): (f64, f64),
) -> Vec<Grain> {
    let mut rng = stream(seed, Purpose::Glass, 100 + index);
    let stock = pack(
        tube,
        seed ^ 0x5EC5,
        index,
        bore_radius_px,
        1.2 * bore_radius_px,
    );
    if stock.is_empty() {
        return Vec::new();
    }
    (0..tube.specks)
        .map(|_| {
            let mut grain = stock[rng.random_range(0..stock.len())].clone();
            let size = uniform(&mut rng, 0.25, 0.6) as f32;
            grain.u = (bore_radius_px * uniform(&mut rng, -0.85, 0.85)) as f32;
            grain.v = uniform(&mut rng, from_px, to_px.max(from_px + 1.0)) as f32;
            grain.depth = 1.0;
            grain.radius *= size;
            grain.offsets = grain.offsets.map(|offset| offset * size);
            grain.rank = uniform(&mut rng, 0.5, 1.0) as f32;
            grain
        })
        .collect()
}
