//! A mixed melting out of the three tubes of one recording.

use crate::problem::{Problem, in_full};
use crate::sample_view::by_person;
use crate::wire::{MixedTubesJudged, MixedTubesRequest};
use axum::http::StatusCode;
use meltrange_identity::ThreeTubes;
use meltrange_labbook::{self as kept, RecordingDetail, TubeRef};

/// Two tubes of one load differ by so much however well they are read [°C]; common practice, no source.
const BETWEEN_PLACES_C: f64 = 0.2;

/// One tube as it counts.
struct Counts {
    tube: TubeRef,
    range_c: [f64; 2],
    /// The larger of both ends.
    uncertainty_c: f64,
    decided: bool,
}

/// Judge the tubes of `found` that are named.
pub(crate) fn judged(
    found: &RecordingDetail,
    asked: MixedTubesRequest,
) -> Result<MixedTubesJudged, Problem> {
    let places = [
        ("sample_place", asked.sample_place),
        ("reference_place", asked.reference_place),
        ("mixture_place", asked.mixture_place),
    ];
    for (at, (field, place)) in places.iter().enumerate() {
        if places[..at].iter().any(|(_, before)| before == place) {
            return Err(Problem::field(
                *field,
                format!("place {place} again"),
                "three different places",
            ));
        }
    }
    let [sample, reference, mixture] = [
        counts(found, places[0])?,
        counts(found, places[1])?,
        counts(found, places[2])?,
    ];
    let mut largest = [&sample, &reference, &mixture].map(|one| one.uncertainty_c);
    largest.sort_by(f64::total_cmp);
    let standard_uncertainty_c = asked
        .standard_uncertainty_c
        .unwrap_or_else(|| largest[1].hypot(largest[2]).hypot(BETWEEN_PLACES_C));
    let told = ThreeTubes {
        sample_c: sample.range_c,
        reference_c: reference.range_c,
        mixture_c: mixture.range_c,
        standard_uncertainty_c,
    }
    .judge()
    .map_err(|error| {
        Problem::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "identity",
            "This cannot be worked out",
            in_full(&error),
        )
    })?;
    Ok(MixedTubesJudged {
        told,
        decided: sample.decided && reference.decided && mixture.decided,
        tubes: [sample.tube, reference.tube, mixture.tube],
        ranges_c: [sample.range_c, reference.range_c, mixture.range_c],
        standard_uncertainty_c,
    })
}

/// The reading of a place that counts: the newest behind which a person stands, else the newest.
fn counts(found: &RecordingDetail, (field, place): (&str, u8)) -> Result<Counts, Problem> {
    let missing = |what: &str| {
        Problem::field(
            field,
            format!("place {place}: {what}"),
            "a tube of this recording that was read with both a first liquid and a last crystal",
        )
    };
    let mut best: Option<(&kept::ReadingDetail, &kept::DecidedTube, bool)> = None;
    for reading in &found.readings {
        let Some(tube) = reading.tubes.iter().find(|tube| tube.place == place) else {
            continue;
        };
        let by_person = by_person(&reading.reading.reader, tube);
        if best.is_none_or(|(.., before)| by_person && !before) {
            best = Some((reading, tube, by_person));
        }
    }
    let (reading, tube, decided) = best.ok_or_else(|| missing("not read"))?;
    let holds = tube.counts();
    let (Some(first), Some(last)) = (&holds.first_liquid, &holds.last_crystal) else {
        return Err(missing("no full range"));
    };
    Ok(Counts {
        tube: TubeRef {
            reading: reading.id,
            place,
        },
        range_c: [first.temperature_c, last.temperature_c],
        uncertainty_c: first
            .standard_uncertainty_c
            .max(last.standard_uncertainty_c),
        decided,
    })
}
