//! What a person marked during a run, as their reading of its recording.

use meltrange_bench::{Mark, MarkedMoment};
use meltrange_labbook::{
    LoadedTube, Moment, Outcome, PersonId, Reader, Reading, RecordingId, TubeEntry,
};

/// A key is pressed about this long after the moment, give or take [s]; common practice, no source.
const REACTION_S: f64 = 1.5;
/// Standard uncertainty of an indication that is read once [°C]: a display of tenths.
const INDICATION_U_C: f64 = 0.05;
/// Scans are about this fast when nothing better is known [°C/min].
const USUAL_RATE_C_PER_MIN: f64 = 1.0;

/// The reading; none when nothing was marked or no temperature was known.
pub(super) fn reading(
    recording: RecordingId,
    person: PersonId,
    marks: &[Mark],
    load: &[LoadedTube],
) -> Option<Reading> {
    let mut tubes = Vec::new();
    for place in 1..=3 {
        let of = |moment: MarkedMoment| {
            marks
                .iter()
                .rev()
                .find(|mark| mark.place == place && mark.moment == moment)
        };
        let (first, last) = (of(MarkedMoment::FirstLiquid), of(MarkedMoment::LastCrystal));
        if first.or(last).is_none() {
            continue;
        }
        let rate = first.zip(last).and_then(|(first, last)| rate(first, last));
        // Marked the wrong way round, the later press is kept as the last crystal alone.
        let first = first.filter(|first| last.is_none_or(|last| first.time_s <= last.time_s));
        let moment = |mark: &Mark| {
            let by_hand_c = REACTION_S / 60.0 * rate.unwrap_or(USUAL_RATE_C_PER_MIN).abs();
            Some(Moment {
                time_s: mark.time_s,
                temperature_c: mark.temperature_c?,
                standard_uncertainty_c: by_hand_c.hypot(INDICATION_U_C),
            })
        };
        tubes.push(TubeEntry {
            place,
            sample: load
                .iter()
                .find(|tube| tube.place == place)
                .and_then(|tube| tube.sample),
            outcome: if last.is_some() {
                Outcome::Melted
            } else {
                Outcome::PartlyMelted
            },
            first_liquid: first.and_then(moment),
            last_crystal: last.and_then(moment),
            heating_rate_c_per_min: rate,
            frame_px: None,
            remarks: Vec::new(),
        });
    }
    let known = tubes
        .iter()
        .any(|tube| tube.first_liquid.or(tube.last_crystal).is_some());
    known.then(|| Reading {
        recording,
        reader: Reader::Person {
            person,
            // The engine's provisional state stood beside the picture.
            blind: false,
        },
        tubes,
        quality: Vec::new(),
        notes: vec!["marked during the run".into()],
        curves: None,
    })
}

fn rate(first: &Mark, last: &Mark) -> Option<f64> {
    let minutes = (last.time_s - first.time_s) / 60.0;
    (minutes > 0.05).then_some((last.temperature_c? - first.temperature_c?) / minutes)
}
