//! A rendered display: face, digits, glass, light and camera, all from one seed.

use crate::fonts::{Face, MASK_DIGIT, MASK_ROOM, Make, Mask, faces};
use crate::optics::{Pair, gaussian, normal, projective, sign, uniform};
use meltrange_display::{DigitStyle, DisplayRegion, DisplaySpec, Lit};
use rand::RngExt as _;
use rand_chacha::ChaCha8Rng;

/// What is the matter with a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Trouble {
    Clean,
    Blur,
    Glare,
    Tilt,
    Noise,
    /// Rows from some point on show the value before.
    RowsOfBefore,
    /// Both values at once, in one exposure.
    Blend,
    /// Some digits dimmed or dark.
    DimDigits,
    /// A band of rows dimmed.
    DimBand,
    /// Glare and tilt and blur, all of it mild.
    Mixed,
}

pub const TROUBLES: [Trouble; 10] = [
    Trouble::Clean,
    Trouble::Blur,
    Trouble::Glare,
    Trouble::Tilt,
    Trouble::Noise,
    Trouble::RowsOfBefore,
    Trouble::Blend,
    Trouble::DimDigits,
    Trouble::DimBand,
    Trouble::Mixed,
];

/// A picture with what it shows.
pub struct Shot {
    pub luma: Vec<u8>,
    pub width: usize,
    pub height: usize,
    pub region: DisplayRegion,
}

/// The display and the view of it, without the moment.
#[derive(Clone)]
pub struct View {
    pub face: usize,
    pub dark_on_bright: bool,
    pub decimals: usize,
    /// Digit height in the picture, before foreshortening [px].
    pub digit_px: f64,
    pub yaw: f64,
    pub pitch: f64,
    roll: f64,
    distance: f64,
    face_level: f64,
    digit_level: f64,
    ghost: f64,
    pub blur_px: f64,
    pub noise: f64,
    lights: Vec<Light>,
    margin: [f64; 2],
    corner_jitter: [[f64; 2]; 4],
    offset: [f64; 2],
}

/// Light reflected by the glass, in digit heights from the middle of the digits; turns as sine and
/// cosine.
#[derive(Clone, Copy)]
enum Light {
    Blob {
        x: f64,
        y: f64,
        radius: f64,
        strength: f64,
    },
    Streak {
        x: f64,
        y: f64,
        turn: (f64, f64),
        width: f64,
        strength: f64,
    },
    Ramp {
        turn: (f64, f64),
        strength: f64,
    },
}

/// How far one picture shows the value before or loses brightness.
#[derive(Clone, Copy)]
pub enum Moment {
    Whole,
    /// From `cut` on (0 top, 1 bottom of the digits) rows show the text before, over `soft` heights.
    Rows {
        cut: f64,
        soft: f64,
    },
    Share {
        before: f64,
    },
    /// Rows of one place dimmed, as by a failing segment.
    Patch {
        place: usize,
        from: f64,
        to: f64,
        level: f64,
    },
    Digits {
        dimmed: u8,
        to: f64,
    },
    Band {
        from: f64,
        to: f64,
        level: f64,
    },
}

