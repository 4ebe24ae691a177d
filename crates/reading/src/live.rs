//! Reading as the pictures come: provisional states per tube, told only from what was seen so far.
//!
//! The same watching and following as for a whole recording. A moment is called once it has held
//! for a few seconds, and dated back to when it began; a first liquid that turns out to have been a
//! passing shadow is taken back.

use std::collections::VecDeque;

use crate::column::{Grid, MARGIN_ACROSS};
use crate::first_liquid::{first_liquid_levels, without_mottling};
use crate::frame::Frame;
use crate::image::quantile;
use crate::powder::{MAIN_CUE, Powder};
use crate::read::ReadOptions;
use crate::tube_reading::{DARKENED, NOT_CLEARING};
use crate::watch::{Fitness, KeptFrame, REFERENCE_FRAMES, Watch};

/// A moment must have held this long before it is called [s].
const HELD_S: f64 = 2.0;
/// Part of the whole recording's level at which liquid is called, per cue: waiting for all of it costs
/// seconds, most of all with the strictest, and the call is provisional.
const CALL_AT: [f32; 3] = [0.75, 0.75, 0.5];
/// The last crystal is called when nothing has changed for so long [s].
const STILL_S: f64 = 3.0;
/// Frames whose median stands for "now".
const MEDIAN_FRAMES: usize = 3;
/// Frames that say what brightness is usual.
const USUAL_FRAMES: usize = 9;
/// Frames that must be dark to speak of darkening.
const DARK_FRAMES: usize = 5;
/// Share of the level below which a first liquid is taken back.
const TAKEN_BACK: f32 = 0.5;
/// Momentary change of the column's brightness that is a shadow, and for how many frames at most.
const SHADOW: f32 = 0.2;
const LONGEST_SHADOW_FRAMES: usize = 8;
/// Look that counts as solid, share of dry powder.
const SOLID: f32 = 0.3;
/// Most that a meniscus and lasting highlights can make up of the column.
const LASTING: f32 = 0.08;
/// Change of the solid share within [`STILL_S`] that is none.
const UNCHANGED: f32 = 0.008;
/// Powder that slid or drifts is called settling for so long after [s].
const SETTLING_S: f64 = 5.0;
/// Cleared share from which an end of melting can be spoken of.
const MOSTLY_LIQUID: f32 = 0.5;

/// What one tube looks like now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LiveStage {
    /// A tube without powder.
    Empty,
    /// Powder, not yet long enough in sight to be followed.
    Waiting,
    /// Solid; no liquid seen.
    Solid,
    /// Liquid and solid.
    Melting,
    /// No solid left to be seen.
    Liquid,
    /// The content darkened as a whole: it decomposes.
    Darkened,
}

/// Provisional state of one tube; later pictures may change it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LiveTube {
    /// 1.. from left to right.
    pub tube: usize,
    /// Now.
    pub stage: LiveStage,
    /// Since when liquid was seen [s], the frames' clock.
    pub first_liquid_s: Option<f64>,
    /// When the last crystal went [s].
    pub last_crystal_s: Option<f64>,
    /// Whether the newest picture shows this tube.
    pub in_sight: bool,
    /// How often a first liquid was called and taken back.
    pub taken_back: usize,
    /// Solid powder that slid or drifts: what clears where it was is no liquid.
    pub settling: bool,
}

/// Reads pictures in order of time, one by one. Memory does not grow with the run.
pub struct LiveReader {
    wanted: Option<usize>,
    early: VecDeque<KeptFrame>,
    watch: Option<Watch>,
    followers: Vec<Follower>,
    states: Vec<LiveTube>,
    last_s: f64,
}

impl LiveReader {
    /// A reader that has seen nothing yet.
    pub fn new(options: &ReadOptions) -> Self {
        Self {
            wanted: options.tubes,
            early: VecDeque::new(),
            watch: None,
            followers: Vec::new(),
            states: Vec::new(),
            last_s: f64::NEG_INFINITY,
        }
    }

