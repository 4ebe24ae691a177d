//! What camera, lamp and hand do.

use super::{Kind, Lit, kind};
use crate::camera_spec::{ExposureStep, Occlusion, OcclusionKind, Refocus};
use crate::random::uniform;
use crate::spec::Backdrop;

pub(super) const KINDS: &[Kind] = &[
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
];
