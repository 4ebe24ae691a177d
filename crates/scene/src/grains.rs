//! The powder: faceted grains packed into the round bore, each with its turn in the melting.
//!
//! Positions are tube-local pixels: `u` across the axis, `v` up from the inside of the sealed
//! bottom, `z` towards the camera.

use rand::RngExt;
use rand_chacha::ChaCha8Rng;

use crate::random::{Field, Purpose, Wander, normal, stream, uniform};
use crate::tube_spec::{Remnants, TubeSpec};

/// Facets of a grain: it is drawn as a convex roof over this many half-planes.
pub(crate) const SIDES: usize = 7;
/// Distance of neighbouring grain centres in grain diameters; below 1 so that no line of sight
/// through the dry column stays open.
const SPACING_PER_DIAMETER: f64 = 0.84;
/// Finest grain that is drawn \[px\].
const LEAST_DIAMETER_PX: f64 = 3.2;

/// Where a grain goes once the bed no longer holds it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fate {
    Float,
    Sink,
    Hang,
}

/// One grain.
#[derive(Debug, Clone)]
pub(crate) struct Grain {
    pub(crate) u: f32,
    pub(crate) v: f32,
    /// Depth in bores' radii, −1 back to 1 front.
    pub(crate) depth: f32,
    pub(crate) radius: f32,
    /// Unit normals of the facets' edges, tube-local.
    pub(crate) normals: [[f32; 2]; SIDES],
    /// Distances of the edges from the centre \[px\].
    pub(crate) offsets: [f32; SIDES],
    /// Relative brightness of the facets.
    pub(crate) shades: [f32; SIDES],
    /// Turn in the melting, 0 first to 1 last.
    pub(crate) rank: f32,
    pub(crate) fate: Fate,
    /// Random phase in 0..1 for whatever differs from grain to grain.
    pub(crate) phase: f32,
    /// Speed once loose \[px/s\], without sign.
    pub(crate) speed: f32,
}

impl Grain {
    /// How far this grain's own melting is when `melted` of the whole sample has melted; its
    /// radius falls in step with it, as that of a grain that dissolves at a steady rate.
    pub(crate) fn melted(&self, melted: f64, span: f64) -> f32 {
        let begin = f64::from(self.rank) * (1.0 - span);
        (((melted - begin) / span).clamp(0.0, 1.0)) as f32
    }
}

/// Fill a bore of radius `bore_radius_px` up to `height_px`; front grains first.
pub(crate) fn pack(
    tube: &TubeSpec,
    seed: u64,
    index: usize,
    bore_radius_px: f64,
    height_px: f64,
) -> Vec<Grain> {
    let mut rng = stream(seed, Purpose::Grains, index);
    let diameter = (tube.grain_mm * 2.0 * bore_radius_px).max(LEAST_DIAMETER_PX);
    let spacing = diameter * SPACING_PER_DIAMETER;
    let surface = Wander::new(&mut rng, 0.5 * bore_radius_px, 4.0 * bore_radius_px);
    let slope = normal(&mut rng) * tube.top_roughness;
    let mut grains = Vec::new();
    let steps = |length: f64| (length / spacing).ceil() as i64;
    let reach = steps(bore_radius_px);
    for row in 0..=steps(height_px * 1.4) {
        for across in -reach..=reach {
            for deep in -reach..=reach {
                let stagger = if row % 2 == 0 { 0.0 } else { 0.5 };
                let jitter = |rng: &mut ChaCha8Rng| 0.28 * spacing * normal(rng);
                let u = (across as f64 + stagger) * spacing + jitter(&mut rng);
                let z = (deep as f64 + stagger) * spacing + jitter(&mut rng);
                let v = (row as f64 + 0.4) * spacing * 0.9 + jitter(&mut rng);
                let top = height_px
                    + 2.0 * bore_radius_px * tube.top_roughness * surface.at(u + 0.3 * z)
                    + slope * u;
                let radius =
                    0.5 * diameter * (1.0 + tube.grain_spread * normal(&mut rng)).clamp(0.6, 1.7);
                let below_centre = (bore_radius_px - v).max(0.0);
                let radial = (u * u + z * z + below_centre * below_centre).sqrt();
                if v + 0.5 * radius > top
                    || v < 0.2 * radius
                    || radial > bore_radius_px - 0.15 * radius
                {
                    continue;
                }
                grains.push(grain(
                    tube,
                    &mut rng,
                    [u, v, z / bore_radius_px],
                    radius,
                    bore_radius_px,
                ));
            }
        }
    }
    rank_grains(tube, &mut rng, &mut grains, bore_radius_px, height_px);
    grains.sort_by(|a, b| b.depth.total_cmp(&a.depth));
    grains
}

