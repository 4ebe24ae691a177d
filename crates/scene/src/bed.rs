//! How the powder bed moves: settling, shrinking, cracking, collapsing into a liquid column.

use meltrange_physics::Celsius;
use rand::RngExt;

use crate::grains::{Fate, Grain};
use crate::random::{Purpose, smooth_step, stream, uniform};
use crate::timeline::Timeline;
use crate::trouble::{Cue, Swell};
use crate::tube_spec::{Onset, Side, TubeSpec};

/// How long a sudden drop takes \[s\].
const DROP_S: f64 = 0.4;
/// Liquid takes a little more room than the solid did.
const EXPANSION: f64 = 1.04;

/// The motion of one tube's bed, fixed for the scene.
#[derive(Debug, Clone)]
pub(crate) struct BedMotion {
    height_px: f64,
    liquid_height_px: f64,
    bore_radius_px: f64,
    collapse_from: f64,
    collapse_to: f64,
    jerkiness: f64,
    /// Rising progress values between which the collapse pauses.
    stages: Vec<f64>,
    drops: Vec<Drop>,
    shrink: Option<Swell>,
    side: Side,
    /// Heights of cracks as part of the column.
    cracks: Vec<f64>,
}

#[derive(Debug, Clone, Copy)]
struct Drop {
    cue: Cue,
    fraction: f64,
    above: f64,
}

/// The bed at one moment.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Bed {
    /// Melted fraction now.
    pub(crate) melted: f64,
    /// Top of the bed or of the liquid \[px above the bottom\].
    pub(crate) top_px: f64,
    /// Height up to which liquid fills all pores \[px\].
    pub(crate) saturated_px: f64,
    /// 0 powder surface to 1 liquid surface.
    pub(crate) meniscus: f64,
    /// Width of the bed relative to the bore.
    pub(crate) width: f64,
    /// Sideways shift of the bed \[px\].
    pub(crate) shift_px: f64,
    scale: f64,
    drops: Vec<(f64, f64)>,
    cracks: Vec<(f64, f64)>,
    height_px: f64,
}

impl BedMotion {
    pub(crate) fn new(tube: &TubeSpec, (seed, index): (u64, usize), bore_radius_px: f64) -> Self {
        let mut rng = stream(seed, Purpose::Melt, index);
        let height_px = tube.column_height_mm * 2.0 * bore_radius_px;
        let mut stages: Vec<f64> = (0..5).map(|_| rng.random::<f64>()).collect();
        stages.sort_by(f64::total_cmp);
        let drops = tube
            .settling
            .iter()
            .map(|drop| Drop {
                cue: Cue::new(drop.at_s, drop.at_c, tube),
                fraction: drop.drop_fraction,
                above: drop.above_fraction,
            })
            .collect();
        let shrink = tube.shrinkage.map(|shrink| {
            let onset = Onset {
                at_s: shrink.at_s,
                at_c: shrink.at_c,
                duration_s: shrink.duration_s,
                strength: shrink.strength,
            };
            Swell::new(onset, tube)
        });
        let crack_count = tube.shrinkage.map_or(0, |shrink| shrink.cracks);
        let cracks = (0..crack_count)
            .map(|crack| {
                (f64::from(crack) + uniform(&mut rng, 0.3, 0.9)) / f64::from(crack_count + 1) + 0.1
            })
            .collect();
        Self {
            height_px,
            liquid_height_px: height_px * (tube.packing_fraction * EXPANSION).min(0.95),
            bore_radius_px,
            collapse_from: tube.collapse_from,
            collapse_to: tube.collapse_to,
            jerkiness: tube.jerkiness,
            stages,
            drops,
            shrink,
            side: tube.shrinkage.map_or(Side::Both, |shrink| shrink.side),
            cracks,
        }
    }

    /// Take notice of the block's temperature at a time; times rise from call to call.
    pub(crate) fn watch(&mut self, time_s: f64, block: Celsius) {
        let drops = self.drops.iter_mut().map(|drop| &mut drop.cue);
        let shrink = self.shrink.as_mut().map(|shrink| &mut shrink.cue);
        drops.chain(shrink).for_each(|cue| cue.watch(time_s, block));
    }

    pub(crate) fn at(&self, timeline: &Timeline, time_s: f64) -> Bed {
        let peak = timeline.peak_melted(time_s);
        let drops: Vec<(f64, f64)> = self
            .drops
            .iter()
            .map(|drop| {
                let done = drop.cue.done(DROP_S, time_s);
                (drop.above, drop.fraction * done * self.height_px)
            })
            .filter(|(_, drop_px)| *drop_px > 0.0)
            .collect();
        // Liquid wets the wall and fills the gap again.
        let refill = 1.0 - smooth_step(0.05, 0.3, peak);
        let shrink = self.shrink.map_or(0.0, |shrink| shrink.at(time_s)) * refill;
        let shift = match self.side {
            Side::Both => 0.0,
            Side::Left => 1.0,
            Side::Right => -1.0,
        };
        let opening_px = 0.8 * shrink * self.bore_radius_px;
        let cracks: Vec<(f64, f64)> = self
            .cracks
            .iter()
            .map(|&at| (at * self.height_px, opening_px))
            .collect();
        let settled_px = self.height_px - drops.iter().map(|(_, drop_px)| drop_px).sum::<f64>();
        let dry_px = settled_px * (1.0 - 0.5 * shrink);
        let liquid_px = self.liquid_height_px.min(0.95 * settled_px);
        let progress = self.collapse(peak);
        let bed_px = dry_px + (liquid_px - dry_px) * progress;
        let cracked_px = opening_px * cracks.len() as f64;
        let fill = smooth_step(0.4 * self.collapse_to, self.collapse_to, peak);
        let top_px = bed_px + cracked_px;
        Bed {
            melted: timeline.melted(time_s),
            top_px,
            saturated_px: top_px * fill,
            meniscus: smooth_step(0.75, 1.0, fill),
            width: 1.0 - shrink,
            shift_px: shift * shrink * self.bore_radius_px,
            scale: bed_px / settled_px,
            drops,
            cracks,
            height_px: self.height_px,
        }
    }

