//! One sample as a person may see it, with the agreement of its runs.

use crate::agreement::{Ranged, agreement};
use crate::problem::Problem;
use crate::sight::{self, Sight};
use crate::state::AppState;
use crate::wire::{Determination, RecordingRow, SampleDetail, SampleTube, TubeRef};
use meltrange_labbook::{self as kept, RecordingId, SampleId};
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
    let mut row = crate::wire::SampleRow::from(found.row);
    if any_hidden {
        row.range_text = None;
    }
    Ok(SampleDetail {
        row,
        record: found.record,
        sample: found.sample.into(),
        tubes,
        recordings: found
            .recordings
            .into_iter()
            .map(RecordingRow::from)
            .collect(),
        agreement: (!any_hidden).then(|| agreement(&counting(&found.tubes))),
        determinations: if any_hidden {
            Vec::new()
        } else {
            found
                .determinations
                .into_iter()
                .map(|row| Determination::of(row, Vec::new()))
                .collect()
        },
        blind: sight.blind,
    })
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
        decided: by_person(found),
    })
}

/// Whether a person stands behind it.
fn by_person(found: &kept::SampleTube) -> bool {
    matches!(found.reader, kept::Reader::Person { .. }) || found.tube.decision.is_some()
}

/// Of each tube that was heated, the one reading that counts: the newest behind which a person
/// stands, else the newest.
fn counting(tubes: &[kept::SampleTube]) -> Vec<Ranged> {
    let mut counts: BTreeMap<(RecordingId, u8), &kept::SampleTube> = BTreeMap::new();
    // Newest first: later ones replace only where a person stands behind them and none did before.
    for tube in tubes {
        counts
            .entry((tube.recording, tube.tube.place))
            .and_modify(|before| {
                if by_person(tube) && !by_person(before) {
                    *before = tube;
                }
            })
            .or_insert(tube);
    }
    counts.into_values().filter_map(one_ranged).collect()
}
