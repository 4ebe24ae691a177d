//! The tubes of a sample as a report shows them: moments with their pictures, curves, programme.

use super::stamp;
use crate::determining::Corrections;
use crate::sample_view::{Known, counting_tubes};
use meltrange_labbook::{
    self as kept, Book, BookError, Curves, Frames, PersonId, RecordingDetail, RecordingId,
    SampleDetail, SampleTube,
};
use meltrange_physics::Celsius;
use meltrange_planning as planning;
use meltrange_report::model::{self, CurvePoint, Frame, Leg, Moment, Run, RunRemark};
use meltrange_report::picture_size_px;
use std::collections::BTreeMap;
use std::collections::btree_map::Entry as MapEntry;

/// Every tube of the sample that was read, oldest run first; of each the reading that counts.
pub(super) async fn runs(
    book: &Book,
    found: &SampleDetail,
    known: &Known,
    corrections: &Corrections<'_>,
    names: &BTreeMap<PersonId, String>,
) -> Result<Vec<Run>, BookError> {
    let mut recordings: BTreeMap<RecordingId, (RecordingDetail, Option<Frames>)> = BTreeMap::new();
    let result = found.determinations.first();
    let mut tubes = counting_tubes(&found.tubes);
    tubes.sort_by_key(|tube| (tube.run, tube.tube.place));
    let mut runs = Vec::with_capacity(tubes.len());
    for tube in tubes {
        let (detail, frames) = match recordings.entry(tube.recording) {
            MapEntry::Occupied(there) => &*there.into_mut(),
            MapEntry::Vacant(free) => {
                let detail = book.store().recording(tube.recording).await?;
                // Without pictures there is still the rest; why is said where they would be.
                let frames = book.frames(tube.recording).await.ok();
                &*free.insert((detail, frames))
            }
        };
        let place = known.runs.get(&tube.run).copied();
        let entry = entry(detail, tube);
        let frame_px = frame_px(detail, tube);
        let calibration = corrections.for_run(place).map(|(row, _)| row);
        let moment = |found: &kept::Moment| {
            let at = calibration.map(|row| row.calibration.curve.at(Celsius(found.temperature_c)));
            Moment {
                time_s: found.time_s,
                logged_c: found.temperature_c,
                standard_uncertainty_c: found.standard_uncertainty_c,
                corrected_c: at.map(|at| found.temperature_c + at.correction_c),
                corrected_uncertainty_c: at
                    .and_then(|at| at.standard_uncertainty_c)
                    .map(|u_c| u_c.hypot(found.standard_uncertainty_c)),
                picture: picture(frames.as_ref(), found, frame_px),
            }
        };
        let holds = tube.tube.counts();
        let used = result.is_some_and(|row| {
            let mut from = row.determination.from.iter();
            from.any(|one| one.reading == tube.reading && one.place == tube.tube.place)
        });
        let bench = detail
            .run
            .run
            .bench
            .and_then(|id| known.thermometers.bench(id));
        runs.push(Run {
            name: Some(short(&tube.run.to_string())),
            began: Some(stamp(detail.run.begun)),
            bench: bench.map(|bench| bench.row.bench.name.clone()),
            place: tube.tube.place,
            programme: detail
                .run
                .run
                .programme
                .as_ref()
                .map_or_else(Vec::new, |programme| {
                    programme.legs().iter().map(leg).collect()
                }),
            heating_rate_c_per_min: tube.heating_rate_c_per_min,
            outcome: outcome(holds.outcome),
            outcome_because: tube
                .tube
                .decision
                .as_ref()
                .and_then(|decision| decision.reason.clone()),
            first_liquid: holds.first_liquid.as_ref().map(moment),
            last_crystal: holds.last_crystal.as_ref().map(moment),
            read_by: Some(read_by(tube, names)),
            curve: curve(book, detail, tube).await,
            used,
            unused_because: (!used && result.is_some())
                .then(|| "the result does not stand on it".to_owned()),
            remarks: entry.map_or_else(Vec::new, |entry| {
                entry
                    .remarks
                    .iter()
                    .map(|remark| RunRemark {
                        time_s: Some(remark.time_s),
                        text: remark.text.clone(),
                    })
                    .collect()
            }),
            recording_digest: detail
                .row
                .recording
                .end
                .as_ref()
                .map(|end| end.manifest.to_string()),
        });
    }
    Ok(runs)
}

/// The last part of an id, which tells those of one book apart.
fn short(id: &str) -> String {
    id.rsplit('-').next().unwrap_or(id).to_owned()
}

fn entry<'a>(detail: &'a RecordingDetail, tube: &SampleTube) -> Option<&'a kept::TubeEntry> {
    let reading = detail.readings.iter().find(|one| one.id == tube.reading)?;
    let mut tubes = reading.reading.tubes.iter();
    tubes.find(|entry| entry.place == tube.tube.place)
}

/// Where the tube stands in the pictures [px]: left, top of column, right, bottom. A person's reading does not say; then
/// as an engine saw it.
fn frame_px(detail: &RecordingDetail, tube: &SampleTube) -> Option<[f64; 4]> {
    let own = detail.readings.iter().filter(|one| one.id == tube.reading);
    own.chain(&detail.readings)
        .flat_map(|one| &one.reading.tubes)
        .filter(|entry| entry.place == tube.tube.place)
        .find_map(|entry| entry.frame_px)
}

