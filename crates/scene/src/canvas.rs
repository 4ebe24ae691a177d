//! The picture part of one tube: local coordinates of its pixels, and what the content does to the light.

use std::ops::Range;

use crate::grains::{Grain, SIDES};

/// Where a tube stands in the picture and how it leans.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stand {
    /// Picture position of the inside of the sealed bottom \[px\].
    pub(crate) x_px: f64,
    pub(crate) y_px: f64,
    pub(crate) bore_radius_px: f64,
    /// Sine and cosine of the lean.
    pub(crate) sin: f64,
    pub(crate) cos: f64,
}

impl Stand {
    /// Tube-local `u` (across) and `v` (up) of a picture position.
    pub(crate) fn local_from_picture(&self, x: f64, y: f64) -> (f64, f64) {
        let (dx, dy) = (x - self.x_px, y - self.y_px);
        (dx * self.cos + dy * self.sin, dx * self.sin - dy * self.cos)
    }

    /// Picture position of tube-local coordinates.
    pub(crate) fn picture_from_local(&self, u: f64, v: f64) -> (f64, f64) {
        (
            self.x_px + u * self.cos + v * self.sin,
            self.y_px + u * self.sin - v * self.cos,
        )
    }

    /// Distance from the axis, or from the centre of the round bottom below it \[px\].
    pub(crate) fn radial(&self, u: f64, v: f64) -> f64 {
        u.hypot((self.bore_radius_px - v).max(0.0))
    }
}

/// A rectangle of the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Region {
    pub(crate) x0: usize,
    pub(crate) y0: usize,
    pub(crate) width: usize,
    pub(crate) height: usize,
}

/// How far the region of a tube reaches beyond its bore \[px\].
pub(crate) const MAP_MARGIN_PX: usize = 4;

/// Local coordinates of the pixels of a region.
#[derive(Debug, Clone)]
pub(crate) struct LocalMap {
    pub(crate) region: Region,
    pub(crate) u: Vec<f32>,
    pub(crate) v: Vec<f32>,
    /// 1 inside the bore, 0 outside, between on its edge.
    pub(crate) bore: Vec<f32>,
}

impl LocalMap {
    /// The region that holds a tube from below its bottom to `height_px` above it.
    pub(crate) fn new(stand: &Stand, height_px: f64, picture: (usize, usize)) -> Self {
        let margin = stand.bore_radius_px + MAP_MARGIN_PX as f64;
        let corners = [
            (-margin, -6.0),
            (margin, -6.0),
            (-margin, height_px),
            (margin, height_px),
        ]
        .map(|(u, v)| stand.picture_from_local(u, v));
        let bounds = |values: [f64; 4], limit: usize| {
            let low = values.iter().copied().fold(f64::INFINITY, f64::min).floor();
            let high = values
                .iter()
                .copied()
                .fold(f64::NEG_INFINITY, f64::max)
                .ceil();
            let limit = limit as f64;
            (
                low.clamp(0.0, limit) as usize,
                (high + 1.0).clamp(0.0, limit) as usize,
            )
        };
        let (x0, x1) = bounds(corners.map(|corner| corner.0), picture.0);
        let (y0, y1) = bounds(corners.map(|corner| corner.1), picture.1);
        let region = Region {
            x0,
            y0,
            width: x1 - x0,
            height: y1 - y0,
        };
        let count = region.width * region.height;
        let mut map = Self {
            region,
            u: Vec::with_capacity(count),
            v: Vec::with_capacity(count),
            bore: Vec::with_capacity(count),
        };
        for y in y0..y1 {
            for x in x0..x1 {
                let (u, v) = stand.local_from_picture(x as f64, y as f64);
                let inside = (stand.bore_radius_px - stand.radial(u, v) + 0.5).clamp(0.0, 1.0);
                map.u.push(u as f32);
                map.v.push(v as f32);
                map.bore.push(inside as f32);
            }
        }
        map
    }
}

/// How one grain looks at a moment.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Look {
    /// Picture position of its centre.
    pub(crate) x: f32,
    pub(crate) y: f32,
    /// Linear size relative to the unmelted grain, 0..=1.
    pub(crate) size: f32,
    /// Light stopped by its full thickness, 0..=1.
    pub(crate) opacity: f32,
    /// Brightness at shade 1.
    pub(crate) brightness: f32,
}

/// Light of the content, and how open the view through it is, front to back.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Canvas {
    width: usize,
    height: usize,
    /// Number of shut pixels in each block of [`BLOCK`] × [`BLOCK`], to pass over hidden grains.
    shut: Vec<u8>,
    /// Light sent towards the camera \[grey levels\].
    pub(crate) light: Vec<f32>,
    /// Part of the background that is still seen, 0..=1.
    pub(crate) open: Vec<f32>,
    /// Pixels in the outline of an unmelted grain, when asked for; not noted where the view is shut.
    pub(crate) footprint: Vec<bool>,
}

/// Below this the background no longer matters.
const SHUT: f32 = 0.015;
const BLOCK: usize = 4;

impl Canvas {
    /// Make it blank for a region.
    pub(crate) fn clear(&mut self, region: Region) {
        let count = region.width * region.height;
        (self.width, self.height) = (region.width, region.height);
        self.light.clear();
        self.light.resize(count, 0.0);
        self.open.clear();
        self.open.resize(count, 1.0);
        self.footprint.clear();
        self.shut.clear();
        self.shut.resize(
            region.width.div_ceil(BLOCK) * region.height.div_ceil(BLOCK),
            0,
        );
    }

