//! A new reading of the engine beside the one before, tube by tube.

use crate::records::{Moment, Reading, TubeEntry};
use serde::{Deserialize, Serialize};

/// What became of a tube's reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum RereadChange {
    /// Both ends are within two standard uncertainties of what they were.
    Same,
    /// An end is further away than that.
    Moved,
    /// It is said to have done something else, e.g. to have decomposed instead of melted.
    Outcome,
    /// There is an end, or a tube, that was not there before.
    Gained,
    /// There is none any more.
    Lost,
}

impl RereadChange {
    /// All of them, the gravest last.
    pub const ALL: [Self; 5] = [
        Self::Same,
        Self::Moved,
        Self::Gained,
        Self::Outcome,
        Self::Lost,
    ];

    /// As written in the database and in answers.
    pub fn name(self) -> &'static str {
        match self {
            Self::Same => "same",
            Self::Moved => "moved",
            Self::Outcome => "outcome",
            Self::Gained => "gained",
            Self::Lost => "lost",
        }
    }

    /// From its name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|change| change.name() == name)
    }
}

/// One end: how far it moved [°C], and the standard uncertainty of that, as if both readings knew nothing of each
/// other (they have the thermometer in common, so this is on the large side) [°C].
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Moved {
    /// Now less before [°C].
    pub by_c: f64,
    /// Of both together [°C].
    pub standard_uncertainty_c: f64,
}

/// One tube, before and now.
#[derive(Debug, Clone, PartialEq)]
pub struct ComparedTube {
    /// Its place, from 1.
    pub place: u8,
    /// What became of it.
    pub change: RereadChange,
    /// Outcome as it was said before; none where there was no such tube.
    pub outcome_before: Option<&'static str>,
    /// Outcome as it is said now.
    pub outcome_now: Option<&'static str>,
    /// First liquid, where both have one.
    pub first_liquid: Option<Moved>,
    /// Last crystal, where both have one.
    pub last_crystal: Option<Moved>,
}

impl ComparedTube {
    /// The larger of both ends, whatever its sign [°C].
    pub fn moved_c(&self) -> Option<f64> {
        [self.first_liquid, self.last_crystal]
            .into_iter()
            .flatten()
            .map(|moved| moved.by_c.abs())
            .reduce(f64::max)
    }
}

/// Every tube that either of them has.
pub(super) fn compare(before: Option<&Reading>, now: &Reading) -> Vec<ComparedTube> {
    let of = |reading: Option<&Reading>, place| {
        reading?
            .tubes
            .iter()
            .find(|tube| tube.place == place)
            .cloned()
    };
    let places: std::collections::BTreeSet<u8> = before
        .iter()
        .flat_map(|reading| &reading.tubes)
        .chain(&now.tubes)
        .map(|tube| tube.place)
        .collect();
    places
        .into_iter()
        .map(|place| tube(place, of(before, place), of(Some(now), place)))
        .collect()
}

fn tube(place: u8, before: Option<TubeEntry>, now: Option<TubeEntry>) -> ComparedTube {
    let ends = |end: fn(&TubeEntry) -> Option<Moment>| {
        (before.as_ref().and_then(end), now.as_ref().and_then(end))
    };
    let first = ends(|tube| tube.first_liquid);
    let last = ends(|tube| tube.last_crystal);
    let outcome = |tube: &Option<TubeEntry>| tube.as_ref().map(|tube| tube.outcome.name());
    let (outcome_before, outcome_now) = (outcome(&before), outcome(&now));
    let lost = |(before, now): (Option<Moment>, Option<Moment>)| before.is_some() && now.is_none();
    let gained =
        |(before, now): (Option<Moment>, Option<Moment>)| before.is_none() && now.is_some();
    let (first_liquid, last_crystal) = (moved(first), moved(last));
    let beyond = |end: Option<Moved>| {
        end.is_some_and(|end| end.by_c.abs() > 2.0 * end.standard_uncertainty_c)
    };
    let change = if lost(first) || lost(last) || (before.is_some() && now.is_none()) {
        RereadChange::Lost
    } else if before.is_some() && outcome_before != outcome_now {
        RereadChange::Outcome
    } else if gained(first) || gained(last) || before.is_none() {
        RereadChange::Gained
    } else if beyond(first_liquid) || beyond(last_crystal) {
        RereadChange::Moved
    } else {
        RereadChange::Same
    };
    ComparedTube {
        place,
        change,
        outcome_before,
        outcome_now,
        first_liquid,
        last_crystal,
    }
}

fn moved((before, now): (Option<Moment>, Option<Moment>)) -> Option<Moved> {
    let (before, now) = (before?, now?);
    Some(Moved {
        by_c: now.temperature_c - before.temperature_c,
        standard_uncertainty_c: before
            .standard_uncertainty_c
            .hypot(now.standard_uncertainty_c),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::records::Outcome;

    fn moment(temperature_c: f64, standard_uncertainty_c: f64) -> Option<Moment> {
        Some(Moment {
            time_s: 0.0,
            temperature_c,
            standard_uncertainty_c,
        })
    }

    fn tube_of(first: Option<Moment>, last: Option<Moment>) -> TubeEntry {
        TubeEntry {
            place: 1,
            sample: None,
            outcome: Outcome::Melted,
            first_liquid: first,
            last_crystal: last,
            heating_rate_c_per_min: None,
            frame_px: None,
            remarks: Vec::new(),
        }
    }

    #[test]
    fn a_tube_is_the_same_within_two_standard_uncertainties_of_the_difference() {
        // The standard uncertainty of a difference is the root of the sum of squares: JCGM 100:2008 (GUM), 5.1.2.
        let before = tube_of(moment(121.0, 0.3), moment(122.0, 0.04));
        let within = tube_of(moment(121.9, 0.4), moment(122.09, 0.03));
        let found = tube(1, Some(before.clone()), Some(within));
        assert_eq!(found.change, RereadChange::Same);
        let first = found.first_liquid.expect("both have one");
        assert!((first.standard_uncertainty_c - 0.5).abs() < 1e-12);
        assert!((found.moved_c().expect("moved") - 0.9).abs() < 1e-9);
        let beyond = tube_of(moment(121.0, 0.4), moment(122.11, 0.03));
        assert_eq!(
            tube(1, Some(before), Some(beyond)).change,
            RereadChange::Moved
        );
    }

    #[test]
    fn an_end_that_is_gone_is_graver_than_one_that_moved() {
        let before = tube_of(moment(121.0, 0.1), moment(122.0, 0.1));
        let cut = tube_of(moment(125.0, 0.1), None);
        assert_eq!(
            tube(1, Some(before.clone()), Some(cut.clone())).change,
            RereadChange::Lost
        );
        assert_eq!(
            tube(1, Some(cut), Some(before.clone())).change,
            RereadChange::Gained
        );
        assert_eq!(
            tube(1, Some(before.clone()), None).change,
            RereadChange::Lost
        );
        assert_eq!(
            tube(1, None, Some(before.clone())).change,
            RereadChange::Gained
        );
        let dark = TubeEntry {
            outcome: Outcome::Decomposed,
            ..before.clone()
        };
        assert_eq!(
            tube(1, Some(before), Some(dark)).change,
            RereadChange::Outcome
        );
    }
}
