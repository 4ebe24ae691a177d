//! A tube, its content and what happens to it besides melting.

use serde::{Deserialize, Serialize};

/// What is at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Content {
    /// A tube with powder.
    Powder,
    /// A tube without powder.
    Empty,
    /// No tube.
    Absent,
}

/// Where the last crystals go.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Remnants {
    /// Up to the meniscus.
    Float,
    /// Down to the bottom.
    Sink,
    /// They stick to the wall.
    Hang,
    /// Some of each.
    Mixed,
}

/// One place and its tube.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct TubeSpec {
    /// What is there.
    pub content: Content,
    /// Melting temperature without impurity, thermodynamic convention \[°C\].
    pub melts_at_c: f64,
    /// Soluble impurity, mole fraction.
    pub impurity_mole_fraction: f64,
    /// Eutectic with the impurity \[°C\]; default: the van 't Hoff curve is cut off at its cold end.
    pub eutectic_c: Option<f64>,
    /// Enthalpy of fusion \[J/mol\].
    pub fusion_j_per_mol: f64,
    /// Molar mass \[g/mol\].
    pub molar_mass_g_per_mol: f64,
    /// Sample mass \[mg\].
    pub mass_mg: f64,
    /// Thermal resistance from block to sample \[K/W\].
    pub thermal_resistance_k_per_w: f64,
    /// Thermal time constant \[s\].
    pub time_constant_s: f64,
    /// This place is warmer than the thermometer by \[°C\].
    pub place_offset_c: f64,

    /// Height of the powder column \[mm\]; the bore is 1 mm.
    pub column_height_mm: f64,
    /// Mean grain size \[mm\].
    pub grain_mm: f64,
    /// Relative spread of the grain size.
    pub grain_spread: f64,
    /// Length to width of the grains, 1 to 4.
    pub elongation: f64,
    /// Solid part of the column's volume.
    pub packing_fraction: f64,
    /// Roughness of the top surface in bores.
    pub top_roughness: f64,
    /// Reflected part of the light, 0.05 (nearly black) to 1.
    pub albedo: f64,
    /// Colour of the solid, red green blue; 1 is white.
    pub tint: [f64; 3],
    /// Part of the light that passes one dry grain.
    pub dry_translucency: f64,
    /// Part of the light that passes one grain with liquid around it.
    pub wet_translucency: f64,

    /// Part of the substance whose liquid stays in the pores: it makes the powder look wet and
    /// opens no view, 0 to 0.5.
    pub held_fraction: f64,
    /// How strongly melting begins at the wall, 0 to 1.
    pub wall_first: f64,
    /// How strongly neighbouring grains melt together, 0 to 1.
    pub patchiness: f64,
    /// Melting begins at the bottom (positive) or the top (negative), −1 to 1.
    pub bottom_first: f64,
    /// Part of the melting that one grain takes, 0.03 to 0.8.
    pub grain_span: f64,
    /// Below 1, the turns of the grains thin out towards the end: a few straggle. 0.25 to 1.
    pub straggling: f64,
    /// Melted fraction at which the column begins to collapse.
    pub collapse_from: f64,
    /// Melted fraction at which it has become a liquid column.
    pub collapse_to: f64,
    /// Collapse in steps rather than evenly, 0 to 1.
    pub jerkiness: f64,
    /// Where the last crystals go.
    pub remnants: Remnants,

    /// Lean of the tube, positive to the right at the top \[°\].
    pub tilt_deg: f64,
    /// Offset from the regular place, right and down \[px\].
    pub shift_px: [f64; 2],
    /// Stray grains on the glass above the column.
    pub specks: u32,

    /// Sudden drops of the dry powder.
    pub settling: Vec<Settling>,
    /// Drawing away from the wall and cracking before melting.
    pub shrinkage: Option<Shrinkage>,
    /// Becoming moist and darker without clearing.
    pub wetting: Option<Onset>,
    /// Sparkling: brightness of grains changes without clearing.
    pub glistening: Option<Onset>,
    /// Droplets on the glass above the column.
    pub condensation: Option<Onset>,
    /// Crystals growing on the glass above the column.
    pub sublimate: Option<Onset>,
    /// Gas bubbles in the melt.
    pub bubbles: Option<Onset>,
    /// Decomposition: the content darkens.
    pub charring: Option<Charring>,
}

