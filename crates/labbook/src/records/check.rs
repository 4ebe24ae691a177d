//! Which entries can be kept, whatever keeps them.

use super::{Entry, Kind, Moment, RunState, TubeEntry};
use super::{check_out_and_in, check_teaching, check_thermometer, check_verdict};
use crate::error::BookError;
use crate::ids::SubjectId;
use crate::text;
use meltrange_planning::Programme;

/// Most places a bench can have; what the reading engine can follow.
const MOST_PLACES: u8 = 3;

/// Longest list within one record: far above any real one, and small enough to be read at once.
pub(super) const LONGEST_LIST: usize = 1000;

/// Taller columns than this are a slip of the pen [mm].
const TALLEST_COLUMN_MM: f64 = 50.0;

/// What every entry must be.
pub(crate) fn entry(entry: &Entry) -> Result<(), BookError> {
    match entry {
        Entry::Opening(opening) => {
            text::name("book.title", &opening.title)?;
            text::name("book.program", &opening.program)
        }
        Entry::Person(person) => text::name("person.name", &person.name),
        Entry::Sample(sample) => {
            text::name("sample.label", &sample.label)?;
            text::optional("sample.origin", sample.origin.as_deref())?;
            text::optional(
                "sample.expected_substance",
                sample.expected_substance.as_deref(),
            )?;
            text::optional("sample.hazards", sample.hazards.as_deref())?;
            text::optional("sample.remarks", sample.remarks.as_deref())?;
            text::optional("sample.solvent", sample.preparation.solvent.as_deref())?;
            match sample.preparation.column_height_mm {
                Some(height_mm) if !(height_mm > 0.0 && height_mm <= TALLEST_COLUMN_MM) => {
                    Err(BookError::Field {
                        field: "sample.column_height_mm",
                        found: height_mm.to_string(),
                        expected: "millimetres above 0 and at most 50 (2 to 3 is common practice)",
                    })
                }
                _ => Ok(()),
            }
        }
        Entry::Bench(bench) => {
            text::name("bench.name", &bench.name)?;
            text::optional("bench.thermometer", bench.thermometer.as_deref())?;
            place("bench.places", bench.places)?;
            check_thermometer::bench(bench)
        }
        Entry::Run(run) => {
            text::optional("run.remarks", run.remarks.as_deref())?;
            places("run.load", run.load.iter().map(|tube| tube.place))?;
            run.programme.as_ref().map_or(Ok(()), programme)
        }
        Entry::Event(event) => {
            finite("event.time_s", event.time_s)?;
            text::long("event.text", &event.text)
        }
        Entry::Recording(recording) => match &recording.source {
            super::RecordingSource::Camera => Ok(()),
            super::RecordingSource::Video {
                file_name: name,
                video_start_s,
            }
            | super::RecordingSource::Pictures {
                folder_name: name,
                video_start_s,
            } => {
                text::long("recording.file_name", name)?;
                finite("recording.video_start_s", *video_start_s)
            }
        },
        Entry::Reading(reading) => {
            places("reading.tubes", reading.tubes.iter().map(|tube| tube.place))?;
            if reading.quality.len().max(reading.notes.len()) > LONGEST_LIST {
                return Err(too_long("reading.notes"));
            }
            reading.tubes.iter().try_for_each(tube)
        }
        Entry::Confirmation(decision) => place("confirmation.place", decision.place),
        Entry::Override(decision) => {
            place("override.place", decision.place)?;
            moments(
                decision.first_liquid.as_ref(),
                decision.last_crystal.as_ref(),
            )
        }
        Entry::Determination(result) => {
            text::name("determination.range_text", &result.range_text)?;
            if result.from.len() > LONGEST_LIST {
                return Err(too_long("determination.from"));
            }
            [result.first_liquid, result.last_crystal]
                .into_iter()
                .flatten()
                .try_for_each(|value| {
                    finite("determination.value_c", value.value_c)?;
                    finite(
                        "determination.standard_uncertainty_c",
                        value.standard_uncertainty_c,
                    )
                })?;
            result
                .basis
                .as_deref()
                .map_or(Ok(()), check_thermometer::basis)
        }
        Entry::SampleVerdict(said) => check_verdict::verdict(said),
        Entry::SignOff(said) => check_out_and_in::sign_off(said),
        Entry::PastResult(said) => check_out_and_in::past_result(said),
        Entry::Received(said) => check_out_and_in::received(said),
        Entry::Standard(standard) => check_thermometer::standard(standard),
        Entry::Check(check) => check_thermometer::check(check),
        Entry::Calibration(calibration) => check_thermometer::calibration(calibration),
        Entry::Practical(practical) => check_teaching::practical(practical),
        Entry::PracticalStep(step) => check_teaching::step(step),
        Entry::PracticeAttempt(attempt) => check_teaching::attempt(attempt),
    }
}

/// Whether an entry of this kind, new or in place of another, must say why.
pub(crate) fn needs_reason(entry: &Entry, replaces: bool) -> bool {
    match entry {
        Entry::Override(_) => true,
        Entry::Run(run) => run.state == RunState::Broken,
        Entry::PracticalStep(step) => replaces || check_teaching::needs_reason(step),
        Entry::Reading(_)
        | Entry::Determination(_)
        | Entry::SampleVerdict(_)
        | Entry::SignOff(_)
        | Entry::PastResult(_)
        | Entry::Check(_)
        | Entry::Calibration(_)
        | Entry::Practical(_)
        | Entry::PracticeAttempt(_) => replaces,
        _ => false,
    }
}

