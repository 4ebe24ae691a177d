//! What really happened, measured on the scene as drawn, before lens and sensor.

use rayon::prelude::*;
use serde::Serialize;
use std::collections::BTreeMap;

use crate::canvas::Canvas;
use crate::course::BlockCourse;
use crate::film::Film;
use crate::spec::{Container, Scene};
use crate::tube::{Tube, Visible, stand};
use crate::tube_spec::Content;
use crate::view::View;

/// Part of the current column that must be liquid for "first liquid".
pub const FIRST_LIQUID_FRACTION: f64 = 0.01;
/// Part of the original column area below which the last crystal counts as gone.
pub const LAST_CRYSTAL_FRACTION: f64 = 0.005;
/// Darkness from which on the outcome is "decomposed".
const CHARRED_OUTCOME: f64 = 0.5;
/// Spacing of the first look over the scene, and within the interval of a crossing \[s\].
const COARSE_S: f64 = 2.0;
const FINE_S: f64 = 0.2;

/// A moment of the truth.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TrueMoment {
    /// Log time \[s\].
    pub time_s: f64,
    /// Video time \[s\].
    pub video_time_s: f64,
    /// Block temperature without the thermometer's noise \[°C\].
    pub temperature_c: f64,
    /// Heating rate then \[°C/min\].
    pub rate_c_per_min: f64,
    /// Darkness by decomposition then, 0 to 1.
    pub char: f64,
}

/// The truth of one place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TubeTruth {
    /// 1.. from left to right.
    pub tube: usize,
    /// Middle of the column in the first picture \[px\].
    pub x_px: f64,
    /// The same, down.
    pub y_px: f64,
    /// Height of the fresh column \[px\].
    pub column_height_px: f64,
    /// Bore \[px\].
    pub bore_px: f64,
    /// melted, partly_melted, unmelted, decomposed, empty or no_tube.
    pub outcome: &'static str,
    /// Visible liquid reaches 1 % of the column.
    pub first_liquid: Option<TrueMoment>,
    /// Visible solid falls below 0.5 % of the original column area for good.
    pub last_crystal: Option<TrueMoment>,
    /// The same for other levels.
    pub first_liquid_levels: BTreeMap<&'static str, Option<TrueMoment>>,
    /// The same for other levels.
    pub last_crystal_levels: BTreeMap<&'static str, Option<TrueMoment>>,
    /// Melted fraction at the end, liquid held in pores left out.
    pub liquid_fraction_at_end: f64,
    /// From first liquid to last crystal \[°C\].
    pub range_c: Option<f64>,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Event {
    /// What.
    pub kind: String,
    /// In which tube; none means the whole picture.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tube: Option<usize>,
    /// Log time \[s\].
    pub time_s: f64,
    /// Video time \[s\].
    pub video_time_s: f64,
}

/// The truth of a recording, as kept in `truth.json`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Truth {
    /// Name of the scene.
    pub name: String,
    /// File or folder of the pictures.
    pub media: &'static str,
    /// Log time of video time 0 \[s\].
    pub video_start_s: f64,
    /// Length of the video \[s\].
    pub duration_s: f64,
    /// Number of pictures.
    pub n_frames: usize,
    /// The words used.
    pub definition: BTreeMap<&'static str, &'static str>,
    /// The places from left to right.
    pub tubes: Vec<TubeTruth>,
    /// In order of time.
    pub events: Vec<Event>,
    /// The scene.
    pub scenario: Scene,
}

/// Name of the pictures in the recording folder.
pub fn media_name(container: Container) -> &'static str {
    match container {
        Container::Mp4 | Container::Mp4Hevc => "video.mp4",
        Container::Mkv => "video.mkv",
        Container::Avi => "video.avi",
        Container::Webm => "video.webm",
        Container::Frames => "frames",
    }
}