    /// Take the next picture; returns the tubes from left to right, none until they are found.
    ///
    /// A picture of another size than the first, or not later than the one before, is passed over.
    pub fn push(&mut self, frame: &Frame<'_>) -> &[LiveTube] {
        let follows = frame.time_s.is_finite() && frame.time_s > self.last_s;
        if !follows || frame.luma.len() != frame.width * frame.height {
            return &self.states;
        }
        self.last_s = frame.time_s;
        if self.watch.is_none() {
            if self
                .early
                .front()
                .is_some_and(|f| (f.width, f.height) != (frame.width, frame.height))
            {
                self.early.clear();
            }
            self.early.push_back(KeptFrame::of(frame));
            if self.early.len() < REFERENCE_FRAMES {
                return &self.states;
            }
            let frames: Vec<KeptFrame> = self.early.iter().cloned().collect();
            self.watch = Watch::start(&frames, self.wanted);
            self.early.pop_front();
            self.set_up();
        } else {
            self.follow(frame);
        }
        &self.states
    }

    fn set_up(&mut self) {
        let Some(watch) = &self.watch else { return };
        for (k, (tube, grid)) in watch.scene.tubes.iter().zip(&watch.grids).enumerate() {
            self.followers.push(Follower::new(grid, watch));
            self.states.push(LiveTube {
                tube: k + 1,
                stage: if tube.filled {
                    LiveStage::Waiting
                } else {
                    LiveStage::Empty
                },
                first_liquid_s: None,
                last_crystal_s: None,
                in_sight: true,
                taken_back: 0,
                settling: false,
            });
        }
        for kept in std::mem::take(&mut self.early) {
            self.follow(&kept.borrow());
        }
    }

    fn follow(&mut self, frame: &Frame<'_>) {
        let Some(watch) = &mut self.watch else { return };
        if !watch.accepts(frame) {
            return;
        }
        let seen = watch.look(frame);
        for (k, (follower, state)) in self.followers.iter_mut().zip(&mut self.states).enumerate() {
            state.in_sight = seen.fitness[k] == Fitness::Good;
            if state.in_sight && state.stage != LiveStage::Empty {
                follower.take(seen.time_s, &seen.patches[k], state);
            }
        }
    }
}

/// Follows one tube.
struct Follower {
    powder: Powder,
    levels: [f32; 3],
    across: usize,
    powder_rows: (usize, usize),
    recent: VecDeque<[f32; 3]>,
    above_since_s: Option<f64>,
    solid: VecDeque<(f64, f32)>,
    brightness: VecDeque<f32>,
    shadowed: usize,
    dark: usize,
    moved_s: f64,
}

impl Follower {
    fn new(grid: &Grid, watch: &Watch) -> Self {
        Self {
            powder: Powder::new(
                grid.across,
                grid.along,
                grid.powder_rows,
                watch.scene.lighting,
            ),
            levels: first_liquid_levels(watch.scene.lighting),
            across: grid.across,
            powder_rows: grid.powder_rows,
            recent: VecDeque::new(),
            above_since_s: None,
            solid: VecDeque::new(),
            brightness: VecDeque::new(),
            shadowed: 0,
            dark: 0,
            moved_s: f64::NEG_INFINITY,
        }
    }

    fn take(&mut self, time_s: f64, patch: &[u8], state: &mut LiveTube) {
        if state.stage != LiveStage::Melting && self.is_shadow(patch) {
            return;
        }
        let Some(look) = self.powder.push(time_s, patch) else {
            return;
        };
        self.recent.push_back(without_mottling(&look));
        if self.recent.len() > MEDIAN_FRAMES {
            self.recent.pop_front();
        }
        let now: [f32; 3] = std::array::from_fn(|cue| {
            let mut values: Vec<f32> = self.recent.iter().map(|c| c[cue]).collect();
            quantile(&mut values, 0.5)
        });
        if state.stage == LiveStage::Waiting {
            state.stage = LiveStage::Solid;
        }
        // What clears of moist powder may be mottling, but powder that turns dark does not clear at all.
        let dark = look.gain < DARKENED && look.cleared[MAIN_CUE] < NOT_CLEARING;
        if state.stage == LiveStage::Solid && dark {
            self.dark += 1;
            if self.dark >= DARK_FRAMES {
                state.stage = LiveStage::Darkened;
            }
        }
        if look.slid || look.drifting {
            self.moved_s = time_s;
        }
        self.first_liquid(time_s, now, state);
        state.settling = state.stage == LiveStage::Solid && time_s - self.moved_s < SETTLING_S;
        if state.stage == LiveStage::Melting {
            self.last_crystal(time_s, patch, now[MAIN_CUE], state);
        }
    }