/// The tube's part of a picture, with the glass beside it and some of the empty glass above, as fractions.
fn around(file: &[u8], frame_px: Option<[f64; 4]>) -> Option<[f64; 4]> {
    let [left, top, right, bottom] = frame_px?;
    let (width, height) = picture_size_px(file)?;
    let (width, height) = (f64::from(width), f64::from(height));
    let (across, down) = (right - left, bottom - top);
    if !(across > 0.0 && down > 0.0) {
        return None;
    }
    let within = |value: f64, side: f64| (value / side).clamp(0.0, 1.0);
    let from = [
        within(left - across / 2.0, width),
        within(top - 0.6 * down, height),
    ];
    let to = [
        within(right + across / 2.0, width),
        within(bottom + 0.2 * down, height),
    ];
    let size = [to[0] - from[0], to[1] - from[1]];
    // A tube outside of the picture: of another recording's size; the whole is shown.
    (size[0] > 0.0 && size[1] > 0.0).then_some([from[0], from[1], size[0], size[1]])
}

fn picture(frames: Option<&Frames>, found: &kept::Moment, frame_px: Option<[f64; 4]>) -> Frame {
    let Some(frames) = frames.filter(|frames| !frames.times_s().is_empty()) else {
        return Frame::Missing {
            because: "the recording has no pictures that can be shown".to_owned(),
        };
    };
    let at = frames.shown_at(found.time_s);
    match frames.picture(at) {
        Ok(file) => Frame::Shown {
            crop: around(&file, frame_px),
            file,
            time_s: frames.times_s().get(at).copied().unwrap_or(found.time_s),
            logged_c: found.temperature_c,
        },
        Err(error) => Frame::Missing {
            because: error.to_string(),
        },
    }
}

/// The curve that the engine saw; that of the reading that counts before others.
async fn curve(book: &Book, detail: &RecordingDetail, tube: &SampleTube) -> Vec<CurvePoint> {
    let own = detail.readings.iter().filter(|one| one.id == tube.reading);
    let others = detail.readings.iter().filter(|one| one.id != tube.reading);
    let digests: Vec<_> = own
        .chain(others)
        .filter_map(|one| one.reading.curves)
        .collect();
    for digest in digests {
        // One that cannot be read is as one that is not there; a verification says so.
        let Ok(bytes) = book.store().attachment(digest).await else {
            continue;
        };
        let Ok(curves) = serde_json::from_slice::<Curves>(&bytes) else {
            continue;
        };
        if let Some(curve) = curves.tubes.iter().find(|one| one.place == tube.tube.place) {
            let times = curve.time_s.iter().zip(&curve.temperature_c);
            return times
                .zip(&curve.liquid_fraction)
                .map(|((&time_s, &temperature_c), &melted_fraction)| CurvePoint {
                    time_s,
                    temperature_c,
                    melted_fraction,
                })
                .collect();
        }
    }
    Vec::new()
}

fn read_by(tube: &SampleTube, names: &BTreeMap<PersonId, String>) -> String {
    let name = |id: &PersonId| names.get(id).cloned().unwrap_or_else(|| id.to_string());
    let reader = match &tube.reader {
        kept::Reader::Engine { program } => program.clone(),
        kept::Reader::Person { person, blind } => {
            format!("{}{}", name(person), if *blind { " (blind)" } else { "" })
        }
    };
    match &tube.tube.decision {
        None => reader,
        Some(decision) => {
            let what = match decision.says {
                kept::DecisionKind::Confirmed => "confirmed",
                kept::DecisionKind::Overridden { .. } => "set otherwise",
            };
            format!("{reader}; {what} by {}", name(&decision.who))
        }
    }
}

fn leg(found: &planning::Leg) -> Leg {
    use planning::LegKind;
    let (rate_c_per_min, hold_s) = match *found {
        planning::Leg::Scan { rate_c_per_min, .. } => (Some(rate_c_per_min), None),
        planning::Leg::Soak { minutes } => (None, Some(60.0 * minutes)),
        _ => (None, None),
    };
    Leg {
        kind: match found.kind() {
            LegKind::Approach => model::LegKind::Approach,
            LegKind::Soak => model::LegKind::Soak,
            LegKind::Attend => model::LegKind::Attend,
            LegKind::Scan => model::LegKind::Scan,
            LegKind::Cool => model::LegKind::Cool,
        },
        to_c: found.to_c(),
        rate_c_per_min,
        hold_s,
    }
}

fn outcome(found: kept::Outcome) -> model::Outcome {
    match found {
        kept::Outcome::Melted => model::Outcome::Melted,
        kept::Outcome::PartlyMelted => model::Outcome::PartlyMelted,
        kept::Outcome::Unmelted => model::Outcome::Unmelted,
        kept::Outcome::Decomposed => model::Outcome::Decomposed,
        kept::Outcome::Empty => model::Outcome::Empty,
    }
}