    /// Whether nothing can be seen behind what covers a rectangle so far. Blocks cut by the
    /// region's edge never count as covered.
    fn hidden(&self, columns: Range<usize>, rows: Range<usize>) -> bool {
        let per_row = self.width.div_ceil(BLOCK);
        let blocks = |range: &Range<usize>| range.start / BLOCK..range.end.div_ceil(BLOCK);
        blocks(&rows).all(|row| {
            blocks(&columns)
                .all(|column| usize::from(self.shut[row * per_row + column]) == BLOCK * BLOCK)
        })
    }

    /// Prepare to note the outlines of grains.
    pub(crate) fn note_footprints(&mut self) {
        self.footprint.resize(self.width * self.height, false);
    }

    /// Draw a grain behind everything drawn so far.
    ///
    /// The grain is a roof over its half-planes: the nearest edge gives the facet and with it the
    /// shade, the distance from it gives the thickness.
    pub(crate) fn grain(&mut self, grain: &Grain, look: Look, stand: &Stand, region: Region) {
        let noting = !self.footprint.is_empty();
        if look.size <= 0.02 && !noting {
            return;
        }
        let (sin, cos) = (stand.sin as f32, stand.cos as f32);
        let shrunk = grain.radius * (1.0 - look.size);
        let across = grain.normals.map(|[across, up]| across * cos + up * sin);
        let outline = Outline {
            across,
            per_across: across.map(f32::recip),
            down: grain.normals.map(|[across, up]| across * sin - up * cos),
            edge: grain.offsets.map(|offset| offset * look.size),
        };
        // Footprints reach as far as the unmelted grain did.
        let margin = if noting { shrunk + 0.5 } else { 0.5 };
        let reach = 1.35 * outline.edge.iter().copied().fold(0.0, f32::max) + margin;
        let (cx, cy) = (look.x - region.x0 as f32, look.y - region.y0 as f32);
        let rows = clip(cy - reach, self.height)..clip(cy + reach + 1.0, self.height);
        let columns = clip(cx - reach, self.width)..clip(cx + reach + 1.0, self.width);
        if self.hidden(columns, rows.clone()) {
            return;
        }
        let blocks_per_row = self.width.div_ceil(BLOCK);
        let roof = 1.0 / (0.45 * grain.radius);
        let strength = look.opacity * (0.45 + 0.55 * look.size);
        for y in rows {
            let dy = y as f32 - cy;
            let (from, to) = outline.span(dy, margin, reach);
            for x in clip((cx + from).ceil(), self.width)..clip(cx + to + 1.0, self.width) {
                let at = y * self.width + x;
                if self.open[at] < SHUT {
                    continue;
                }
                let (inside, facet) = outline.depth(x as f32 - cx, dy);
                if noting && inside + shrunk > 0.7 {
                    self.footprint[at] = true;
                }
                if inside <= -0.5 || look.size <= 0.02 {
                    continue;
                }
                let cover = (inside + 0.5).min(1.0);
                let thickness = 0.6 + 0.4 * (inside.max(0.0) * roof).min(1.0);
                let stopped = cover * strength * thickness;
                let grainy =
                    0.96 + 0.08 * speckle(x as i32 - cx as i32, y as i32 - cy as i32, grain.phase);
                self.light[at] +=
                    self.open[at] * stopped * look.brightness * grain.shades[facet] * grainy;
                self.open[at] *= 1.0 - stopped;
                if self.open[at] < SHUT {
                    self.shut[y / BLOCK * blocks_per_row + x / BLOCK] += 1;
                }
            }
        }
    }
}

fn clip(value: f32, limit: usize) -> usize {
    value.max(0.0).min(limit as f32) as usize
}

/// A grain's edges in the picture, around its centre.
struct Outline {
    across: [f32; SIDES],
    per_across: [f32; SIDES],
    down: [f32; SIDES],
    edge: [f32; SIDES],
}

impl Outline {
    /// The part of a row that can lie within `margin` outside the edges, at most `reach` from the centre.
    fn span(&self, dy: f32, margin: f32, reach: f32) -> (f32, f32) {
        let (mut from, mut to) = (-reach, reach);
        for side in 0..SIDES {
            let room = self.edge[side] + margin - self.down[side] * dy;
            let across = self.across[side];
            if across > 1e-3 {
                to = to.min(room * self.per_across[side]);
            } else if across < -1e-3 {
                from = from.max(room * self.per_across[side]);
            }
        }
        (from, to)
    }

    /// Distance inside the nearest edge, and which edge that is.
    fn depth(&self, dx: f32, dy: f32) -> (f32, usize) {
        let mut nearest = (f32::MAX, 0);
        for side in 0..SIDES {
            let distance = self.edge[side] - (self.across[side] * dx + self.down[side] * dy);
            if distance < nearest.0 {
                nearest = (distance, side);
            }
        }
        nearest
    }
}

/// A fixed fine texture in 0..1 that travels with the grain.
fn speckle(x: i32, y: i32, phase: f32) -> f32 {
    let seed = (phase * 65_536.0) as u32;
    let mixed = (x as u32).wrapping_mul(0x9E37_79B1)
        ^ (y as u32).wrapping_mul(0x85EB_CA77)
        ^ seed.wrapping_mul(0xC2B2_AE3D);
    let mixed = (mixed ^ (mixed >> 15)).wrapping_mul(0x2C1B_3C6D);
    ((mixed >> 16) & 0xFFFF) as f32 / 65_536.0
}
