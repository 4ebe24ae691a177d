//! What stands still: the block behind the tubes and the glass.

use crate::canvas::Stand;
use crate::random::{Purpose, Wander, normal, smooth_step, stream, uniform};
use crate::spec::{Backdrop, Light, PictureSpec};

/// Outer radius of a capillary relative to its bore.
pub(crate) const OUTER_PER_BORE: f64 = 1.3;

/// What fills the bore, as far as the glass around it shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Filling {
    /// Air: the inner wall reflects.
    Air,
    /// Liquid: of nearly the same refraction as glass, so that the inner wall all but vanishes.
    Liquid,
}

/// The backdrop without tubes, `height × width`, grey levels.
pub(crate) fn backdrop(picture: &PictureSpec, seed: u64) -> Vec<f32> {
    let mut rng = stream(seed, Purpose::Backdrop, 0);
    let (width, height) = (picture.width as f64, picture.height as f64);
    let bore = picture.bore_px();
    let lamp = picture.lamp;
    let (behind, around) = match picture.light {
        Light::Front => (uniform(&mut rng, 14.0, 26.0), uniform(&mut rng, 40.0, 75.0)),
        Light::Back => (
            uniform(&mut rng, 165.0, 195.0),
            uniform(&mut rng, 22.0, 40.0),
        ),
    };
    let streaks = Wander::new(&mut rng, 1.5, 40.0);
    let along = Wander::new(&mut rng, 0.3 * width, 2.0 * width);
    let mottles = Wander::new(&mut rng, 9.0, 90.0);
    let centre_x = picture.centre_fraction * width;
    let field_x = centre_x + uniform(&mut rng, -0.2, 0.2) * bore;
    let bottom = picture.bottom_fraction * height;
    let hot_x = centre_x + uniform(&mut rng, -0.3, 0.3) * width;
    let hot_y = height * uniform(&mut rng, 0.3, 0.7);
    let half = picture.spacing * bore * 1.9;
    let mut levels = Vec::with_capacity(picture.width * picture.height);
    for y in 0..picture.height {
        let y = y as f64;
        let streak = streaks.at(y);
        for x in 0..picture.width {
            let x = x as f64;
            let metal = around * (1.0 + 0.10 * streak + 0.12 * along.at(x + 3.0 * streak));
            let falloff = ((x - hot_x) / width).powi(2) + ((y - hot_y) / height).powi(2);
            let panel = behind * (1.06 - 0.35 * falloff)
                + 0.8 * mottles.at(x + 0.7 * y) * mottles.at(0.6 * x - y);
            let level = match picture.backdrop {
                Backdrop::Plain => panel,
                Backdrop::Slot => {
                    let beyond = (x - centre_x).abs() - half;
                    let lip = 1.0 + 0.5 * (-(beyond / 3.0).powi(2)).exp();
                    panel + (metal * lip - panel) * smooth_step(-3.0, 3.0, beyond)
                }
                Backdrop::Port => {
                    let (cy, tall) = (0.47 * height, 0.5 * height);
                    let corner = 0.5 * bore;
                    let out_x = ((x - centre_x).abs() - half + corner).max(0.0);
                    let low = (bottom + 0.7 * bore - cy).min(tall);
                    let out_y =
                        ((y - cy).abs() - if y > cy { low } else { tall } + corner).max(0.0);
                    let beyond = out_x.hypot(out_y) - corner;
                    panel + (metal - panel) * smooth_step(-2.0, 2.0, beyond)
                }
                Backdrop::Eyepiece => {
                    let radius = 0.62 * height.min(width * 0.9);
                    let beyond = (x - field_x).hypot(y - 0.5 * height) - radius;
                    let ring = 0.3 * (-(beyond / 6.0).powi(2)).exp();
                    panel * (1.0 + ring) * (1.0 - smooth_step(-6.0, 4.0, beyond)) + 2.5
                }
            };
            levels.push((level * lamp).max(0.0) as f32);
        }
    }
    levels
}

/// The looks of one capillary: the same glass for the whole scene, a little different from tube to tube.
#[derive(Debug, Clone)]
pub(crate) struct Glass {
    light: Light,
    lamp: f64,
    rims: [f64; 2],
    streaks: Vec<(f64, f64, f64)>,
    haze: Wander,
}