impl Film {
    /// Measure what really happened.
    ///
    /// Every tube is drawn without camera on a grid of 2 s, and of 0.2 s around each crossing;
    /// crossings are interpolated linearly between grid points.
    pub fn truth(&self) -> Truth {
        let scene = self.scene();
        let start_s = scene.log.video_start_s;
        let duration_s = self.times_s().last().copied().unwrap_or(0.0);
        let looks_s = even_looks_s(start_s, start_s + duration_s);
        let tubes = scene
            .tubes
            .iter()
            .enumerate()
            .map(|(index, _)| tube_truth(&self.view, index, &self.block, &looks_s, start_s))
            .collect();
        let definition = BTreeMap::from([
            (
                "first_liquid",
                "visible liquid reaches 1 % of the current column area",
            ),
            (
                "last_crystal",
                "visible solid below 0.5 % of the original column area for good",
            ),
            ("temperature_c", "noise-free block temperature"),
            ("time_s", "log time"),
        ]);
        Truth {
            name: scene.name.clone(),
            media: media_name(scene.output.container),
            video_start_s: start_s,
            duration_s,
            n_frames: self.times_s().len(),
            definition,
            tubes,
            events: self.events(),
            scenario: scene.clone(),
        }
    }

    /// Solid to be seen at log times \[s\] as part of the original column area, before lens and sensor, as
    /// the truth measures it; `place` counts from 0. `None` where there is no powder.
    pub fn solid_left_fractions(&self, place: usize, log_times_s: &[f64]) -> Option<Vec<f64>> {
        let tube = self.view.tubes.get(place)?.as_ref()?;
        if tube.spec.content != Content::Powder {
            return None;
        }
        let curve = Curve::survey(tube, log_times_s);
        Some(
            curve
                .points
                .iter()
                .map(|point| curve.solid(point))
                .collect(),
        )
    }

    fn events(&self) -> Vec<Event> {
        let start_s = self.scene().log.video_start_s;
        let mut events = Vec::new();
        let mut add = |kind: &str, tube: Option<usize>, at_s: f64| {
            if at_s >= start_s && at_s <= self.end_s() {
                let kind = kind.to_owned();
                events.push(Event {
                    kind,
                    tube,
                    time_s: at_s,
                    video_time_s: at_s - start_s,
                });
            }
        };
        for (index, tube) in self.view.tubes.iter().enumerate() {
            let Some(tube) = tube else { continue };
            let place = Some(index + 1);
            if tube.spec.content == Content::Powder {
                tube.motion
                    .drop_times_s()
                    .into_iter()
                    .for_each(|at_s| add("settling", place, at_s));
                if let Some((from_s, to_s)) = tube.motion.shrink_times_s() {
                    add("shrinkage_start", place, from_s);
                    add("shrinkage_end", place, to_s);
                }
                for (name, swell) in [("wetting", tube.wetting), ("glistening", tube.glistening)] {
                    if let Some(swell) = swell {
                        let start_s = swell.cue.start_s();
                        add(&format!("{name}_start"), place, start_s);
                        // Glistening goes on until all is melted.
                        let gone_s = tube.timeline.first_at_melted(0.3).unwrap_or(self.end_s());
                        add(&format!("{name}_end"), place, gone_s.max(start_s));
                    }
                }
                if let Some(at_s) = tube.timeline.first_at_melted(tube.spec.collapse_from) {
                    add("collapse", place, at_s);
                }
                if tube.spec.charring.is_some() {
                    let steps = self.end_s().ceil() as usize;
                    let dark = (0..steps)
                        .map(|s| s as f64)
                        .find(|&s| tube.timeline.charred(s) > 0.05);
                    dark.into_iter()
                        .for_each(|at_s| add("decomposition", place, at_s));
                }
            }
            let swells = tube.overlay_swells;
            for (kind, swell) in [
                ("condensation", swells.condensation),
                ("sublimate", swells.sublimate),
                ("bubbles", swells.bubbles),
            ] {
                swell
                    .into_iter()
                    .for_each(|swell| add(kind, place, swell.cue.start_s()));
            }
        }
        let camera = &self.scene().camera;
        camera
            .exposure_steps
            .iter()
            .for_each(|step| add("exposure_step", None, step.at_s));
        camera
            .refocus
            .iter()
            .for_each(|hunt| add("focus_hunt", None, hunt.at_s));
        for occlusion in &camera.occlusions {
            let kind = format!("{:?}", occlusion.kind).to_lowercase();
            add(&format!("occlusion_{kind}"), None, occlusion.at_s);
        }
        events.sort_by(|a, b| a.time_s.total_cmp(&b.time_s).then(a.kind.cmp(&b.kind)));
        events
    }
}