fn grain(
    tube: &TubeSpec,
    rng: &mut ChaCha8Rng,
    [u, v, depth]: [f64; 3],
    radius: f64,
    bore_radius_px: f64,
) -> Grain {
    let long_axis = uniform(rng, 0.0, std::f64::consts::TAU);
    let stretch = tube.elongation.sqrt() * uniform(rng, 0.9, 1.1);
    let albedo = 1.0 + 0.12 * normal(rng).clamp(-2.0, 2.0);
    let mut normals = [[0.0; 2]; SIDES];
    let mut offsets = [0.0; SIDES];
    let mut shades = [0.0; SIDES];
    for side in 0..SIDES {
        let angle = long_axis
            + std::f64::consts::TAU * (side as f64 + uniform(rng, -0.35, 0.35)) / SIDES as f64;
        normals[side] = [angle.cos() as f32, angle.sin() as f32];
        let (along, aside) = ((angle - long_axis).cos(), (angle - long_axis).sin());
        let support = ((along * stretch).powi(2) + (aside / stretch).powi(2)).sqrt();
        offsets[side] = (radius * support * uniform(rng, 0.95, 1.25)) as f32;
        // The lamp stands up and to the left; facets that look there are brighter.
        let towards_lamp = -0.6 * angle.cos() + 0.8 * angle.sin();
        shades[side] =
            (albedo * (0.86 + 0.17 * towards_lamp + 0.07 * normal(rng))).clamp(0.4, 1.3) as f32;
    }
    Grain {
        u: u as f32,
        v: v as f32,
        depth: depth as f32,
        radius: radius as f32,
        normals,
        offsets,
        shades,
        rank: 0.0,
        fate: Fate::Hang,
        phase: rng.random::<f32>(),
        speed: (uniform(rng, 0.01, 0.06) * 2.0 * bore_radius_px) as f32,
    }
}

/// Give every grain its turn: by distance from the hot wall, by a smooth random field (so that
/// patches clear and islands remain) and by chance; and its fate by another smooth field.
fn rank_grains(
    tube: &TubeSpec,
    rng: &mut ChaCha8Rng,
    grains: &mut [Grain],
    bore_radius_px: f64,
    height_px: f64,
) {
    let patches = Field::new(rng, 0.9 * bore_radius_px);
    let fates = Field::new(rng, 1.6 * bore_radius_px);
    let mut scores: Vec<(f64, usize)> = Vec::with_capacity(grains.len());
    for (index, grain) in grains.iter_mut().enumerate() {
        let (u, v, z) = (
            f64::from(grain.u),
            f64::from(grain.v),
            f64::from(grain.depth) * bore_radius_px,
        );
        // The block heats most from the sides that the camera sees as left and right.
        let radial = (u * u + z * z).sqrt() / bore_radius_px;
        let from_wall = 1.0 - (0.4 * radial + 0.6 * u.abs() / bore_radius_px).min(1.0);
        let score = 1.6 * tube.wall_first * from_wall
            + 0.55 * tube.patchiness * patches.at(u, v, z)
            + tube.bottom_first * v / height_px
            + 0.18 * normal(rng);
        scores.push((score, index));
        let field = fates.at(u, v, z);
        grain.fate = match tube.remnants {
            Remnants::Float => Fate::Float,
            Remnants::Sink => Fate::Sink,
            Remnants::Hang => Fate::Hang,
            Remnants::Mixed if field < -0.45 => Fate::Float,
            Remnants::Mixed if field < 0.45 => Fate::Sink,
            Remnants::Mixed => Fate::Hang,
        };
    }
    scores.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let count = scores.len().max(1) as f32;
    for (turn, (_, index)) in scores.into_iter().enumerate() {
        let before = (turn as f32 + 0.5) / count;
        grains[index].rank = 1.0 - (1.0 - before).powf(tube.straggling as f32);
    }
}