    /// Progress of the collapse, 0 to 1, in jerks where asked for.
    fn collapse(&self, peak_melted: f64) -> f64 {
        let even = smooth_step(self.collapse_from, self.collapse_to, peak_melted);
        let held = self
            .stages
            .iter()
            .copied()
            .filter(|&stage| stage <= even)
            .fold(0.0, f64::max);
        let jerky = if even >= 1.0 { 1.0 } else { held };
        even + (jerky - even) * self.jerkiness
    }

    /// When each sudden drop happens \[s\], as far as that is known.
    pub(crate) fn drop_times_s(&self) -> Vec<f64> {
        self.drops
            .iter()
            .filter(|drop| drop.cue.is_known())
            .map(|drop| drop.cue.start_s())
            .collect()
    }

    /// Begin and end of the shrinking \[s\], once that is known.
    pub(crate) fn shrink_times_s(&self) -> Option<(f64, f64)> {
        self.shrink
            .filter(|shrink| shrink.cue.is_known())
            .map(|shrink| {
                let start_s = shrink.cue.start_s();
                (start_s, start_s + shrink.duration_s)
            })
    }
}

impl Bed {
    /// Where a point of the fresh bed is now.
    pub(crate) fn place(&self, u: f64, v: f64) -> (f64, f64) {
        let relative = v / self.height_px;
        let dropped: f64 = self
            .drops
            .iter()
            .map(|&(above, drop_px)| drop_px * smooth_step(above - 0.12, above + 0.2, relative))
            .sum();
        let lifted: f64 = self
            .cracks
            .iter()
            .filter(|(at_px, _)| v > *at_px)
            .map(|(_, opening_px)| opening_px)
            .sum();
        (
            u * self.width + self.shift_px,
            (v - dropped) * self.scale + lifted,
        )
    }
}

/// Where and when a grain comes loose.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Loose {
    at_s: f64,
    u: f64,
    v: f64,
}

impl Loose {
    /// `None` when the bed holds the grain as far as the timeline goes.
    pub(crate) fn new(
        grain: &Grain,
        tube: &TubeSpec,
        motion: &BedMotion,
        timeline: &Timeline,
    ) -> Option<Self> {
        let begin = f64::from(grain.rank) * (1.0 - tube.grain_span);
        let bed_gives_way = 0.4 * tube.collapse_from + 0.6 * tube.collapse_to;
        let at_s = timeline.first_at_melted(bed_gives_way.max(begin + 0.25 * tube.grain_span))?;
        let (u, v) = motion
            .at(timeline, at_s)
            .place(f64::from(grain.u), f64::from(grain.v));
        Some(Self { at_s, u, v })
    }

    /// Where the loose grain is now, or `None` while the bed still holds it.
    pub(crate) fn place(
        &self,
        grain: &Grain,
        bed: &Bed,
        bore_radius_px: f64,
        time_s: f64,
    ) -> Option<(f64, f64)> {
        let elapsed_s = time_s - self.at_s;
        if elapsed_s <= 0.0 {
            return None;
        }
        let radius = f64::from(grain.radius);
        // Grains start slowly, then reach their speed within some seconds.
        let path_px = f64::from(grain.speed) * elapsed_s * (elapsed_s / (elapsed_s + 6.0));
        let v = match grain.fate {
            Fate::Float => self.v + path_px,
            Fate::Sink => self.v - path_px,
            Fate::Hang => self.v,
        };
        let sway_px = match grain.fate {
            Fate::Hang => 0.0,
            Fate::Float | Fate::Sink => 0.06 * bore_radius_px,
        };
        let phase = std::f64::consts::TAU * f64::from(grain.phase);
        let sway = (0.35 * elapsed_s + phase).sin() - phase.sin();
        let limit = bore_radius_px - 0.5 * radius;
        let u = (self.u + sway_px * sway).clamp(-limit, limit);
        // The round bottom holds sinking grains; they lie on each other.
        let floor = bore_radius_px - (bore_radius_px * bore_radius_px - u * u).max(0.0).sqrt();
        let pile_px = 0.5 * bore_radius_px * f64::from(grain.phase) * (1.0 - bed.melted);
        let lowest = floor + 0.5 * radius + pile_px;
        let highest = (bed.top_px - 0.6 * radius - pile_px).max(lowest);
        Some((u, v.clamp(lowest.min(self.v.max(0.0)), highest)))
    }
}