/// What an entry speaks of, with what it must be.
pub(crate) fn references(entry: &Entry) -> Vec<(Kind, SubjectId)> {
    match entry {
        Entry::Opening(_)
        | Entry::Person(_)
        | Entry::Sample(_)
        | Entry::Bench(_)
        | Entry::Received(_)
        | Entry::Standard(_)
        | Entry::Practical(_) => Vec::new(),
        Entry::Run(run) => run
            .bench
            .iter()
            .map(|&id| (Kind::Bench, id.into()))
            .chain(
                run.load
                    .iter()
                    .filter_map(|tube| Some((Kind::Sample, tube.sample?.into()))),
            )
            .collect(),
        Entry::Event(event) => vec![(Kind::Run, event.run.into())],
        Entry::Recording(recording) => vec![(Kind::Run, recording.run.into())],
        Entry::Reading(reading) => {
            let mut all = vec![(Kind::Recording, reading.recording.into())];
            if let super::Reader::Person { person, .. } = &reading.reader {
                all.push((Kind::Person, (*person).into()));
            }
            all.extend(
                reading
                    .tubes
                    .iter()
                    .filter_map(|tube| Some((Kind::Sample, tube.sample?.into()))),
            );
            all
        }
        Entry::Confirmation(decision) => vec![(Kind::Reading, decision.reading.into())],
        Entry::Override(decision) => vec![(Kind::Reading, decision.reading.into())],
        Entry::Determination(result) => std::iter::once((Kind::Sample, result.sample.into()))
            .chain(
                result
                    .from
                    .iter()
                    .map(|tube| (Kind::Reading, tube.reading.into())),
            )
            .chain(check_thermometer::basis_references(result.basis.as_deref()))
            .collect(),
        Entry::SampleVerdict(said) => check_verdict::references(said),
        Entry::SignOff(said) => check_out_and_in::sign_off_references(said),
        Entry::PastResult(said) => vec![(Kind::Sample, said.sample.into())],
        Entry::Check(check) => check_thermometer::check_references(check),
        Entry::Calibration(calibration) => check_thermometer::calibration_references(calibration),
        Entry::PracticalStep(step) => check_teaching::step_references(step),
        Entry::PracticeAttempt(attempt) => check_teaching::attempt_references(attempt),
    }
}

/// The name that only one subject of its kind may bear.
pub(crate) fn unique_name(entry: &Entry) -> Option<(&'static str, &str)> {
    match entry {
        Entry::Person(person) => Some(("person.name", &person.name)),
        Entry::Sample(sample) => Some(("sample.label", &sample.label)),
        Entry::Bench(bench) => Some(("bench.name", &bench.name)),
        _ => None,
    }
}

/// One that was read from outside was not checked when it was made. What the bench can reach is the
/// bench's to say.
fn programme(programme: &Programme) -> Result<(), BookError> {
    Programme::new(programme.purpose(), programme.legs().to_vec(), f64::MAX)
        .map(|_| ())
        .map_err(|error| BookError::Field {
            field: "run.programme",
            found: format!("no programme: {error}"),
            expected: "1 to 40 legs that follow, each within what can be heated",
        })
}

fn tube(tube: &TubeEntry) -> Result<(), BookError> {
    if tube.remarks.len() > LONGEST_LIST {
        return Err(too_long("reading.remarks"));
    }
    if let Some(rate) = tube.heating_rate_c_per_min {
        finite("reading.heating_rate_c_per_min", rate)?;
    }
    moments(tube.first_liquid.as_ref(), tube.last_crystal.as_ref())
}

fn moments(first: Option<&Moment>, last: Option<&Moment>) -> Result<(), BookError> {
    for moment in [first, last].into_iter().flatten() {
        finite("moment.time_s", moment.time_s)?;
        finite("moment.temperature_c", moment.temperature_c)?;
        finite(
            "moment.standard_uncertainty_c",
            moment.standard_uncertainty_c,
        )?;
        if moment.standard_uncertainty_c < 0.0 {
            return Err(BookError::Field {
                field: "moment.standard_uncertainty_c",
                found: moment.standard_uncertainty_c.to_string(),
                expected: "an uncertainty of 0 or more",
            });
        }
    }
    match (first, last) {
        (Some(first), Some(last)) if first.time_s > last.time_s => Err(BookError::Field {
            field: "moment.time_s",
            found: format!(
                "{} s for the first liquid and {} s for the last crystal",
                first.time_s, last.time_s
            ),
            expected: "the first liquid no later than the last crystal",
        }),
        _ => Ok(()),
    }
}

fn places(field: &'static str, places: impl Iterator<Item = u8>) -> Result<(), BookError> {
    let mut before = 0;
    for found in places {
        place(field, found)?;
        if found <= before {
            return Err(BookError::Field {
                field,
                found: format!("place {found} after place {before}"),
                expected: "each place once, from left to right",
            });
        }
        before = found;
    }
    Ok(())
}

pub(super) fn place(field: &'static str, found: u8) -> Result<(), BookError> {
    if (1..=MOST_PLACES).contains(&found) {
        return Ok(());
    }
    Err(BookError::Field {
        field,
        found: found.to_string(),
        expected: "1, 2 or 3",
    })
}

pub(super) fn finite(field: &'static str, found: f64) -> Result<(), BookError> {
    if found.is_finite() {
        return Ok(());
    }
    Err(BookError::Field {
        field,
        found: found.to_string(),
        expected: "a finite number",
    })
}

pub(super) fn too_long(field: &'static str) -> BookError {
    BookError::Field {
        field,
        found: "a longer list".into(),
        expected: "at most 1000 entries",
    }
}
