//! The ranges of a tube's values.

use super::{LATEST_S, SceneError, farthest, ranges, value};
use crate::heating::solid;
use crate::tube_spec::TubeSpec;

/// Check every value of a tube against its range; `number` counts from 1.
pub(super) fn check_tube(tube: &TubeSpec, number: usize) -> Result<(), SceneError> {
    let place = format!("tube {number}");
    ranges(
        &place,
        &[
            ("melts_at_c", tube.melts_at_c, -20.0, 450.0),
            (
                "impurity_mole_fraction",
                tube.impurity_mole_fraction,
                0.0,
                0.3,
            ),
            (
                "fusion_j_per_mol",
                tube.fusion_j_per_mol,
                1_000.0,
                200_000.0,
            ),
            (
                "molar_mass_g_per_mol",
                tube.molar_mass_g_per_mol,
                20.0,
                2_000.0,
            ),
            ("mass_mg", tube.mass_mg, 0.05, 50.0),
            (
                "thermal_resistance_k_per_w",
                tube.thermal_resistance_k_per_w,
                10.0,
                5_000.0,
            ),
            ("time_constant_s", tube.time_constant_s, 0.5, 300.0),
            ("place_offset_c", tube.place_offset_c, -10.0, 10.0),
            ("column_height_mm", tube.column_height_mm, 0.5, 8.0),
            ("grain_mm", tube.grain_mm, 0.05, 0.5),
            ("grain_spread", tube.grain_spread, 0.0, 0.8),
            ("elongation", tube.elongation, 1.0, 4.0),
            ("packing_fraction", tube.packing_fraction, 0.3, 0.9),
            ("top_roughness", tube.top_roughness, 0.0, 0.4),
            ("albedo", tube.albedo, 0.05, 1.0),
            ("tint", farthest(&tube.tint, 1.0), 0.0, 3.0),
            ("dry_translucency", tube.dry_translucency, 0.0, 0.4),
            ("wet_translucency", tube.wet_translucency, 0.0, 0.5),
            ("held_fraction", tube.held_fraction, 0.0, 0.5),
            ("wall_first", tube.wall_first, 0.0, 1.0),
            ("patchiness", tube.patchiness, 0.0, 1.0),
            ("bottom_first", tube.bottom_first, -1.0, 1.0),
            ("grain_span", tube.grain_span, 0.03, 0.8),
            ("straggling", tube.straggling, 0.25, 1.0),
            ("collapse_from", tube.collapse_from, 0.0, 0.8),
            (
                "collapse_to",
                tube.collapse_to,
                ((tube.collapse_from + 0.02) * 1e6).round() / 1e6,
                1.0,
            ),
            ("jerkiness", tube.jerkiness, 0.0, 1.0),
            ("tilt_deg", tube.tilt_deg, -25.0, 25.0),
            ("specks", f64::from(tube.specks), 0.0, 50.0),
            ("shift_px", farthest(&tube.shift_px, 0.0), -500.0, 500.0),
        ],
    )?;
    if let Some(eutectic_c) = tube.eutectic_c {
        let clear_c = tube.melts_at_c - 0.01;
        ranges(&place, &[("eutectic_c", eutectic_c, -50.0, clear_c)])?;
    }
    if let Err(error) = solid(tube) {
        let found = tube
            .eutectic_c
            .map_or("none".to_owned(), |eutectic_c| eutectic_c.to_string());
        return Err(value(
            &format!("{place} eutectic_c"),
            found,
            &format!("a possible melting law ({error})"),
        ));
    }
    check_troubles(tube, &place)
}

fn check_troubles(tube: &TubeSpec, place: &str) -> Result<(), SceneError> {
    for drop in &tube.settling {
        let place = format!("{place} settling");
        check_onset(&place, drop.at_s, drop.at_c)?;
        ranges(
            &place,
            &[
                ("drop_fraction", drop.drop_fraction, 0.0, 0.3),
                ("above_fraction", drop.above_fraction, 0.0, 0.9),
            ],
        )?;
    }
    if let Some(shrink) = tube.shrinkage {
        let place = format!("{place} shrinkage");
        check_onset(&place, shrink.at_s, shrink.at_c)?;
        ranges(
            &place,
            &[
                ("strength", shrink.strength, 0.0, 0.4),
                ("duration_s", shrink.duration_s, 0.0, 1e5),
                ("cracks", f64::from(shrink.cracks), 0.0, 6.0),
            ],
        )?;
    }
    for (name, onset) in [
        ("wetting", tube.wetting),
        ("glistening", tube.glistening),
        ("condensation", tube.condensation),
        ("sublimate", tube.sublimate),
        ("bubbles", tube.bubbles),
    ] {
        if let Some(onset) = onset {
            let place = format!("{place} {name}");
            check_onset(&place, onset.at_s, onset.at_c)?;
            ranges(
                &place,
                &[
                    ("strength", onset.strength, 0.0, 1.0),
                    ("duration_s", onset.duration_s, 0.0, 1e5),
                ],
            )?;
        }
    }
    if let Some(char) = tube.charring {
        ranges(
            &format!("{place} charring"),
            &[
                ("at_c", char.at_c, -50.0, 500.0),
                ("width_c", char.width_c, 0.05, 100.0),
                ("time_constant_s", char.time_constant_s, 0.1, 1e5),
                ("strength", char.strength, 0.0, 1.0),
            ],
        )?;
    }
    Ok(())
}

/// When a trouble begins: at a time or at a temperature, not both.
fn check_onset(place: &str, at_s: Option<f64>, at_c: Option<f64>) -> Result<(), SceneError> {
    if let (Some(_), Some(at_c)) = (at_s, at_c) {
        let expected = "either at_s or at_c, not both";
        return Err(value(&format!("{place}.at_c"), at_c.to_string(), expected));
    }
    ranges(
        place,
        &[
            ("at_s", at_s.unwrap_or(0.0), 0.0, LATEST_S),
            ("at_c", at_c.unwrap_or(0.0), -50.0, 500.0),
        ],
    )
}
