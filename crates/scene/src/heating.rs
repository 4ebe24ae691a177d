//! The block's temperature, the picture times and the temperature log of a scene.

use meltrange_physics::{
    BlockResponse, BlockTemperature, Celsius, FirstMelt, ImpureSolid, Kelvin, MeltingError,
    SetpointLeg, ThermalContact,
};
use rand::RngExt;

use crate::random::{Purpose, normal, stream};
use crate::spec::Scene;
use crate::tube_spec::{Content, TubeSpec};

/// Where the van 't Hoff curve is cut off without a eutectic: the little liquid that a trace of
/// impurity makes far below the melting point stays in pores and is never seen.
const LEAST_MELTED_FRACTION: f64 = 0.02;
/// Pictures are timed in whole milliseconds, which every container keeps exactly.
const TICKS_PER_S: f64 = 1000.0;

/// The melting law of a tube's content.
pub(crate) fn solid(tube: &TubeSpec) -> Result<ImpureSolid, MeltingError> {
    let pure: Kelvin = Celsius(tube.melts_at_c).into();
    let first = match tube.eutectic_c {
        Some(eutectic_c) => FirstMelt::Eutectic(Celsius(eutectic_c).into()),
        None => FirstMelt::BelowFraction(LEAST_MELTED_FRACTION),
    };
    ImpureSolid::new(
        pure,
        tube.fusion_j_per_mol,
        tube.impurity_mole_fraction,
        first,
    )
}

/// The thermal contact of a tube's content with the block.
pub(crate) fn contact(tube: &TubeSpec) -> Result<ThermalContact, MeltingError> {
    let moles = tube.mass_mg * 1e-3 / tube.molar_mass_g_per_mol;
    ThermalContact::new(
        tube.thermal_resistance_k_per_w,
        tube.time_constant_s,
        moles * tube.fusion_j_per_mol,
    )
}

/// Where the scan starts and ends \[°C\]: as given, or around the melting of the tubes.
pub(crate) fn scan_span_c(scene: &Scene) -> Result<(f64, f64), MeltingError> {
    let start_c = match scene.programme.start_c {
        Some(start_c) => start_c,
        None => coldest_melting_c(scene)? - 3.0,
    };
    let end_c = match scene.programme.end_c {
        Some(end_c) => end_c,
        None => hottest_clearing_c(scene)?,
    };
    Ok((start_c, end_c))
}

/// The block's temperature over the whole scene.
pub(crate) fn block(scene: &Scene) -> Result<BlockTemperature, MeltingError> {
    let programme = &scene.programme;
    let (start_c, end_c) = scan_span_c(scene)?;
    let mut legs = Vec::new();
    let mut from_c = start_c;
    if programme.approach_c > 0.0 {
        from_c -= programme.approach_c;
        legs.push(SetpointLeg::Ramp {
            to: Celsius(start_c),
            rate_c_per_min: programme.approach_rate_c_per_min,
        });
    }
    legs.push(SetpointLeg::Soak {
        duration_s: programme.soak_s,
    });
    legs.push(SetpointLeg::Ramp {
        to: Celsius(end_c),
        rate_c_per_min: programme.rate_c_per_min,
    });
    let response = BlockResponse {
        lag_s: programme.lag_s,
        ripple_c: programme.ripple_c,
        ripple_period_s: programme.ripple_period_s,
    };
    BlockTemperature::new(Celsius(from_c), &legs, response)
}

fn powders(scene: &Scene) -> impl Iterator<Item = &TubeSpec> {
    scene
        .tubes
        .iter()
        .filter(|tube| tube.content == Content::Powder)
}

fn coldest_melting_c(scene: &Scene) -> Result<f64, MeltingError> {
    let mut coldest_c = f64::INFINITY;
    for tube in powders(scene) {
        let solid = solid(tube)?;
        let first = solid.temperature_at(solid.fraction_at_onset().max(0.05))?;
        coldest_c = coldest_c.min(Celsius::from(first).0 - tube.place_offset_c);
    }
    Ok(if coldest_c.is_finite() {
        coldest_c
    } else {
        100.0
    })
}