impl View {
    pub fn random(rng: &mut ChaCha8Rng, face: usize, trouble: Trouble) -> Self {
        let dark_on_bright = rng.random::<bool>();
        let (face_level, digit_level) = if dark_on_bright {
            (uniform(rng, 120.0, 215.0), uniform(rng, 15.0, 70.0))
        } else {
            (uniform(rng, 4.0, 45.0), uniform(rng, 130.0, 250.0))
        };
        let digit_px = 18.0 * (75.0_f64 / 18.0).powf(rng.random::<f64>());
        let tilted = matches!(trouble, Trouble::Tilt);
        let mixed = matches!(trouble, Trouble::Mixed);
        let angle = if tilted {
            25.0
        } else if mixed {
            15.0
        } else {
            8.0
        };
        let roll = if tilted || mixed { 8.0 } else { 3.0 };
        let blur_fraction = match trouble {
            Trouble::Blur => uniform(rng, 0.03, 0.14),
            Trouble::Mixed => uniform(rng, 0.02, 0.05),
            _ => uniform(rng, 0.005, 0.025),
        };
        let noise = match trouble {
            Trouble::Noise => uniform(rng, 5.0, 14.0),
            _ => uniform(rng, 0.5, 3.5),
        };
        let mut lights = vec![Light::Ramp {
            turn: uniform(rng, 0.0, 6.3).sin_cos(),
            strength: uniform(rng, 0.0, 0.03),
        }];
        if matches!(trouble, Trouble::Glare | Trouble::Mixed) {
            let full = if mixed { 0.25 } else { 1.2 };
            for _ in 0..rng.random_range(1..=2) {
                let x = uniform(rng, -1.8, 1.8);
                let y = uniform(rng, -0.7, 0.7);
                let strength = full * uniform(rng, 0.05, 1.0).powi(2);
                lights.push(match rng.random_range(0..3) {
                    0 => Light::Blob {
                        x,
                        y,
                        radius: uniform(rng, 0.12, 1.6),
                        strength,
                    },
                    1 => Light::Streak {
                        x,
                        y,
                        turn: uniform(rng, 0.0, 3.15).sin_cos(),
                        width: uniform(rng, 0.03, 0.4),
                        strength,
                    },
                    _ => Light::Ramp {
                        turn: uniform(rng, 0.0, 6.3).sin_cos(),
                        strength: 0.5 * strength,
                    },
                });
            }
        }
        Self {
            face,
            dark_on_bright,
            decimals: [1, 1, 1, 1, 0, 2][rng.random_range(0..6)],
            digit_px,
            yaw: uniform(rng, 0.4, 1.0) * angle * sign(rng),
            pitch: uniform(rng, 0.0, 1.0) * angle * sign(rng),
            roll: uniform(rng, -1.0, 1.0) * roll,
            distance: uniform(rng, 14.0, 40.0),
            face_level,
            digit_level,
            ghost: if rng.random::<bool>() {
                0.0
            } else {
                uniform(rng, 0.0, 0.14)
            },
            blur_px: (blur_fraction * digit_px).max(0.4),
            noise,
            lights,
            margin: [uniform(rng, 0.35, 0.9), uniform(rng, 0.3, 0.7)],
            corner_jitter: std::array::from_fn(|_| {
                [uniform(rng, -0.07, 0.07), uniform(rng, -0.07, 0.07)]
            }),
            offset: [uniform(rng, 0.0, 1.0), uniform(rng, 0.0, 1.0)],
        }
    }

    /// Another size, as sharp as before.
    pub fn set_digit_px(&mut self, digit_px: f64) {
        self.blur_px = (self.blur_px / self.digit_px * digit_px).max(0.4);
        self.digit_px = digit_px;
    }

    /// One more spot of light, in digit heights from the middle of the digits.
    pub fn add_spot(&mut self, x: f64, y: f64, radius: f64, strength: f64) {
        self.lights.push(Light::Blob {
            x,
            y,
            radius,
            strength,
        });
    }

    pub fn make(&self) -> Make {
        faces()[self.face].make
    }

    /// What a person would state about this display; sometimes nothing.
    pub fn spec(&self, stated: bool) -> DisplaySpec {
        let mut spec = DisplaySpec {
            decimals: self.decimals,
            ..DisplaySpec::default()
        };
        if stated {
            spec.style = match self.make() {
                Make::Segments => DigitStyle::SevenSegment,
                Make::Dots | Make::Foreign => DigitStyle::DotMatrix,
            };
            spec.lit = if self.dark_on_bright {
                Lit::DarkOnBright
            } else {
                Lit::BrightOnDark
            };
        }
        spec
    }

    /// Picture coordinates of a point of the face, in digit heights from its middle.
    fn project(&self, x: f64, y: f64) -> (f64, f64) {
        let (yaw, pitch, roll) = (
            self.yaw.to_radians(),
            self.pitch.to_radians(),
            self.roll.to_radians(),
        );
        let (x1, z1) = (x * yaw.cos(), x * yaw.sin());
        let (y1, z2) = (
            y * pitch.cos() - z1 * pitch.sin(),
            y * pitch.sin() + z1 * pitch.cos(),
        );
        let scale = self.distance / (self.distance + z2) * self.digit_px;
        (
            (x1 * roll.cos() - y1 * roll.sin()) * scale,
            (x1 * roll.sin() + y1 * roll.cos()) * scale,
        )
    }

