//! Pictures of the handout: one powder, well and badly packed, and through its melting.

use super::drawn::jpeg;
use crate::problem::Problem;
use meltrange_scene::{
    Backdrop, Film, Onset, PictureSpec, ProgrammeSpec, Scene, Settling, TimingSpec, TubeSpec,
};
use meltrange_teaching::AnswerKey;
use std::sync::OnceLock;

/// Each with its caption, in the order they are shown.
pub(crate) const HANDOUT: [(&str, &str); 11] = [
    ("column_too_low", "Too little: 1 mm"),
    ("column_right", "Right: 2 to 3 mm, tapped down"),
    ("column_too_high", "Too much: 5 mm"),
    ("column_loose", "Loose: tap it down"),
    ("solid", "Solid, as filled"),
    ("settled", "Settled: lower, but dry. Not yet"),
    ("glistening", "Glistening: bright, but dry. Not yet"),
    ("first_liquid", "First liquid: note the temperature"),
    ("collapse", "Half melted: wait"),
    ("last_crystals", "Last crystals: wait"),
    ("clear", "The last crystal is gone: note it"),
];

/// The powder of the handout settles at this moment, and glistens from then on [s].
const SETTLES_S: f64 = 60.0;
const GLISTENS_S: f64 = 95.0;

fn scene(column_height_mm: f64, packing_fraction: f64, top_roughness: f64) -> Scene {
    Scene {
        name: "handout".into(),
        seed: 20,
        picture: PictureSpec {
            width: 180,
            height: 320,
            colour: false,
            backdrop: Backdrop::Plain,
            bore_px: Some(46.0),
            bottom_fraction: 0.9,
            ..PictureSpec::default()
        },
        programme: ProgrammeSpec {
            start_c: Some(111.0),
            end_c: Some(116.0),
            rate_c_per_min: 1.0,
            soak_s: 10.0,
            tail_s: 20.0,
            ..ProgrammeSpec::default()
        },
        timing: TimingSpec {
            frames_per_s: 0.5,
            ..TimingSpec::default()
        },
        tubes: vec![TubeSpec {
            melts_at_c: 114.3,
            column_height_mm,
            packing_fraction,
            top_roughness,
            settling: vec![Settling {
                at_s: Some(SETTLES_S),
                at_c: None,
                drop_fraction: 0.12,
                above_fraction: 0.1,
            }],
            glistening: Some(Onset {
                at_s: Some(GLISTENS_S),
                at_c: None,
                duration_s: 40.0,
                strength: 0.8,
            }),
            ..TubeSpec::default()
        }],
        ..Scene::default()
    }
}

/// All pictures, drawn once.
fn pictures() -> &'static [(&'static str, Vec<u8>)] {
    static DRAWN: OnceLock<Vec<(&'static str, Vec<u8>)>> = OnceLock::new();
    DRAWN.get_or_init(draw)
}

fn draw() -> Vec<(&'static str, Vec<u8>)> {
    let mut all = Vec::new();
    let columns = [
        ("column_too_low", 1.0, 0.6, 0.05),
        ("column_right", 2.6, 0.6, 0.05),
        ("column_too_high", 5.0, 0.6, 0.05),
        ("column_loose", 3.2, 0.34, 0.35),
    ];
    for (name, height_mm, packing_fraction, roughness) in columns {
        if let Ok(film) = Film::new(scene(height_mm, packing_fraction, roughness)) {
            all.push((name, jpeg(&film.picture(0))));
        }
    }
    let Ok(film) = Film::new(scene(2.6, 0.6, 0.05)) else {
        return all;
    };
    let Ok(key) = AnswerKey::of_film(&film) else {
        return all;
    };
    let (first_s, last_s) = (key.first_liquid.time_s, key.last_crystal.time_s);
    let moments = [
        ("solid", 0.0),
        ("settled", SETTLES_S + 12.0),
        ("glistening", GLISTENS_S + 30.0),
        ("first_liquid", first_s + 2.0),
        ("collapse", 0.5 * (first_s + last_s)),
        ("last_crystals", last_s - 0.12 * (last_s - first_s)),
        ("clear", last_s + 4.0),
    ];
    for (name, at_s) in moments {
        let times_s = film.times_s();
        let at = times_s.partition_point(|&time_s| time_s < at_s);
        let at = at.min(times_s.len().saturating_sub(1));
        all.push((name, jpeg(&film.picture(at))));
    }
    all
}

/// One picture by its name. The first one takes a second: all are drawn then.
pub(crate) fn handout_picture(name: &str) -> Result<Vec<u8>, Problem> {
    let found = pictures().iter().find(|(own, _)| *own == name);
    found
        .map(|(_, jpeg)| jpeg.clone())
        .ok_or_else(|| Problem::unknown("the handout has no such picture; its list names them"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_picture_is_drawn_and_differs() {
        let mut seen = Vec::new();
        for (name, _) in HANDOUT {
            let jpeg = handout_picture(name).expect("drawn");
            assert!(jpeg.starts_with(&[0xff, 0xd8]), "{name}");
            // "solid" and "column_right" are one picture.
            if name != "solid" {
                assert!(!seen.contains(&jpeg), "{name}");
            }
            seen.push(jpeg);
        }
        assert!(handout_picture("no such").is_err());
    }

    #[test]
    fn the_powder_settles_and_glistens_before_it_melts() {
        let film = Film::new(scene(2.6, 0.6, 0.05)).expect("a scene");
        let key = AnswerKey::of_film(&film).expect("it melts");
        assert!(key.first_liquid.time_s > GLISTENS_S + 35.0, "{key:?}");
        assert!(key.last_crystal.time_s > key.first_liquid.time_s + 20.0);
    }
}