impl Glass {
    pub(crate) fn new(picture: &PictureSpec, seed: u64, index: usize) -> Self {
        let mut rng = stream(seed, Purpose::Glass, index);
        let streaks = (0..3)
            .map(|_| {
                let at = uniform(&mut rng, -0.9, 0.9);
                (
                    at,
                    uniform(&mut rng, 0.015, 0.05),
                    uniform(&mut rng, 8.0, 34.0),
                )
            })
            .collect();
        Self {
            light: picture.light,
            lamp: picture.lamp,
            rims: [
                uniform(&mut rng, 70.0, 120.0),
                uniform(&mut rng, 60.0, 100.0),
            ],
            streaks,
            haze: Wander::new(&mut rng, 20.0, 200.0),
        }
    }

    /// Level of a pixel at tube-local `u`, `v` through this glass, given the level behind it.
    pub(crate) fn level(
        &self,
        stand: &Stand,
        u: f64,
        v: f64,
        behind: f64,
        filling: Filling,
    ) -> f64 {
        let bore = stand.bore_radius_px;
        let outer = bore * OUTER_PER_BORE;
        let radial = stand.radial(u, v);
        if radial > outer + 1.5 {
            return behind;
        }
        let line = |at: f64, width: f64| (-((radial - at) / width).powi(2)).exp();
        let inner = match filling {
            Filling::Air => 1.0,
            Filling::Liquid => 0.18,
        };
        let inside = smooth_step(outer + 1.0, outer - 1.0, radial);
        match self.light {
            Light::Front => {
                let rim = if u < 0.0 { self.rims[0] } else { self.rims[1] };
                let mut added = 3.0 + rim * line(outer - 0.05 * bore, 0.05 * bore + 0.6);
                added += 0.45 * rim * inner * line(bore, 0.035 * bore + 0.6);
                if v > 0.0 {
                    for &(at, width, height) in &self.streaks {
                        let offset = (u / outer - at) / width;
                        added += height * (0.7 + 0.3 * self.haze.at(v)) * (-offset * offset).exp();
                    }
                }
                // Where the bore is filled it acts as a full rod and gathers some light in the middle.
                if filling == Filling::Liquid && radial < bore {
                    added += 5.0 * (1.0 - (u / (0.35 * bore)).powi(2)).max(0.0);
                }
                behind * (1.0 - 0.12 * inside) + inside * added * self.lamp
            }
            Light::Back => {
                let edge = 0.9 * (-((outer - radial) / (0.11 * bore + 0.5)).powi(2)).exp();
                let wall = 0.55 * inner * line(bore, 0.05 * bore + 0.6);
                let lens = match filling {
                    Filling::Air => 0.10 + 0.35 * (radial / outer).powi(6),
                    Filling::Liquid => {
                        0.02 + 0.55 * (radial / outer).powi(10)
                            - 0.06 * (1.0 - (u / bore).powi(2)).max(0.0)
                    }
                };
                let passed = ((1.0 - edge) * (1.0 - wall) * (1.0 - lens)).max(0.03);
                let gleam = self.streaks.iter().fold(0.0, |sum, &(at, width, height)| {
                    let offset = (u / outer - at) / width;
                    sum + 0.15 * height * (-offset * offset).exp()
                });
                behind + inside * (behind * (passed - 1.0) + gleam * self.lamp * 0.5)
            }
        }
    }
}

/// Specks of dust that stay put: position, radius and darkness of each.
pub(crate) fn dust(seed: u64, count: u32, picture: &PictureSpec) -> Vec<[f64; 4]> {
    let mut rng = stream(seed, Purpose::Sensor, 1);
    (0..count)
        .map(|_| {
            let x = uniform(&mut rng, 0.0, picture.width as f64);
            let y = uniform(&mut rng, 0.0, picture.height as f64);
            let radius = picture.bore_px() * (0.06 + 0.05 * normal(&mut rng).abs());
            [x, y, radius, uniform(&mut rng, 0.06, 0.3)]
        })
        .collect()
}
