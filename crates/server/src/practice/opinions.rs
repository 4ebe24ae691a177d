//! What several readers said of the same tubes of the book's own recordings.

use crate::problem::Problem;
use crate::state::AppState;
use meltrange_labbook::{
    LONGEST_PAGE, Moments, Outcome, PersonId, Reader, RecordingDetail, RecordingId, RecordingQuery,
};
use meltrange_teaching::Marks;
use std::collections::BTreeMap;

/// Recordings that are looked at, the newest.
const RECORDINGS: u64 = 500;

/// Readers agree within this at both ends [°C]. Common practice, no source.
const AGREED_C: f64 = 0.5;

/// Who read.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum ReaderOf {
    /// Somebody.
    Person(PersonId),
    /// The engine, by its version.
    Engine(String),
}

/// Both moments as somebody read them.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Opinion {
    pub marks: Marks,
    /// First liquid and last crystal, as logged [°C].
    pub at_c: [f64; 2],
}

/// What was said of one tube.
#[derive(Debug, Clone)]
pub(crate) struct TubeOpinions {
    pub recording: RecordingId,
    pub place: u8,
    /// Of each reader everything they said, oldest first.
    pub said: BTreeMap<ReaderOf, Vec<Opinion>>,
}

impl TubeOpinions {
    /// Of each reader the mean [°C], and the mean of these: the consensus.
    pub fn consensus_c(&self) -> [f64; 2] {
        let means = self.means_c();
        let count = means.len().max(1) as f64;
        [0, 1].map(|end| means.iter().map(|mean| mean[end]).sum::<f64>() / count)
    }

    fn means_c(&self) -> Vec<[f64; 2]> {
        let mean = |said: &Vec<Opinion>| {
            let count = said.len().max(1) as f64;
            [0, 1].map(|end| said.iter().map(|one| one.at_c[end]).sum::<f64>() / count)
        };
        self.said.values().map(mean).collect()
    }

    /// Whether at least two readers, one of them a person, agree at both ends.
    pub fn agreed(&self) -> bool {
        let means = self.means_c();
        let person = self
            .said
            .keys()
            .any(|reader| matches!(reader, ReaderOf::Person(_)));
        person
            && means.len() >= 2
            && [0, 1].into_iter().all(|end| {
                let ends = means.iter().map(|mean| mean[end]);
                let most = ends.clone().fold(f64::NEG_INFINITY, f64::max);
                most - ends.fold(f64::INFINITY, f64::min) <= AGREED_C + 1e-9
            })
    }

    /// The marks of every reader, the latest of each.
    pub fn marks(&self) -> Vec<Marks> {
        self.said
            .values()
            .filter_map(|said| said.last().map(|one| one.marks))
            .collect()
    }
}

/// Tubes that two or more read, newest recording first.
pub(crate) async fn opinions(state: &AppState) -> Result<Vec<TubeOpinions>, Problem> {
    let store = state.book().store();
    let mut all = Vec::new();
    let mut offset = 0;
    while offset < RECORDINGS {
        let query = RecordingQuery {
            offset,
            limit: LONGEST_PAGE,
            ..RecordingQuery::default()
        };
        let page = store.recordings(&query).await?;
        if page.rows.is_empty() {
            break;
        }
        offset += page.rows.len() as u64;
        for row in page.rows {
            all.extend(of_recording(&store.recording(row.id).await?));
        }
    }
    Ok(all)
}

fn of_recording(found: &RecordingDetail) -> Vec<TubeOpinions> {
    let mut tubes: BTreeMap<u8, BTreeMap<ReaderOf, Vec<Opinion>>> = BTreeMap::new();
    for detail in &found.readings {
        let reader = match &detail.reading.reader {
            // Who saw an opinion before is no reader of their own.
            Reader::Person { blind: false, .. } => continue,
            Reader::Person { person, .. } => ReaderOf::Person(*person),
            Reader::Engine { program } => ReaderOf::Engine(program.clone()),
        };
        for tube in &detail.tubes {
            if let Some(opinion) = opinion(&tube.read) {
                let own = tubes.entry(tube.place).or_default();
                own.entry(reader.clone()).or_default().push(opinion);
            }
        }
    }
    tubes
        .into_iter()
        .filter(|(_, said)| said.len() >= 2)
        .map(|(place, said)| TubeOpinions {
            recording: found.row.id,
            place,
            said,
        })
        .collect()
}

fn opinion(read: &Moments) -> Option<Opinion> {
    if read.outcome != Outcome::Melted {
        return None;
    }
    let (first, last) = (read.first_liquid.as_ref()?, read.last_crystal.as_ref()?);
    Some(Opinion {
        marks: Marks {
            first_liquid_s: first.time_s,
            last_crystal_s: last.time_s,
        },
        at_c: [first.temperature_c, last.temperature_c],
    })
}
