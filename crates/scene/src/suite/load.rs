//! What stands in the places, how it melts, and how it is recorded.

use super::{Kind, Lit, drop, kind, size};
use crate::camera_spec::ExposureStep;
use crate::random::uniform;
use crate::spec::{Container, Span};
use crate::tube_spec::{Content, Remnants, Shrinkage};

pub(super) const KINDS: &[Kind] = &[
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
            draft.each(|tube, rng, _| {
                tube.impurity_mole_fraction = uniform(rng, 0.003, 0.006);
                tube.held_fraction = 0.1;
            });
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