fn hottest_clearing_c(scene: &Scene) -> Result<f64, MeltingError> {
    let rate = scene.programme.rate_c_per_min;
    let mut hottest_c = f64::NEG_INFINITY;
    for tube in powders(scene) {
        let clear_c = Celsius::from(solid(tube)?.clear_point()).0 - tube.place_offset_c;
        hottest_c = hottest_c.max(clear_c + contact(tube)?.clear_point_shift_k(rate));
    }
    let margin_c = 0.4 + rate * (scene.programme.lag_s + 20.0) / 60.0;
    Ok(if hottest_c.is_finite() {
        hottest_c + margin_c
    } else {
        105.0
    })
}

/// Video times of the pictures \[s\], rising, in whole milliseconds, the first at 0.
pub(crate) fn picture_times_s(scene: &Scene, duration_s: f64) -> Vec<f64> {
    let timing = &scene.timing;
    let mut rng = stream(scene.seed, Purpose::Times, 0);
    let spacing_s = 1.0 / timing.frames_per_s;
    let mut times = Vec::new();
    let mut index = 0.0;
    let mut last_ticks = -1.0;
    while index * spacing_s <= duration_s {
        let jitter = if timing.jitter > 0.0 {
            (timing.jitter * normal(&mut rng)).clamp(-0.45, 0.45)
        } else {
            0.0
        };
        let lost = timing.dropped_fraction > 0.0 && rng.random::<f64>() < timing.dropped_fraction;
        let ticks = if times.is_empty() {
            0.0
        } else {
            ((index + jitter) * spacing_s * TICKS_PER_S).round()
        };
        if ticks > last_ticks && (times.is_empty() || !lost) {
            times.push(ticks / TICKS_PER_S);
            last_ticks = ticks;
        }
        index += 1.0;
    }
    times
}

/// One line of the temperature log: log time \[s\] and indicated temperature \[°C\].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogLine {
    /// Log time \[s\].
    pub time_s: f64,
    /// As indicated \[°C\].
    pub temperature_c: f64,
}

/// The temperature log from 0 to the end of the video and its tail.
pub(crate) fn temperature_log(scene: &Scene, block: &BlockTemperature, end_s: f64) -> Vec<LogLine> {
    let spec = &scene.log;
    let mut rng = stream(scene.seed, Purpose::Log, 0);
    let mut lines: Vec<LogLine> = Vec::new();
    let count = ((end_s + spec.tail_s) / spec.interval_s).floor() as usize;
    for index in 0..=count {
        let time_s = index as f64 * spec.interval_s + spec.jitter_s * normal(&mut rng);
        let noisy_c = block.at(time_s).0 + spec.noise_c * normal(&mut rng);
        let time_s = (time_s.max(0.0) * TICKS_PER_S).round() / TICKS_PER_S;
        let in_gap = spec
            .gaps
            .iter()
            .any(|gap| (gap.from_s..gap.to_s).contains(&time_s));
        if in_gap || lines.last().is_some_and(|last| last.time_s >= time_s) {
            continue;
        }
        let temperature_c = if spec.quantum_c > 0.0 {
            (noisy_c / spec.quantum_c).round() * spec.quantum_c
        } else {
            noisy_c
        };
        lines.push(LogLine {
            time_s,
            temperature_c,
        });
    }
    lines
}

/// The log as a CSV file with the columns `time_s,temperature_c`.
pub fn log_csv(lines: &[LogLine], quantum_c: f64) -> String {
    use std::fmt::Write;
    let digits = if quantum_c > 0.0 {
        (-quantum_c.log10()).ceil().clamp(0.0, 6.0) as usize
    } else {
        4
    };
    let mut text = String::from("time_s,temperature_c\n");
    for line in lines {
        // Writing to a String cannot fail.
        let _ = writeln!(text, "{:.3},{:.digits$}", line.time_s, line.temperature_c);
    }
    text
}
