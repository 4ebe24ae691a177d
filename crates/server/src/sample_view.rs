//! One sample as a person may see it, with the agreement of its runs.

use crate::agreement::agreement;
use crate::determining::{Corrections, Ranged, run_corrections};
use crate::problem::Problem;
use crate::sight::{self, Sight};
use crate::state::AppState;
use crate::thermometers::{Standings, differs, of_result};
use crate::wire::{Determination, MaySign, RecordingRow, SampleDetail, SampleTube, Verdict};
use meltrange_labbook::{
    self as kept, RecordingId, Role, RunId, RunPlace, SampleId, Thermometers, TubeRef, When,
};
use std::collections::{BTreeMap, BTreeSet};

/// The sample `id` as it may be seen.
pub(crate) async fn detail(
    state: &AppState,
    sight: Sight,
    id: SampleId,
) -> Result<SampleDetail, Problem> {
    let found = state.book().store().sample(id).await?;
    let hidden = hidden(state, sight, &found.tubes).await?;
    let any_hidden = hidden.values().any(|&hides| hides);
    let tubes = found
        .tubes
        .iter()
        .map(|one| {
            let hides = hidden.get(&one.recording).copied().unwrap_or(false);
            let hides = hides && !sight.owns(&one.reader);
            if !hides {
                sight.remember(state, one.recording);
            }
            SampleTube {
                run: one.run,
                recording: one.recording,
                reading: one.reading,
                reader: (&one.reader).into(),
                read_at: one.read_at,
                hidden: hides,
                tube: sight::tube(&one.tube, None, hides),
            }
        })
        .collect();
    let verdicts = if any_hidden {
        Vec::new()
    } else {
        verdicts(&found)
    };
    let may_sign = may_sign(sight, &found);
    let mut row = crate::wire::SampleRow::from(found.row);
    if any_hidden {
        row.range_text = None;
    }
    let known = Known::of(state, &found.tubes).await?;
    // Whoever looks blind and has read nothing of it yet is not told what others found before either.
    let unread = sight.blind && found.tubes.is_empty();
    let (sign_offs, past_results) = if any_hidden || unread {
        (Vec::new(), Vec::new())
    } else {
        (
            found.sign_offs.iter().map(Into::into).collect(),
            found.past_results.iter().map(Into::into).collect(),
        )
    };
    Ok(SampleDetail {
        verdicts,
        sign_offs,
        may_sign,
        past_results,
        row,
        record: found.record,
        sample: found.sample.into(),
        tubes,
        recordings: found
            .recordings
            .into_iter()
            .map(RecordingRow::from)
            .collect(),
        agreement: (!any_hidden).then(|| {
            let corrections = Corrections::of(&known.thermometers);
            agreement(&counting(&found.tubes), &known.runs, &corrections)
        }),
        determinations: if any_hidden {
            Vec::new()
        } else {
            known.results(&found.tubes, found.determinations)
        },
        blind: sight.blind,
    })
}

/// Whether whoever looks may sign the sample off; the book itself decides in the end.
fn may_sign(sight: Sight, found: &kept::SampleDetail) -> MaySign {
    let unsettled = |row: &kept::DeterminationRow| !row.outdated.is_empty();
    let because = match (sight.who(), found.determinations.first()) {
        (_, None) => Some("there is no result to sign off"),
        (None, _) => Some("choose who you are"),
        (Some(who), _) if !matches!(who.role, Role::Supervisor | Role::Analyst) => {
            Some("supervisors and analysts sign off")
        }
        (Some(who), _) if found.took_part.iter().any(|(one, _)| *one == who.id) => {
            Some("you had a part in it; a second person signs off, who had none")
        }
        (_, Some(result)) if unsettled(result) => Some(
            "tubes that the result stands on were decided otherwise since; state it anew first",
        ),
        _ if found
            .verdicts
            .first()
            .is_some_and(|row| !row.outdated.is_empty()) =>
        {
            Some(
                "tubes that the verdict stands on were decided otherwise since; state it anew first",
            )
        }
        _ => None,
    };
    MaySign {
        may: because.is_none(),
        because: because.map(str::to_owned),
    }
}

/// What a sample is said to be.
pub(crate) fn verdicts(found: &kept::SampleDetail) -> Vec<Verdict> {
    let latest = found
        .determinations
        .first()
        .map(|row| (row.record, row.outdated.is_empty()));
    found
        .verdicts
        .iter()
        .map(|row| Verdict {
            id: row.id,
            record: row.record,
            who: row.who,
            when: row.when,
            reason: row.reason.clone(),
            outdated: latest != Some((row.verdict.result_record, true)) || !row.outdated.is_empty(),
            verdict: row.verdict.clone(),
        })
        .collect()
}