    fn first_liquid(&mut self, time_s: f64, now: [f32; 3], state: &mut LiveTube) {
        // All three cues: the lenient ones alone may be powder that merely loses its look, or noise.
        let above = now
            .iter()
            .zip(self.levels)
            .zip(CALL_AT)
            .all(|((n, level), part)| *n > part * level);
        if state.stage == LiveStage::Solid {
            let since = if above {
                *self.above_since_s.get_or_insert(time_s)
            } else {
                time_s
            };
            if !above {
                self.above_since_s = None;
            } else if time_s - since >= HELD_S {
                state.stage = LiveStage::Melting;
                state.first_liquid_s = Some(since);
            }
        } else if state.stage == LiveStage::Melting
            && now[MAIN_CUE] < TAKEN_BACK * self.levels[MAIN_CUE]
        {
            state.stage = LiveStage::Solid;
            state.first_liquid_s = None;
            state.taken_back += 1;
            self.above_since_s = None;
        }
    }

    fn last_crystal(&mut self, time_s: f64, patch: &[u8], cleared: f32, state: &mut LiveTube) {
        let share = self.solid_share(patch);
        self.solid.push_back((time_s, share));
        while self.solid.len() > 2 && self.solid[1].0 <= time_s - STILL_S {
            self.solid.pop_front();
        }
        let watched_s = time_s - self.solid.front().map_or(time_s, |s| s.0);
        let (least, most) = self
            .solid
            .iter()
            .fold((f32::MAX, f32::MIN), |m, s| (m.0.min(s.1), m.1.max(s.1)));
        if cleared > MOSTLY_LIQUID
            && watched_s >= STILL_S
            && most < LASTING
            && most - least < UNCHANGED
        {
            state.stage = LiveStage::Liquid;
            state.last_crystal_s = self.solid.front().map(|s| s.0);
        }
    }

    /// Share of the column that looks solid now, lasting highlights included.
    fn solid_share(&self, patch: &[u8]) -> f32 {
        let look = self.powder.share_of_level(patch);
        let margin =
            (MARGIN_ACROSS / (1.0 + 2.0 * MARGIN_ACROSS) * self.across as f32).round() as usize;
        let rows = self.powder_rows.0..self.powder_rows.1;
        let solid: usize = rows
            .map(|y| {
                let row = &look[y * self.across + margin..(y + 1) * self.across - margin];
                row.iter().filter(|v| **v > SOLID).count()
            })
            .sum();
        let area = self
            .powder
            .start_inside()
            .iter()
            .filter(|i| **i)
            .count()
            .max(1);
        solid as f32 / area as f32
    }

    /// Whether the column is brighter or darker all at once; only for so long, then it is taken as it is.
    fn is_shadow(&mut self, patch: &[u8]) -> bool {
        let rows = self.powder_rows.0 * self.across..self.powder_rows.1 * self.across;
        let mut values: Vec<f32> = patch[rows]
            .iter()
            .step_by(3)
            .map(|&v| f32::from(v))
            .collect();
        let now = quantile(&mut values, 0.5);
        let usual = quantile(
            &mut self.brightness.iter().copied().collect::<Vec<_>>(),
            0.5,
        );
        let known = self.brightness.len() >= USUAL_FRAMES / 2;
        if known
            && (now - usual).abs() > (SHADOW * usual).max(8.0)
            && self.shadowed < LONGEST_SHADOW_FRAMES
        {
            self.shadowed += 1;
            return true;
        }
        self.shadowed = 0;
        self.brightness.push_back(now);
        if self.brightness.len() > USUAL_FRAMES {
            self.brightness.pop_front();
        }
        false
    }
}