impl Default for TubeSpec {
    fn default() -> Self {
        Self {
            content: Content::Powder,
            melts_at_c: 114.3,
            impurity_mole_fraction: 0.0005,
            eutectic_c: None,
            fusion_j_per_mol: 21_000.0,
            molar_mass_g_per_mol: 135.0,
            mass_mg: 1.4,
            thermal_resistance_k_per_w: 260.0,
            time_constant_s: 4.0,
            place_offset_c: 0.0,
            column_height_mm: 2.6,
            grain_mm: 0.12,
            grain_spread: 0.3,
            elongation: 1.4,
            packing_fraction: 0.58,
            top_roughness: 0.08,
            albedo: 0.85,
            tint: [1.0, 1.0, 1.0],
            dry_translucency: 0.06,
            wet_translucency: 0.4,
            held_fraction: 0.08,
            wall_first: 0.6,
            patchiness: 0.5,
            bottom_first: 0.0,
            grain_span: 0.14,
            straggling: 0.6,
            collapse_from: 0.2,
            collapse_to: 0.7,
            jerkiness: 0.3,
            remnants: Remnants::Mixed,
            tilt_deg: 0.0,
            shift_px: [0.0, 0.0],
            specks: 3,
            settling: Vec::new(),
            shrinkage: None,
            wetting: None,
            glistening: None,
            condensation: None,
            sublimate: None,
            bubbles: None,
            charring: None,
        }
    }
}

/// A trouble that comes at a time or a block temperature (give at most one; default 2 °C below
/// melting) and reaches its strength within a duration.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Onset {
    /// Log time \[s\].
    pub at_s: Option<f64>,
    /// Block temperature \[°C\].
    pub at_c: Option<f64>,
    /// Until full strength \[s\].
    pub duration_s: f64,
    /// 0 (none) to 1 (strong).
    pub strength: f64,
}

impl Default for Onset {
    fn default() -> Self {
        Self {
            at_s: None,
            at_c: None,
            duration_s: 30.0,
            strength: 0.5,
        }
    }
}

/// A sudden drop of the dry powder; its texture moves along.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Settling {
    /// Log time \[s\].
    pub at_s: Option<f64>,
    /// Block temperature \[°C\].
    pub at_c: Option<f64>,
    /// Drop of the top, as part of the column height, up to 0.3.
    pub drop_fraction: f64,
    /// Height of the cavity that closes, as part of the column height.
    pub above_fraction: f64,
}

impl Default for Settling {
    fn default() -> Self {
        Self {
            at_s: None,
            at_c: None,
            drop_fraction: 0.08,
            above_fraction: 0.3,
        }
    }
}

/// From which wall the powder draws away.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// From both.
    Both,
    /// From the left one.
    Left,
    /// From the right one.
    Right,
}

/// Drawing away from the wall and cracking before melting.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Shrinkage {
    /// Log time \[s\].
    pub at_s: Option<f64>,
    /// Block temperature \[°C\].
    pub at_c: Option<f64>,
    /// Until the end of the shrinking \[s\].
    pub duration_s: f64,
    /// Relative loss of width, up to 0.4.
    pub strength: f64,
    /// Which wall becomes bare.
    pub side: Side,
    /// How many cracks open across.
    pub cracks: u32,
}

impl Default for Shrinkage {
    fn default() -> Self {
        Self {
            at_s: None,
            at_c: None,
            duration_s: 40.0,
            strength: 0.12,
            side: Side::Both,
            cracks: 1,
        }
    }
}

/// Decomposition: dark colour grows with time and temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Charring {
    /// Temperature of the content at which the colour needs `time_constant_s` to grow \[°C\].
    pub at_c: f64,
    /// The rate grows e-fold over \[°C\].
    pub width_c: f64,
    /// Time constant at `at_c` \[s\].
    pub time_constant_s: f64,
    /// Final darkness, 0 to 1.
    pub strength: f64,
}

impl Default for Charring {
    fn default() -> Self {
        Self {
            at_c: 200.0,
            width_c: 2.0,
            time_constant_s: 60.0,
            strength: 0.9,
        }
    }
}
