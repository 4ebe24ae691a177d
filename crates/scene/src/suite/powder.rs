//! What the powder does besides melting.

use super::{Kind, Lit, charring, drop, kind};
use crate::random::uniform;
use crate::tube_spec::{Onset, Shrinkage, Side};

pub(super) const KINDS: &[Kind] = &[
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
];
