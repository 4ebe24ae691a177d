//! An invented reading: three tubes of acetanilide in an evening practical, one of them empty.

use meltrange_physics::{LogSample, TemperatureLog};
use meltrange_reading::{
    CurvePoint, Level, Moment, Outcome, Quality, QualityKind, Reading, Remark, RemarkKind,
    TubeFrame, TubeReading,
};
use meltrange_report::{MomentPictures, Picture, TubePictures};

const RATE_C_PER_S: f64 = 1.0 / 60.0;
const START_C: f64 = 110.0;

/// Logged temperature of the invented run [°C].
pub(crate) fn temperature_c(time_s: f64) -> f64 {
    START_C + RATE_C_PER_S * time_s
}

/// The invented log: ten minutes at 1 °C/min, a sample a second.
pub(crate) fn log() -> TemperatureLog {
    let samples = (0..600)
        .map(|second| LogSample {
            time_s: f64::from(second),
            temperature_c: temperature_c(f64::from(second))
                + 0.02 * (f64::from(second) * 1.7).sin(),
        })
        .collect();
    TemperatureLog::new(samples).expect("times rise")
}

fn moment(time_s: f64, standard_uncertainty_c: f64) -> Moment {
    Moment {
        time_s,
        temperature_c: temperature_c(time_s),
        standard_uncertainty_c,
    }
}

fn curve(first_s: f64, last_s: f64) -> Vec<CurvePoint> {
    (0..1200)
        .map(|index| {
            let time_s = f64::from(index) * 0.5;
            let share = ((time_s - first_s) / (last_s - first_s)).clamp(0.0, 1.0);
            CurvePoint {
                time_s,
                temperature_c: temperature_c(time_s),
                liquid_fraction: share.powf(1.8),
                solid_fraction: 1.0 - share.powf(1.7),
            }
        })
        .collect()
}

fn melted(tube: usize, left_px: f64, first_s: f64, last_s: f64) -> TubeReading {
    TubeReading {
        tube,
        x_px: left_px + 20.0,
        frame: TubeFrame {
            left_px,
            right_px: left_px + 40.0,
            column_top_px: 250.0,
            bottom_px: 370.0,
        },
        outcome: Outcome::Melted,
        first_liquid: Some(moment(first_s, 0.052)),
        last_crystal: Some(moment(last_s, 0.031)),
        levels: [0.005, 0.02, 0.05, 0.2]
            .into_iter()
            .map(|liquid_fraction: f64| Level {
                liquid_fraction,
                moment: moment(
                    first_s + (last_s - first_s) * liquid_fraction.powf(1.0 / 1.8),
                    0.05,
                ),
            })
            .collect(),
        heating_rate_c_per_min: Some(60.0 * RATE_C_PER_S),
        remarks: vec![
            Remark {
                kind: RemarkKind::Settling,
                time_s: 95.0,
                text: "the column sank by 6 px without melting".to_owned(),
            },
            Remark {
                kind: RemarkKind::Wetting,
                time_s: first_s - 6.0,
                text: "glistening; no view through the column opened".to_owned(),
            },
        ],
        curve: curve(first_s, last_s),
    }
}

/// The invented reading.
pub(crate) fn reading() -> Reading {
    let mut empty = melted(3, 440.0, 300.0, 340.0);
    empty.outcome = Outcome::Empty;
    empty.first_liquid = None;
    empty.last_crystal = None;
    empty.heating_rate_c_per_min = None;
    empty.levels.clear();
    empty.remarks.clear();
    empty.curve.clear();
    Reading {
        tubes: vec![
            melted(1, 180.0, 205.2, 257.9),
            melted(2, 310.0, 208.0, 262.5),
            empty,
        ],
        quality: vec![Quality {
            kind: QualityKind::LogRepaired,
            text: "2 of 600 rows stood twice and were merged".to_owned(),
        }],
        frames_read: 1_184,
    }
}

/// Pictures of every moment; their bytes are any picture's, the page does not look into them.
pub(crate) fn pictures(reading: &Reading, jpeg: &[u8]) -> Vec<TubePictures> {
    let around = |moment: &Option<Moment>| match moment {
        Some(moment) => MomentPictures {
            before: Some(picture(jpeg, moment.time_s - 3.0)),
            after: Some(picture(jpeg, moment.time_s + 3.0)),
        },
        None => MomentPictures::default(),
    };
    reading
        .tubes
        .iter()
        .map(|tube| TubePictures {
            first_liquid: around(&tube.first_liquid),
            last_crystal: around(&tube.last_crystal),
        })
        .collect()
}

/// One picture.
pub(crate) fn picture(jpeg: &[u8], time_s: f64) -> Picture {
    Picture {
        jpeg: jpeg.to_vec(),
        time_s,
    }
}