    /// Renders `text` (with `before` where the moment asks for it).
    pub fn shoot(&self, text: &str, before: &str, moment: Moment, rng: &mut ChaCha8Rng) -> Shot {
        let face: &Face = &faces()[self.face];
        let places = text.len().max(before.len());
        let padded = |text: &str| format!("{text:>places$}");
        let (now, then) = (face.mask(&padded(text)), face.mask(&padded(before)));
        let ghosts = face.mask(&padded(text).replace(|c: char| c != '.', "8"));
        let half = [0.5 * (now.width as f64 - 2.0 * MASK_ROOM) / MASK_DIGIT, 0.5];
        let plate = [
            half[0] + self.margin[0] + 0.15,
            half[1] + self.margin[1] + 0.15,
        ];
        let outline: Vec<(f64, f64)> = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
            .iter()
            .map(|&(sx, sy)| self.project(sx * (plate[0] + 0.3), sy * (plate[1] + 0.3)))
            .collect();
        let low = |of: fn(&(f64, f64)) -> f64| outline.iter().map(of).fold(f64::MAX, f64::min);
        let high = |of: fn(&(f64, f64)) -> f64| outline.iter().map(of).fold(f64::MIN, f64::max);
        let (x0, y0) = (low(|p| p.0) - self.offset[0], low(|p| p.1) - self.offset[1]);
        let width = (high(|p| p.0) - x0).ceil() as usize + 1;
        let height = (high(|p| p.1) - y0).ceil() as usize + 1;

        let back = self.inverse();
        let samples = if self.digit_px < 40.0 { 3 } else { 2 };
        let mut linear = vec![0.0_f32; width * height];
        let table: Vec<f64> = (0..=2550)
            .map(|i| (f64::from(i) / 2550.0).powf(2.2))
            .collect();
        let lit = |level: f64| table[(level * 10.0) as usize];
        for py in 0..height {
            for px in 0..width {
                let mut sum = 0.0;
                for j in 0..samples {
                    for i in 0..samples {
                        let at = |p: usize, k: usize| p as f64 + (k as f64 + 0.5) / samples as f64;
                        let (x, y) = back(at(px, i) + x0, at(py, j) + y0);
                        if x.abs() > plate[0] || y.abs() > plate[1] {
                            sum += lit(if self.dark_on_bright { 40.0 } else { 90.0 });
                            continue;
                        }
                        let shown = self.shown(x, y, half, [&now, &then, &ghosts], moment);
                        let level = self.face_level + shown * (self.digit_level - self.face_level);
                        sum += lit(level) + self.reflected(x, y);
                    }
                }
                linear[py * width + px] = (sum / (samples * samples) as f64) as f32;
            }
        }
        let blurred = gaussian(&linear, width, height, self.blur_px);
        let luma = blurred
            .iter()
            .map(|&v| {
                let level = 255.0 * f64::from(v.min(1.0)).powf(1.0 / 2.2);
                (level + self.noise * normal(rng)).round().clamp(0.0, 255.0) as u8
            })
            .collect();
        // A person marks the middle of the margin, give or take.
        let marked = [
            half[0] + 0.75 * self.margin[0],
            half[1] + 0.75 * self.margin[1],
        ];
        let mut corners = [[0.0; 2]; 4];
        for (corner, ((sx, sy), jitter)) in corners.iter_mut().zip(
            [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
                .into_iter()
                .zip(self.corner_jitter),
        ) {
            let (x, y) = self.project(sx * marked[0] + jitter[0], sy * marked[1] + jitter[1]);
            *corner = [x - x0, y - y0];
        }
        Shot {
            luma,
            width,
            height,
            region: DisplayRegion::Corners(corners),
        }
    }

    /// Share of a full digit stroke shown at a point of the face.
    fn shown(
        &self,
        x: f64,
        y: f64,
        half: [f64; 2],
        [now, then, ghosts]: [&Mask; 3],
        moment: Moment,
    ) -> f64 {
        let mx = (x + half[0]) * MASK_DIGIT + MASK_ROOM;
        let my = (y + half[1]) * MASK_DIGIT + MASK_ROOM;
        let of = |mask: &Mask| f64::from(mask.at(mx, my));
        let row = y + half[1];
        let lit = match moment {
            Moment::Whole => of(now),
            Moment::Rows { cut, soft } => {
                let share = ((row - cut) / soft.max(1e-3) + 0.5).clamp(0.0, 1.0);
                of(now) * (1.0 - share) + of(then) * share
            }
            Moment::Patch {
                place,
                from,
                to,
                level,
            } => {
                let (left, right) = now.places[place];
                let inset = 0.22 * (right - left);
                let inside = mx > left + inset && mx < right - inset && row > from && row < to;
                of(now) * if inside { level } else { 1.0 }
            }
            Moment::Share { before } => of(now) * (1.0 - before) + of(then) * before,
            Moment::Digits { dimmed, to } => {
                let place = now
                    .places
                    .iter()
                    .position(|&(from, until)| mx >= from && mx < until);
                let dim = place.is_some_and(|place| dimmed & (1 << place.min(7)) != 0);
                of(now) * if dim { to } else { 1.0 }
            }
            Moment::Band { from, to, level } => {
                of(now)
                    * if (from..to).contains(&row) {
                        level
                    } else {
                        1.0
                    }
            }
        };
        let ghost = if self.make() == Make::Segments && self.ghost > 0.0 {
            self.ghost * of(ghosts)
        } else {
            0.0
        };
        lit.max(ghost)
    }

    fn reflected(&self, x: f64, y: f64) -> f64 {
        self.lights
            .iter()
            .map(|light| match *light {
                Light::Blob {
                    x: bx,
                    y: by,
                    radius,
                    strength,
                } => {
                    let r2 = ((x - bx).powi(2) + (y - by).powi(2)) / (radius * radius);
                    strength * (-r2).exp()
                }
                Light::Streak {
                    x: sx,
                    y: sy,
                    turn,
                    width,
                    strength,
                } => {
                    let across = (y - sy) * turn.1 - (x - sx) * turn.0;
                    strength * (-(across / width).powi(2)).exp()
                }
                Light::Ramp { turn, strength } => {
                    let along = (x * turn.1 + y * turn.0) / 2.5;
                    strength * (0.5 + 0.5 * along).clamp(0.0, 1.0)
                }
            })
            .sum()
    }

    /// From picture to face.
    fn inverse(&self) -> impl Fn(f64, f64) -> (f64, f64) + '_ {
        // Four points fix the projective map; solved once.
        let points: Vec<Pair> = [(-3.0, -1.0), (3.0, -1.0), (3.0, 1.0), (-3.0, 1.0)]
            .into_iter()
            .map(|(x, y)| (self.project(x, y), (x, y)))
            .collect();
        let map = projective(&points);
        move |px, py| {
            let scale = map[6] * px + map[7] * py + 1.0;
            (
                (map[0] * px + map[1] * py + map[2]) / scale,
                (map[3] * px + map[4] * py + map[5]) / scale,
            )
        }
    }
}