/// Looks over a span, equally spaced by at most [`COARSE_S`], both ends among them.
fn even_looks_s(from_s: f64, to_s: f64) -> Vec<f64> {
    let steps = ((to_s - from_s) / COARSE_S).ceil().max(1.0);
    (0..=steps as usize)
        .map(|step| from_s + (to_s - from_s) * step as f64 / steps)
        .collect()
}

/// Looks from 0 at multiples of [`COARSE_S`] and one at the end: they stay the same while the end moves on.
pub(crate) fn steady_looks_s(to_s: f64) -> Vec<f64> {
    let whole = (to_s / COARSE_S).floor() as usize;
    let mut looks_s: Vec<f64> = (0..=whole).map(|step| step as f64 * COARSE_S).collect();
    // Two looks at least, as for a span without length.
    if whole == 0 || to_s > whole as f64 * COARSE_S {
        looks_s.push(to_s);
    }
    looks_s
}

/// Measure what really happened at one place, by looks at rising log times; the video starts at `video_start_s`.
pub(crate) fn tube_truth(
    view: &View,
    index: usize,
    block: &dyn BlockCourse,
    looks_s: &[f64],
    video_start_s: f64,
) -> TubeTruth {
    let scene = &view.scene;
    let spec = &scene.tubes[index];
    let bore_px = scene.picture.bore_px();
    let column_height_px = spec.column_height_mm * bore_px;
    let (x_px, y_px) = stand(scene, index).picture_from_local(0.0, 0.5 * column_height_px);
    let mut truth = TubeTruth {
        tube: index + 1,
        x_px,
        y_px,
        column_height_px,
        bore_px,
        outcome: match spec.content {
            Content::Absent => "no_tube",
            Content::Empty | Content::Powder => "empty",
        },
        first_liquid: None,
        last_crystal: None,
        first_liquid_levels: BTreeMap::new(),
        last_crystal_levels: BTreeMap::new(),
        liquid_fraction_at_end: 0.0,
        range_c: None,
    };
    if let (Content::Powder, Some(tube)) = (spec.content, &view.tubes[index]) {
        let to_s = looks_s.last().copied().unwrap_or(0.0);
        let curve = Curve::survey(tube, looks_s);
        let first = |level| {
            curve
                .first_liquid(tube, level)
                .map(|at_s| moment(tube, block, at_s, video_start_s))
        };
        let last = |level| {
            curve
                .last_solid(tube, level)
                .map(|at_s| moment(tube, block, at_s, video_start_s))
        };
        truth.first_liquid = first(FIRST_LIQUID_FRACTION);
        truth.last_crystal = last(LAST_CRYSTAL_FRACTION);
        truth.first_liquid_levels = [
            ("0.5%", 0.005),
            ("1%", 0.01),
            ("2%", 0.02),
            ("5%", 0.05),
            ("20%", 0.2),
        ]
        .map(|(name, level)| (name, first(level)))
        .into();
        truth.last_crystal_levels = [("0.5%", 0.005), ("1%", 0.01), ("2%", 0.02)]
            .map(|(name, level)| (name, last(level)))
            .into();
        truth.liquid_fraction_at_end = tube.timeline.melted(to_s);
        truth.range_c = truth
            .last_crystal
            .and_then(|last| Some(last.temperature_c - truth.first_liquid?.temperature_c));
        truth.outcome = if tube.timeline.charred(to_s) > CHARRED_OUTCOME {
            "decomposed"
        } else if truth.last_crystal.is_some() {
            "melted"
        } else if truth.first_liquid.is_some() || curve.liquid_from_start() {
            "partly_melted"
        } else {
            "unmelted"
        };
    }
    truth
}

