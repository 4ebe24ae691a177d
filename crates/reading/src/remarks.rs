//! Remarks and quality flags: what a careful person would note beside the reading.

use meltrange_physics::TemperatureLog;

use crate::result::{Outcome, Quality, QualityKind, Remark, RemarkKind, TubeReading};
use crate::tube_reading::TubeStory;
use crate::tubes::{Tube, Tubes};
use crate::watch::{Fitness, Seen};

/// Fastest heating through melting of good practice [°C/min]; common practice, no single source.
const FASTEST_C_PER_MIN: f64 = 2.0;
/// Tallest column of good practice in bores: 4 mm in a bore of about 1 mm; common practice, no single source.
const TALLEST_BORES: f32 = 4.4;
/// Movement of the picture worth a remark, in bores.
const MOVED_BORES: f32 = 0.12;
/// Change of the light worth a remark.
const EXPOSURE_CHANGE: f32 = 0.15;
/// Sharpness below which the picture went out of focus.
const OUT_OF_FOCUS: f32 = 0.65;

pub(crate) fn of_tube(
    k: usize,
    tube: &Tube,
    story: Option<&TubeStory>,
    seen: &[&Seen],
) -> Vec<Remark> {
    let mut out = Vec::new();
    picture_remarks(k, tube, seen, &mut out);
    match story {
        Some(story) => powder_remarks(tube, story, &mut out),
        None if tube.filled => out.push(Remark {
            kind: RemarkKind::CannotTell,
            time_s: seen.first().map_or(0.0, |s| s.time_s),
            text: "too few usable pictures of this tube to follow its powder".to_owned(),
        }),
        None => {}
    }
    out.sort_by(|a, b| a.time_s.total_cmp(&b.time_s).then(a.kind.cmp(&b.kind)));
    out
}

/// What happened to the picture as a whole: one remark per spell, not one per frame.
fn picture_remarks(k: usize, tube: &Tube, seen: &[&Seen], out: &mut Vec<Remark>) {
    let mut spell = Spell::default();
    for &s in seen {
        if let Some((from, to)) = spell.push(s.time_s, s.fitness[k] == Fitness::Covered) {
            out.push(covered(from, to));
        }
    }
    if let Some((from, to)) = spell.close() {
        out.push(covered(from, to));
    }
    let good = || {
        seen.iter()
            .copied()
            .filter(|s| s.fitness[k] != Fitness::Covered)
    };
    let mut anchor: Option<&Seen> = None;
    for s in good() {
        let Some(a) = anchor else {
            anchor = Some(s);
            continue;
        };
        let (dx, dy) = (
            s.alignment.motion.dx_px - a.alignment.motion.dx_px,
            s.alignment.motion.dy_px - a.alignment.motion.dy_px,
        );
        if dx.hypot(dy) > MOVED_BORES * tube.bore_px {
            out.push(Remark {
                kind: RemarkKind::CameraMoved,
                time_s: s.time_s,
                text: format!(
                    "the picture moved by {:.0} px; undone before reading",
                    dx.hypot(dy)
                ),
            });
            anchor = Some(s);
        }
    }
    let mut usual: Option<f32> = None;
    for s in good() {
        let gain = s.alignment.gain;
        let base = *usual.get_or_insert(gain);
        if (gain / base - 1.0).abs() > EXPOSURE_CHANGE {
            out.push(Remark {
                kind: RemarkKind::ExposureChange,
                time_s: s.time_s,
                text: format!(
                    "the light changed by {:+.0} %; undone before reading",
                    100.0 * (gain / base - 1.0)
                ),
            });
            usual = Some(gain);
        }
    }
    let mut blurred = Spell::default();
    for s in good() {
        if let Some((from, to)) = blurred.push(s.time_s, s.sharpness < OUT_OF_FOCUS) {
            out.push(refocus(from, to));
        }
    }
    if let Some((from, to)) = blurred.close() {
        out.push(refocus(from, to));
    }
    thin(out, RemarkKind::CameraMoved, 5);
    thin(out, RemarkKind::ExposureChange, 5);
}

fn covered(from_s: f64, to_s: f64) -> Remark {
    Remark {
        kind: RemarkKind::Occlusion,
        time_s: from_s,
        text: format!(
            "the tube could not be seen from {from_s:.1} s to {to_s:.1} s; these pictures were left out"
        ),
    }
}

fn refocus(from_s: f64, to_s: f64) -> Remark {
    Remark {
        kind: RemarkKind::Refocus,
        time_s: from_s,
        text: format!("the picture was out of focus from {from_s:.1} s to {to_s:.1} s"),
    }
}

/// Keep the first few remarks of a kind and say how many more there were.
fn thin(out: &mut Vec<Remark>, kind: RemarkKind, most: usize) {
    let count = out.iter().filter(|r| r.kind == kind).count();
    if count <= most {
        return;
    }
    let mut kept = 0;
    out.retain_mut(|r| {
        if r.kind != kind {
            return true;
        }
        kept += 1;
        if kept == most {
            r.text
                .push_str(&format!(" (and {} times more)", count - most));
        }
        kept <= most
    });
}

/// Joins neighbouring moments into spells.
#[derive(Default)]
struct Spell {
    open: Option<(f64, f64)>,
}