/// A moment that goes with a trouble.
pub fn moment(rng: &mut ChaCha8Rng, trouble: Trouble) -> Moment {
    match trouble {
        Trouble::RowsOfBefore => Moment::Rows {
            cut: uniform(rng, -0.1, 1.1),
            soft: uniform(rng, 0.0, 0.8),
        },
        Trouble::Blend => Moment::Share {
            before: uniform(rng, 0.15, 0.85),
        },
        Trouble::DimDigits => Moment::Digits {
            dimmed: rng.random_range(1..16),
            to: uniform(rng, 0.0, 0.8),
        },
        Trouble::DimBand => {
            let from = uniform(rng, -0.2, 0.9);
            Moment::Band {
                from,
                to: from + uniform(rng, 0.15, 0.8),
                level: uniform(rng, 0.0, 0.7),
            }
        }
        _ => Moment::Whole,
    }
}

/// A temperature as the display shows it, and the value one update before.
pub fn texts(rng: &mut ChaCha8Rng, decimals: usize) -> (String, String) {
    let scale = 10_f64.powi(decimals as i32);
    let most = if decimals == 2 {
        39_999.0
    } else {
        399.0 * scale
    };
    let units = uniform(rng, 0.0, most).floor();
    let step = f64::from(rng.random_range(1..=6));
    let before = if rng.random::<bool>() {
        units + step
    } else {
        (units - step).max(0.0)
    };
    let shown = |units: f64| format!("{:.decimals$}", units / scale);
    (shown(units), shown(before))
}