fn moment(tube: &Tube, block: &dyn BlockCourse, at_s: f64, video_start_s: f64) -> TrueMoment {
    let digits = |value: f64| (value * 1e4).round() / 1e4;
    TrueMoment {
        time_s: digits(at_s),
        video_time_s: digits(at_s - video_start_s),
        temperature_c: digits(block.at(at_s).0),
        rate_c_per_min: digits(block.rate_c_per_min(at_s)),
        char: digits(tube.timeline.charred(at_s)),
    }
}

/// The visible fractions over the scene.
struct Curve {
    times_s: Vec<f64>,
    points: Vec<Visible>,
    original_px: f64,
}

impl Curve {
    fn survey(tube: &Tube, times_s: &[f64]) -> Self {
        let points: Vec<Visible> = times_s
            .par_iter()
            .map_init(Canvas::default, |canvas, &time_s| {
                tube.measure(canvas, time_s)
            })
            .collect();
        let original_px = tube.measure(&mut Canvas::default(), 0.0).column_px.max(1.0);
        Self {
            times_s: times_s.to_vec(),
            points,
            original_px,
        }
    }

    fn liquid(point: &Visible) -> f64 {
        point.liquid_px / point.column_px.max(1.0)
    }

    fn solid(&self, point: &Visible) -> f64 {
        point.solid_px / self.original_px
    }

    fn liquid_from_start(&self) -> bool {
        Self::liquid(&self.points[0]) >= FIRST_LIQUID_FRACTION
    }

    /// When the liquid reaches `level` and does not fall back before it is at twice that.
    fn first_liquid(&self, tube: &Tube, level: f64) -> Option<f64> {
        let certain = self
            .points
            .iter()
            .position(|point| Self::liquid(point) >= 2.0 * level);
        let until = certain.unwrap_or(self.points.len());
        let below = self.points[..until]
            .iter()
            .rposition(|point| Self::liquid(point) < level)?;
        if below + 1 >= self.points.len() {
            return None;
        }
        let span = (self.times_s[below], self.times_s[below + 1]);
        refine(tube, span, |point| Self::liquid(point) - level)
    }

    /// When the solid falls below `level` for good.
    fn last_solid(&self, tube: &Tube, level: f64) -> Option<f64> {
        let above = self
            .points
            .iter()
            .rposition(|point| self.solid(point) >= level)?;
        if above + 1 >= self.points.len() {
            return None;
        }
        let span = (self.times_s[above], self.times_s[above + 1]);
        refine(tube, span, |point| level - self.solid(point))
    }
}

/// The last upward crossing of 0 of a measured quantity within a span.
fn refine(
    tube: &Tube,
    (from_s, to_s): (f64, f64),
    quantity: impl Fn(&Visible) -> f64,
) -> Option<f64> {
    let steps = ((to_s - from_s) / FINE_S).ceil().max(1.0) as usize;
    let at = |step: usize| from_s + (to_s - from_s) * step as f64 / steps as f64;
    let mut canvas = Canvas::default();
    let values: Vec<f64> = (0..=steps)
        .map(|step| quantity(&tube.measure(&mut canvas, at(step))))
        .collect();
    let below = values.iter().rposition(|&value| value < 0.0)?;
    let after = values.get(below + 1)?;
    let part = -values[below] / (after - values[below]);
    Some(at(below) + part * (at(below + 1) - at(below)))
}