impl Spell {
    fn push(&mut self, time_s: f64, on: bool) -> Option<(f64, f64)> {
        match (&mut self.open, on) {
            (Some(spell), true) => {
                spell.1 = time_s;
                None
            }
            (None, true) => {
                self.open = Some((time_s, time_s));
                None
            }
            (Some(spell), false) if time_s - spell.1 > 5.0 => self.open.take(),
            _ => None,
        }
    }

    fn close(&mut self) -> Option<(f64, f64)> {
        self.open.take()
    }
}

fn powder_remarks(tube: &Tube, story: &TubeStory, out: &mut Vec<Remark>) {
    let until_s = story.first_liquid.map_or(f64::MAX, |m| m.time_s);
    let before: Vec<_> = story.looks.iter().filter(|l| l.time_s < until_s).collect();
    let mut slide = Spell::default();
    for look in &before {
        if let Some((from, _)) = slide.push(look.time_s, look.slid) {
            out.push(settling(from));
        }
    }
    if let Some((from, _)) = slide.close() {
        out.push(settling(from));
    }
    let step_px = tube.bore_px / 40.0;
    let narrowed = before
        .iter()
        .map(|l| -l.widening * step_px.max(1.0))
        .fold(0.0, f32::max);
    let drew_back = before
        .iter()
        .find(|l| -l.widening * step_px.max(1.0) > 0.4 * narrowed)
        .filter(|_| narrowed > 0.025 * tube.bore_px);
    if let Some(first) = drew_back {
        out.push(Remark {
            kind: RemarkKind::Shrinkage,
            time_s: first.time_s,
            text: format!(
                "the powder drew back from the glass by {:.0} % of the bore; not counted as liquid",
                100.0 * narrowed / tube.bore_px
            ),
        });
    }
    if let Some(wet) = before.windows(3).find(|w| {
        w.iter().all(|l| {
            l.brightened > 0.02 || l.gain < 0.85 && l.cleared[crate::powder::MAIN_CUE] < 0.01
        })
    }) {
        out.push(Remark {
            kind: RemarkKind::Wetting,
            time_s: wet[0].time_s,
            text: "the powder glistened or grew moist without opening a view through it; not counted as liquid".to_owned(),
        });
    }
    if let Some(time_s) = story.darkened_at_s {
        out.push(Remark {
            kind: RemarkKind::Darkening,
            time_s,
            text: "the content darkened as a whole: it decomposes, and its moments cannot be told from the pictures".to_owned(),
        });
    }
}

fn settling(time_s: f64) -> Remark {
    Remark {
        kind: RemarkKind::Settling,
        time_s,
        text: "the powder slid together; not counted as liquid".to_owned(),
    }
}

pub(crate) fn quality(
    tubes: &[TubeReading],
    stories: &[Option<TubeStory>],
    scene: &Tubes,
    log: &TemperatureLog,
) -> Vec<Quality> {
    let mut out = Vec::new();
    let mut flag = |kind: QualityKind, text: String| out.push(Quality { kind, text });
    for (tube, story) in tubes.iter().zip(stories) {
        let n = tube.tube;
        if let Some(rate) = tube
            .heating_rate_c_per_min
            .filter(|r| *r > FASTEST_C_PER_MIN * 1.02)
        {
            flag(
                QualityKind::HeatingTooFast,
                format!(
                    "tube {n}: heated at {rate:.1} °C/min through melting; at most {FASTEST_C_PER_MIN} °C/min is good practice"
                ),
            );
        }
        let Some(story) = story else { continue };
        if story.started_melting {
            flag(
                QualityKind::StartedInsideMelting,
                format!(
                    "tube {n}: liquid was there when the recording began; start the scan lower"
                ),
            );
        }
        if story.ended_early {
            flag(
                QualityKind::EndedBeforeLastCrystal,
                format!("tube {n}: the recording ended before the last crystal was gone"),
            );
        }
        for (name, moment) in [
            ("first liquid", tube.first_liquid),
            ("last crystal", tube.last_crystal),
        ] {
            let Some(moment) = moment else { continue };
            if let Some((from_s, to_s)) = log
                .gaps()
                .find(|g| moment.time_s > g.0 && moment.time_s < g.1)
            {
                flag(
                    QualityKind::LogGap,
                    format!(
                        "tube {n}: no temperature was logged from {from_s:.1} s to {to_s:.1} s, around its {name}"
                    ),
                );
            }
        }
        if let (Some(rate), Some(first)) = (tube.heating_rate_c_per_min, tube.first_liquid) {
            let spacing_s = crate::moments::spacing_around(&story.times_s, first.time_s);
            let step_c = spacing_s * rate.abs() / 60.0;
            if step_c > 0.1 {
                flag(
                    QualityKind::FramesTooFarApart,
                    format!(
                        "tube {n}: pictures {spacing_s:.1} s apart are {step_c:.2} °C apart at this heating rate"
                    ),
                );
            }
        }
    }
    for (tube, geometry) in tubes.iter().zip(&scene.tubes) {
        let height_bores = (geometry.bottom_y_px - geometry.top_y_px) / geometry.bore_px;
        if tube.outcome != Outcome::Empty && height_bores > TALLEST_BORES {
            flag(
                QualityKind::ColumnTooTall,
                format!(
                    "tube {}: the column is {height_bores:.1} bores tall; 2–3 mm is good practice, 4 mm the most",
                    tube.tube
                ),
            );
        }
    }
    out
}
