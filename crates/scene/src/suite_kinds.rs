//! The kinds of scenes of the suite: name, tags and what each changes.

use crate::camera_spec::{ExposureStep, Occlusion, OcclusionKind, Refocus};
use crate::random::uniform;
use crate::spec::{Backdrop, Container, Span};
use crate::suite::Draft;
use crate::tube_spec::{Charring, Content, Onset, Remnants, Settling, Shrinkage, Side};

/// Under which light a kind is made.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Lit {
    Front,
    Back,
    Both,
}

/// One kind of scene.
pub(crate) struct Kind {
    pub(crate) name: &'static str,
    pub(crate) tags: &'static [&'static str],
    pub(crate) note: &'static str,
    pub(crate) lit: Lit,
    pub(crate) tubes: usize,
    pub(crate) change: fn(&mut Draft),
}

/// All kinds, in a fixed order.
pub(crate) const KINDS: &[Kind] = &[
    kind(
        "plain_three",
        &["plain"],
        "three good tubes",
        Lit::Both,
        3,
        |_| {},
    ),
    kind(
        "plain_two",
        &["plain"],
        "two good tubes",
        Lit::Both,
        2,
        |_| {},
    ),
    kind(
        "plain_one",
        &["plain"],
        "one good tube",
        Lit::Both,
        1,
        |_| {},
    ),
    kind(
        "slow",
        &["plain", "slow"],
        "0.4 °C/min",
        Lit::Both,
        2,
        |draft| {
            draft.scene.programme.rate_c_per_min = 0.4;
            draft.before_fraction = 0.42;
            draft.duration_s = 400.0;
        },
    ),
    kind(
        "fast",
        &["fast"],
        "4 °C/min, 2 pictures a second",
        Lit::Both,
        2,
        |draft| {
            draft.scene.programme.rate_c_per_min = 4.0;
            draft.scene.timing.frames_per_s = 2.0;
            draft.duration_s = 190.0;
        },
    ),
    kind(
        "coarse_grains",
        &["grain"],
        "coarse, badly ground",
        Lit::Both,
        2,
        |draft| {
            draft.each(|tube, rng, _| tube.grain_mm = uniform(rng, 0.22, 0.34));
        },
    ),
    kind("fine_grains", &["grain"], "dust", Lit::Front, 2, |draft| {
        draft.each(|tube, _, _| tube.grain_mm = 0.07);
    }),
    kind("needles", &["grain"], "needles", Lit::Back, 2, |draft| {
        draft.each(|tube, rng, _| {
            tube.elongation = uniform(rng, 2.6, 3.8);
            tube.grain_mm = 0.15;
        });
    }),
    kind(
        "settling",
        &["settling"],
        "one sudden drop each",
        Lit::Both,
        2,
        |draft| {
            let at_s = draft.before_melting_s(0.6);
            draft.each(|tube, rng, index| {
                tube.settling = vec![drop(
                    at_s + 20.0 * index as f64,
                    uniform(rng, 0.05, 0.16),
                    0.3,
                )];
            });
        },
    ),
    kind(
        "settling_twice",
        &["settling"],
        "several drops, the last just before melting",
        Lit::Both,
        1,
        |draft| {
            let times = [0.3, 0.6, 0.93].map(|part| draft.before_melting_s(part));
            draft.each(|tube, rng, _| {
                tube.settling = times
                    .map(|at_s| drop(at_s, uniform(rng, 0.03, 0.1), uniform(rng, 0.1, 0.5)))
                    .to_vec();
            });
        },
    ),
    kind(
        "shrinkage",
        &["shrinkage"],
        "draws from both walls",
        Lit::Both,
        2,
        |draft| {
            let at_s = Some(draft.before_melting_s(0.45));
            draft.each(|tube, rng, _| {
                let strength = uniform(rng, 0.08, 0.2);
                tube.shrinkage = Some(Shrinkage {
                    at_s,
                    strength,
                    ..Shrinkage::default()
                });
            });
        },
    ),
    kind(
        "shrinkage_crack",
        &["shrinkage"],
        "draws to one side and cracks",
        Lit::Both,
        1,
        |draft| {
            let at_s = Some(draft.before_melting_s(0.5));
            draft.each(|tube, rng, _| {
                let strength = uniform(rng, 0.12, 0.22);
                let (side, cracks) = (Side::Left, 2);
                tube.shrinkage = Some(Shrinkage {
                    at_s,
                    strength,
                    side,
                    cracks,
                    ..Shrinkage::default()
                });
            });
        },
    ),
    kind(
        "wetting",
        &["wetting"],
        "moist and darker before melting",
        Lit::Both,
        2,
        |draft| {
            let onset = draft.early(50.0, 0.7);
            draft.each(|tube, _, _| tube.wetting = onset);
        },
    ),
    kind(
        "glistening",
        &["glistening"],
        "sparkles before melting",
        Lit::Both,
        2,
        |draft| {
            let onset = draft.early(20.0, 0.9);
            draft.each(|tube, _, _| tube.glistening = onset);
        },
    ),
    kind(
        "condensation",
        &["condensation"],
        "droplets above the column",
        Lit::Both,
        2,
        |draft| {
            let onset = draft.early(120.0, 0.8);
            draft.each(|tube, _, _| tube.condensation = onset);
        },
    ),
    kind(
        "sublimate",
        &["sublimate"],
        "crystals grow above the column",
        Lit::Both,
        2,
        |draft| {
            let onset = draft.early(150.0, 0.8);
            draft.each(|tube, _, _| tube.sublimate = onset);
        },
    ),
    kind(
        "bubbles",
        &["bubbles"],
        "gas in the melt",
        Lit::Both,
        2,
        |draft| {
            let at_c = Some(draft.melts_at_c);
            let onset = Onset {
                at_s: None,
                at_c,
                duration_s: 20.0,
                strength: 0.8,
            };
            draft.each(|tube, _, _| tube.bubbles = Some(onset));
        },
    ),
    kind(
        "chars_after",
        &["charring"],
        "melts, then darkens",
        Lit::Both,
        2,
        |draft| {
            let at_c = draft.melts_at_c + 3.0;
            draft.each(|tube, _, _| tube.charring = Some(charring(at_c, 0.6, 40.0)));
        },
    ),
    kind(
        "chars_unmelted",
        &["charring", "unmelted"],
        "chars without melting",
        Lit::Front,
        2,
        |draft| {
            let at_c = draft.melts_at_c;
            draft.each(|tube, _, _| {
                tube.melts_at_c += 60.0;
                tube.charring = Some(charring(at_c, 1.0, 40.0));
            });
        },
    ),
    kind("shake", &["shake"], "held by hand", Lit::Both, 2, |draft| {
        draft.scene.camera.shake_px = uniform(&mut draft.rng, 1.0, 2.5);
    }),
    kind(
        "drift",
        &["drift"],
        "slides and turns slowly",
        Lit::Both,
        2,
        |draft| {
            draft.scene.camera.drift_px = uniform(&mut draft.rng, 5.0, 11.0);
            draft.scene.camera.rotation_deg = uniform(&mut draft.rng, 0.5, 1.5);
        },
    ),
    kind(
        "zoom",
        &["zoom"],
        "the scale breathes",
        Lit::Front,
        2,
        |draft| {
            draft.scene.camera.zoom = 0.012;
            draft.scene.camera.shake_px = 0.4;
        },
    ),
    kind(
        "exposure_steps",
        &["exposure"],
        "lamp and exposure jump",
        Lit::Both,
        2,
        |draft| {
            let step = |at_s, gain| ExposureStep { at_s, gain };
            let times = [0.35, 0.7, 1.15].map(|part| draft.before_melting_s(part));
            draft.scene.camera.exposure_steps = vec![
                step(times[0], 0.75),
                step(times[1], 1.15),
                step(times[2], 0.9),
            ];
        },
    ),
    kind(
        "auto_exposure",
        &["exposure"],
        "the camera follows the brightness",
        Lit::Both,
        3,
        |draft| {
            draft.scene.camera.auto_exposure = 0.8;
        },
    ),
    kind(
        "exposure_drift",
        &["exposure"],
        "brightness and colour drift",
        Lit::Front,
        2,
        |draft| {
            draft.scene.camera.exposure_drift = -0.3;
            draft.scene.camera.white_balance = 0.03;
        },
    ),
    kind(
        "flicker",
        &["flicker"],
        "lamp flickers, bands roll",
        Lit::Both,
        2,
        |draft| {
            draft.scene.camera.flicker = 0.05;
            draft.scene.camera.bands = 0.05;
        },
    ),
    kind(
        "refocus",
        &["refocus"],
        "focus hunts before and during melting",
        Lit::Both,
        2,
        |draft| {
            let hunt = |at_s| Refocus {
                at_s,
                duration_s: 7.0,
                blur_px: 3.0,
            };
            let times = [0.4, 0.85, 1.2].map(|part| draft.before_melting_s(part));
            draft.scene.camera.refocus = times.map(hunt).to_vec();
        },
    ),
    kind(
        "occlusion",
        &["occlusion"],
        "a hand and a shadow",
        Lit::Both,
        2,
        |draft| {
            let times = [0.35, 0.75].map(|part| draft.before_melting_s(part));
            draft.scene.camera.occlusions = vec![
                Occlusion {
                    kind: OcclusionKind::Hand,
                    at_s: times[0],
                    duration_s: 12.0,
                },
                Occlusion {
                    kind: OcclusionKind::Shadow,
                    at_s: times[1],
                    duration_s: 20.0,
                },
            ];
        },
    ),
    kind(
        "lost_pictures",
        &["occlusion"],
        "black and blown pictures",
        Lit::Front,
        2,
        |draft| {
            let times = [0.4, 0.8].map(|part| draft.before_melting_s(part));
            draft.scene.camera.occlusions = vec![
                Occlusion {
                    kind: OcclusionKind::Black,
                    at_s: times[0],
                    duration_s: 5.0,
                },
                Occlusion {
                    kind: OcclusionKind::Blown,
                    at_s: times[1],
                    duration_s: 4.0,
                },
            ];
        },
    ),
    kind(
        "dusty_eyepiece",
        &["optics"],
        "round field, dust, vignetting",
        Lit::Both,
        2,
        |draft| {
            draft.scene.picture.backdrop = Backdrop::Eyepiece;
            draft.scene.camera.dust = 14;
            draft.scene.camera.vignette = 0.5;
            draft.scene.camera.uneven_light = 0.3;
        },
    ),
    kind(
        "tilted",
        &["tilted"],
        "leaning tubes",
        Lit::Both,
        2,
        |draft| {
            draft.each(|tube, rng, _| tube.tilt_deg = uniform(rng, 2.0, 5.0));
        },
    ),
    kind(
        "empty_middle",
        &["empty"],
        "the middle tube is empty",
        Lit::Both,
        3,
        |draft| {
            draft.scene.tubes[1].content = Content::Empty;
        },
    ),
    kind(
        "place_vacant",
        &["absent"],
        "no tube in the middle",
        Lit::Front,
        3,
        |draft| {
            draft.scene.tubes[1].content = Content::Absent;
        },
    ),
    kind(
        "unmelted",
        &["unmelted"],
        "one tube does not melt",
        Lit::Both,
        2,
        |draft| {
            draft.scene.tubes[1].melts_at_c += 40.0;
        },
    ),
    kind(
        "partly",
        &["partly"],
        "the recording ends inside the melting",
        Lit::Both,
        2,
        |draft| {
            draft.before_fraction = 0.92;
        },
    ),
    kind(
        "impure",
        &["broad"],
        "broad: a few mole percent of impurity",
        Lit::Both,
        2,
        |draft| {
            draft.before_fraction = 0.7;
            draft.scene.programme.rate_c_per_min = 1.5;
            draft.each(|tube, rng, _| tube.impurity_mole_fraction = uniform(rng, 0.012, 0.03));
        },
    ),
    kind(
        "eutectic",
        &["broad"],
        "eutectic first, then a long liquidus",
        Lit::Both,
        2,
        |draft| {
            draft.before_fraction = 0.85;
            draft.scene.programme.rate_c_per_min = 2.0;
            draft.each(|tube, rng, _| {
                tube.impurity_mole_fraction = uniform(rng, 0.018, 0.028);
                tube.eutectic_c = Some(tube.melts_at_c - uniform(rng, 5.5, 6.5));
            });
        },
    ),
    kind(
        "coloured",
        &["colour"],
        "yellow and orange powders",
        Lit::Front,
        2,
        |draft| {
            draft.scene.tubes[0].tint = [1.0, 0.85, 0.3];
            draft.scene.tubes[1].tint = [1.0, 0.55, 0.25];
            draft.each(|tube, _, _| tube.albedo = 0.6);
        },
    ),
    kind(
        "dark_powder",
        &["colour", "low_contrast"],
        "a dark powder",
        Lit::Front,
        2,
        |draft| {
            draft.each(|tube, rng, _| tube.albedo = uniform(rng, 0.3, 0.4));
        },
    ),
    kind(
        "low_contrast",
        &["low_contrast"],
        "dim, veiled picture",
        Lit::Both,
        2,
        |draft| {
            draft.scene.picture.contrast = 0.5;
            draft.scene.picture.lamp = 0.7;
            draft.scene.camera.noise = 3.0;
        },
    ),
    kind(
        "grey_small",
        &["grey"],
        "grey, 400 × 300",
        Lit::Both,
        2,
        |draft| {
            size(draft, (400, 300), 40.0);
            draft.scene.picture.colour = false;
        },
    ),
    kind(
        "phone",
        &["phone", "shake"],
        "portrait, hand-held, uneven times",
        Lit::Both,
        2,
        |draft| {
            size(draft, (480, 854), 62.0);
            draft.scene.camera.shake_px = 1.0;
            draft.scene.camera.drift_px = 5.0;
            draft.scene.camera.auto_exposure = 0.5;
            draft.scene.timing.jitter = 0.2;
            draft.scene.timing.dropped_fraction = 0.05;
        },
    ),
    kind(
        "snapshots",
        &["snapshots"],
        "JPEG pictures at uneven times",
        Lit::Both,
        2,
        |draft| {
            draft.scene.output.container = Container::Frames;
            draft.scene.timing.frames_per_s = 0.5;
            draft.scene.timing.jitter = 0.3;
        },
    ),
    kind(
        "avi_offset",
        &["offset", "grey"],
        "MJPEG in AVI, the log starts earlier",
        Lit::Both,
        2,
        |draft| {
            draft.scene.output.container = Container::Avi;
            draft.scene.log.video_start_s = 12.5;
            draft.scene.picture.colour = false;
        },
    ),
    kind(
        "webm",
        &["container"],
        "VP9 in WebM",
        Lit::Front,
        2,
        |draft| {
            draft.scene.output.container = Container::Webm;
        },
    ),
    kind(
        "hevc",
        &["container"],
        "HEVC in MP4, uneven times",
        Lit::Back,
        2,
        |draft| {
            draft.scene.output.container = Container::Mp4Hevc;
            draft.scene.timing.jitter = 0.25;
        },
    ),
    kind(
        "many_frames",
        &["frame_rate"],
        "8 pictures a second",
        Lit::Both,
        1,
        |draft| {
            draft.scene.output.container = Container::Mkv;
            draft.scene.timing.frames_per_s = 8.0;
            draft.scene.programme.rate_c_per_min = 2.0;
            draft.duration_s = 130.0;
        },
    ),
    kind(
        "floating",
        &["islands"],
        "the last crystals float",
        Lit::Front,
        2,
        |draft| {
            draft.each(|tube, _, _| {
                tube.remnants = Remnants::Float;
                tube.straggling = 0.3;
            });
        },
    ),
    kind(
        "hanging",
        &["islands"],
        "the last crystals hang at the wall",
        Lit::Back,
        2,
        |draft| {
            draft.each(|tube, _, _| {
                tube.remnants = Remnants::Hang;
                tube.straggling = 0.3;
            });
        },
    ),
    kind(
        "coarse_log",
        &["log"],
        "0.5 °C steps, noise and a gap",
        Lit::Both,
        2,
        |draft| {
            draft.scene.log.quantum_c = 0.5;
            draft.scene.log.noise_c = 0.15;
            draft.scene.log.interval_s = 1.7;
            draft.scene.log.jitter_s = 0.3;
            draft.scene.log.gaps = vec![Span {
                from_s: 60.0,
                to_s: 85.0,
            }];
        },
    ),
    kind(
        "bad_day",
        &["combined", "settling", "shrinkage", "exposure"],
        "several troubles at once",
        Lit::Both,
        3,
        |draft| {
            let at_s = draft.before_melting_s(0.3);
            let wet = draft.early(60.0, 0.4);
            draft.each(|tube, rng, index| match index {
                0 => tube.settling = vec![drop(at_s, 0.1, 0.2), drop(at_s + 60.0, 0.05, 0.4)],
                1 => {
                    let strength = uniform(rng, 0.08, 0.16);
                    tube.shrinkage = Some(Shrinkage {
                        at_s: Some(at_s + 20.0),
                        strength,
                        ..Shrinkage::default()
                    });
                }
                _ => {
                    tube.wetting = wet;
                    tube.sublimate = wet;
                }
            });
            let step_s = draft.before_melting_s(0.75);
            let camera = &mut draft.scene.camera;
            camera.exposure_steps = vec![ExposureStep {
                at_s: step_s,
                gain: 0.8,
            }];
            camera.drift_px = 4.0;
            camera.flicker = 0.02;
        },
    ),
];

const fn kind(
    name: &'static str,
    tags: &'static [&'static str],
    note: &'static str,
    lit: Lit,
    tubes: usize,
    change: fn(&mut Draft),
) -> Kind {
    Kind {
        name,
        tags,
        note,
        lit,
        tubes,
        change,
    }
}

fn drop(at_s: f64, drop_fraction: f64, above_fraction: f64) -> Settling {
    Settling {
        at_s: Some(at_s),
        at_c: None,
        drop_fraction,
        above_fraction,
    }
}

fn charring(at_c: f64, strength: f64, time_constant_s: f64) -> Charring {
    Charring {
        at_c,
        width_c: 1.0,
        time_constant_s,
        strength,
    }
}

fn size(draft: &mut Draft, (width, height): (usize, usize), bore_px: f64) {
    draft.scene.picture.width = width;
    draft.scene.picture.height = height;
    draft.scene.picture.bore_px = Some(bore_px);
}
