//! Readers compared: what each read of what, beside the truth or the consensus.

use super::attempts::{all_attempts, exercise_of};
use super::engine::have_read;
use super::opinions::{Opinion, ReaderOf, opinions};
use crate::problem::Problem;
use crate::state::AppState;
use crate::wire::ComparedOf;
use meltrange_labbook::PROGRAM;
use meltrange_metrology::{
    AgreementError, ComparisonError, EndComparison, LimitsOfAgreement, ReaderStudy,
    compare_readers, limits_of_agreement,
};
use meltrange_teaching::ExerciseKind;
use std::collections::{BTreeMap, BTreeSet};

/// One reading of one tube.
#[derive(Debug, Clone)]
pub(crate) struct Observed {
    pub reader: ReaderOf,
    /// The kind of exercise, or the book's own.
    pub level: &'static str,
    /// Which tube, whatever the kind.
    pub item: String,
    /// First liquid and last crystal as read [°C].
    pub read_c: [f64; 2],
    /// And as known [°C].
    pub known_c: [f64; 2],
}

/// Everything there is to compare.
pub(crate) async fn observed(state: &AppState, of: ComparedOf) -> Result<Vec<Observed>, Problem> {
    match of {
        ComparedOf::Practice => practised(state).await,
        ComparedOf::Recordings => recorded(state).await,
    }
}

async fn practised(state: &AppState) -> Result<Vec<Observed>, Problem> {
    let all = all_attempts(state).await?;
    let mut seen: Vec<Observed> = all
        .into_iter()
        .filter_map(|(_, attempt)| {
            let exercise = exercise_of(&attempt.exercise)?;
            let item = match (exercise.seed, exercise.recording, exercise.place) {
                (Some(seed), ..) => format!("{} {seed}", exercise.kind.code()),
                (None, Some(recording), Some(place)) => format!("{recording} {place}"),
                _ => return None,
            };
            let ends = [attempt.first_liquid, attempt.last_crystal];
            Some(Observed {
                reader: ReaderOf::Person(attempt.person),
                level: exercise.kind.code(),
                item,
                read_c: ends.map(|end| end.marked_c),
                known_c: ends.map(|end| end.known_c),
            })
        })
        .collect();
    let by_engine = by_engine(state, &seen);
    seen.extend(by_engine);
    Ok(seen)
}

/// The same exercises as the engine marked them, as far as it has read them; it is set to read the others.
fn by_engine(state: &AppState, seen: &[Observed]) -> Vec<Observed> {
    let mut each: BTreeMap<&str, &Observed> = BTreeMap::new();
    for one in seen {
        each.entry(&one.item).or_insert(one);
    }
    let which = |one: &Observed| {
        let kind = ExerciseKind::of_code(one.level)?;
        let seed = one.item.split(' ').nth(1)?.parse().ok()?;
        (kind != ExerciseKind::Recording).then_some((kind, seed))
    };
    let wanted: Vec<_> = each.values().filter_map(|one| which(one)).collect();
    have_read(state, &wanted);
    each.values()
        .filter_map(|one| {
            Some(Observed {
                reader: ReaderOf::Engine(PROGRAM.to_owned()),
                read_c: state.engine_marks().of(which(one)?)?,
                ..(*one).clone()
            })
        })
        .collect()
}

/// Against the mean of all who read a tube, each counted once.
async fn recorded(state: &AppState) -> Result<Vec<Observed>, Problem> {
    let mut all = Vec::new();
    for tube in opinions(state).await? {
        let known_c = tube.consensus_c();
        let item = format!("{} {}", tube.recording, tube.place);
        for (reader, said) in &tube.said {
            all.extend(said.iter().map(|one: &Opinion| Observed {
                reader: reader.clone(),
                level: "recording",
                item: item.clone(),
                read_c: one.at_c,
                known_c,
            }));
        }
    }
    Ok(all)
}

/// Everybody who read something, in a fixed order.
pub(crate) fn readers_of(all: &[Observed]) -> Vec<ReaderOf> {
    let readers: BTreeSet<ReaderOf> = all.iter().map(|one| one.reader.clone()).collect();
    readers.into_iter().collect()
}

/// Readers compared at one end (0: first liquid, 1: last crystal), named by `ids`.
pub(crate) fn compared(
    all: &[Observed],
    readers: &[ReaderOf],
    ids: &[String],
    end: usize,
) -> Result<EndComparison, ComparisonError> {
    let levels: Vec<&str> = {
        let mut seen = Vec::new();
        for one in all {
            if !seen.contains(&one.level) {
                seen.push(one.level);
            }
        }
        seen
    };
    let names = levels.iter().map(|level| (*level).to_owned()).collect();
    let mut study = ReaderStudy::new(ids.to_vec(), names)?;
    for one in all {
        let reader = readers.iter().position(|reader| *reader == one.reader);
        let level = levels.iter().position(|level| *level == one.level);
        if let (Some(reader), Some(level)) = (reader, level) {
            study.add(reader, level, one.read_c[end] - one.known_c[end])?;
        }
    }
    compare_readers(&study)
}

/// Limits of agreement of a reader with another, or with what is known, at one end; a tube counts once, by the mean of what was
/// read of it.
pub(crate) fn agreement(
    all: &[Observed],
    one: &ReaderOf,
    other: Option<&ReaderOf>,
    end: usize,
) -> Result<LimitsOfAgreement, AgreementError> {
    let of = |reader: &ReaderOf| {
        let mut items: BTreeMap<&str, (f64, usize, f64)> = BTreeMap::new();
        for seen in all.iter().filter(|seen| seen.reader == *reader) {
            let item = items.entry(&seen.item).or_default();
            item.0 += seen.read_c[end];
            item.1 += 1;
            item.2 = seen.known_c[end];
        }
        items
    };
    let own = of(one);
    let mean = |(sum, count, _): &(f64, usize, f64)| sum / *count as f64;
    let pairs: Vec<(f64, f64)> = match other {
        None => own.values().map(|item| (mean(item), item.2)).collect(),
        Some(other) => {
            let theirs = of(other);
            let both = own.iter().filter_map(|(item, mine)| {
                let theirs = theirs.get(item)?;
                Some((mean(mine), mean(theirs)))
            });
            both.collect()
        }
    };
    limits_of_agreement(&pairs)
}