/// What a sample's results need to be seen with: its runs and all thermometers.
#[derive(Debug)]
pub(crate) struct Known {
    pub runs: BTreeMap<RunId, RunPlace>,
    pub thermometers: Thermometers,
}

impl Known {
    /// For the runs of these tubes.
    pub async fn of(state: &AppState, tubes: &[kept::SampleTube]) -> Result<Self, Problem> {
        Ok(Self::in_book(state.book(), tubes).await?)
    }

    /// The same in a book.
    pub async fn in_book(
        book: &kept::Book,
        tubes: &[kept::SampleTube],
    ) -> Result<Self, kept::BookError> {
        let runs: BTreeSet<RunId> = tubes.iter().map(|tube| tube.run).collect();
        let store = book.store();
        Ok(Self {
            runs: store.run_places(&runs).await?,
            thermometers: store.thermometers().await?,
        })
    }

    /// Results with the thermometers of their runs.
    pub fn results(
        &self,
        tubes: &[kept::SampleTube],
        rows: Vec<kept::DeterminationRow>,
    ) -> Vec<Determination> {
        let today = When::now().date();
        let corrections = Corrections::of(&self.thermometers);
        let mut standings = Standings::of(&self.thermometers);
        let ranged = ranged(tubes);
        rows.into_iter()
            .map(|row| {
                let from: Vec<Ranged> = ranged
                    .iter()
                    .filter(|tube| row.determination.from.contains(&tube.tube))
                    .copied()
                    .collect();
                let now = run_corrections(&from, &self.runs, &corrections, &mut standings);
                let places = now
                    .iter()
                    .filter_map(|one| self.runs.get(&one.run).copied());
                let thermometers = of_result(&self.thermometers, &mut standings, places, today);
                let other = differs(&row.determination, &now);
                Determination::of(row, thermometers, other)
            })
            .collect()
    }
}

/// For each recording whether opinions on it are kept back.
async fn hidden(
    state: &AppState,
    sight: Sight,
    tubes: &[kept::SampleTube],
) -> Result<BTreeMap<RecordingId, bool>, Problem> {
    let mut hidden = BTreeMap::new();
    if sight.blind {
        let recordings: BTreeSet<RecordingId> = tubes.iter().map(|tube| tube.recording).collect();
        for recording in recordings {
            let detail = state.book().store().recording(recording).await?;
            hidden.insert(recording, sight.hides(&detail.readings));
        }
    }
    Ok(hidden)
}

/// Whether opinions on any recording with these tubes are kept back.
pub(crate) async fn keeps_back(
    state: &AppState,
    sight: Sight,
    tubes: &[kept::SampleTube],
) -> Result<bool, Problem> {
    let hidden = hidden(state, sight, tubes).await?;
    Ok(hidden.values().any(|&hides| hides))
}

/// All tubes with a full range, as they hold now.
pub(crate) fn ranged(tubes: &[kept::SampleTube]) -> Vec<Ranged> {
    tubes.iter().filter_map(one_ranged).collect()
}

fn one_ranged(found: &kept::SampleTube) -> Option<Ranged> {
    let holds = found.tube.counts();
    Some(Ranged {
        run: found.run,
        tube: TubeRef {
            reading: found.reading,
            place: found.tube.place,
        },
        first_liquid: holds.first_liquid?,
        last_crystal: holds.last_crystal?,
        heating_rate_c_per_min: found.heating_rate_c_per_min,
        decided: by_person(&found.reader, &found.tube),
    })
}

/// Whether a person stands behind it.
pub(crate) fn by_person(reader: &kept::Reader, tube: &kept::DecidedTube) -> bool {
    matches!(reader, kept::Reader::Person { .. }) || tube.decision.is_some()
}

/// Of each tube that was heated, the one reading that counts: the newest behind which a person
/// stands, else the newest.
pub(crate) fn counting(tubes: &[kept::SampleTube]) -> Vec<Ranged> {
    counting_tubes(tubes)
        .into_iter()
        .filter_map(one_ranged)
        .collect()
}

/// The same, with those that have no full range.
pub(crate) fn counting_tubes(tubes: &[kept::SampleTube]) -> Vec<&kept::SampleTube> {
    let mut counts: BTreeMap<(RecordingId, u8), &kept::SampleTube> = BTreeMap::new();
    // Newest first: later ones replace only where a person stands behind them and none did before.
    for tube in tubes {
        counts
            .entry((tube.recording, tube.tube.place))
            .and_modify(|before| {
                let stands = |one: &kept::SampleTube| by_person(&one.reader, &one.tube);
                if stands(tube) && !stands(before) {
                    *before = tube;
                }
            })
            .or_insert(tube);
    }
    counts.into_values().collect()
}
