//! Tables. Units stand in the names of the columns; temperatures are as logged unless a column
//! `convention` says otherwise.

use crate::book::Book;
use crate::error::BookError;
use crate::ids::{PersonId, RunId};
use crate::query::{
    DecisionKind, LONGEST_PAGE, Moments, PersonRow, RecordingDetail, SampleOrder, SampleQuery,
    SampleRow,
};
use crate::records::{Entry, Moment, Reader, ResultValue};
use std::fs::File;
use std::path::Path;

/// A CSV file under way.
pub(super) struct Table<'a> {
    path: &'a Path,
    out: csv::Writer<File>,
}

impl<'a> Table<'a> {
    pub(super) fn begin(path: &'a Path, columns: &[&str]) -> Result<Self, BookError> {
        let file = File::create(path).map_err(|error| BookError::file(path, "written", error))?;
        let mut table = Self {
            path,
            out: csv::Writer::from_writer(file),
        };
        table.row(columns.iter().map(|&name| name.to_owned()).collect())?;
        Ok(table)
    }

    pub(super) fn row(&mut self, cells: Vec<String>) -> Result<(), BookError> {
        self.out
            .write_record(cells)
            .map_err(|error| BookError::file(self.path, "written", error.into()))
    }

    pub(super) fn end(mut self) -> Result<(), BookError> {
        self.out
            .flush()
            .map_err(|error| BookError::file(self.path, "written", error))
    }
}

pub(super) fn maybe(value: Option<&impl ToString>) -> String {
    value.map_or_else(String::new, ToString::to_string)
}

pub(super) async fn people(book: &Book, path: &Path) -> Result<(), BookError> {
    let mut table = Table::begin(path, &["person", "name", "role"])?;
    for row in book.store().people().await? {
        let role = serde_json::to_value(row.role)?;
        table.row(vec![
            row.id.to_string(),
            row.name,
            role.as_str().unwrap_or_default().into(),
        ])?;
    }
    table.end()
}

pub(super) fn name_of(people: &[PersonRow], id: PersonId) -> String {
    let found = people.iter().find(|row| row.id == id);
    found.map_or_else(|| id.to_string(), |row| row.name.clone())
}

/// What happened in `runs`, run by run.
pub(super) async fn events(book: &Book, path: &Path, runs: &[RunId]) -> Result<(), BookError> {
    let people = book.store().people().await?;
    let mut table = Table::begin(path, &["run", "time_s", "what", "text", "person", "when"])?;
    for &run in runs {
        for record in book.store().events(run).await? {
            let Entry::Event(event) = record.entry else {
                continue;
            };
            table.row(vec![
                run.to_string(),
                event.time_s.to_string(),
                event.what.name().into(),
                event.text,
                record
                    .who
                    .map_or_else(String::new, |who| name_of(&people, who)),
                record.when.to_string(),
            ])?;
        }
    }
    table.end()
}

pub(super) async fn all_samples(book: &Book) -> Result<Vec<SampleRow>, BookError> {
    let mut all = Vec::new();
    loop {
        let query = SampleQuery {
            order: SampleOrder::Label,
            offset: all.len() as u64,
            limit: LONGEST_PAGE,
            ..SampleQuery::default()
        };
        let page = book.store().samples(&query).await?;
        if page.rows.is_empty() {
            return Ok(all);
        }
        all.extend(page.rows);
    }
}

pub(super) async fn samples(book: &Book, path: &Path) -> Result<(), BookError> {
    let columns = [
        "sample",
        "label",
        "origin",
        "expected_substance",
        "hazards",
        "dried",
        "ground",
        "column_height_mm",
        "solvent",
        "remarks",
        "added",
        "standing",
        "recordings",
        "range",
    ];
    let mut table = Table::begin(path, &columns)?;
    for row in all_samples(book).await? {
        let Entry::Sample(sample) = book.store().latest(row.id.into()).await?.entry else {
            continue;
        };
        let yes_no = |noted: Option<bool>| match noted {
            Some(true) => "yes",
            Some(false) => "no",
            None => "",
        };
        table.row(vec![
            row.id.to_string(),
            sample.label,
            sample.origin.unwrap_or_default(),
            sample.expected_substance.unwrap_or_default(),
            sample.hazards.unwrap_or_default(),
            yes_no(sample.preparation.dried).into(),
            yes_no(sample.preparation.ground).into(),
            maybe(sample.preparation.column_height_mm.as_ref()),
            sample.preparation.solvent.unwrap_or_default(),
            sample.remarks.unwrap_or_default(),
            row.added.to_string(),
            row.standing.name().into(),
            row.recordings.to_string(),
            row.range_text.unwrap_or_default(),
        ])?;
    }
    table.end()
}

pub(super) fn recordings(path: &Path, all: &[RecordingDetail]) -> Result<(), BookError> {
    let columns = [
        "recording",
        "run",
        "begun",
        "place",
        "sample",
        "label",
        "cut",
        "start_s",
        "end_s",
        "lowest_c",
        "highest_c",
        "readings",
    ];
    let mut table = Table::begin(path, &columns)?;
    for detail in all {
        let row = &detail.row;
        let end = row.recording.end.as_ref();
        let tubes = row.load.iter().zip(&row.labels);
        let mut cells: Vec<[String; 3]> = tubes
            .map(|(tube, label)| {
                [
                    tube.place.to_string(),
                    maybe(tube.sample.as_ref()),
                    maybe(label.as_ref()),
                ]
            })
            .collect();
        if cells.is_empty() {
            cells.push(Default::default());
        }
        for [place, sample, label] in cells {
            table.row(vec![
                row.id.to_string(),
                detail.run.id.to_string(),
                row.begun.to_string(),
                place,
                sample,
                label,
                end.map_or("", |end| if end.cut { "yes" } else { "no" })
                    .into(),
                maybe(end.and_then(|end| end.start_s).as_ref()),
                maybe(end.and_then(|end| end.end_s).as_ref()),
                maybe(end.and_then(|end| end.lowest_c).as_ref()),
                maybe(end.and_then(|end| end.highest_c).as_ref()),
                row.readings.to_string(),
            ])?;
        }
    }
    table.end()
}

fn moment(moment: Option<&Moment>) -> [String; 3] {
    [
        maybe(moment.map(|moment| moment.time_s).as_ref()),
        maybe(moment.map(|moment| moment.temperature_c).as_ref()),
        maybe(moment.map(|moment| moment.standard_uncertainty_c).as_ref()),
    ]
}

fn moments(says: &Moments) -> Vec<String> {
    let [first, last] =
        [&says.first_liquid, &says.last_crystal].map(|found| moment(found.as_ref()));
    std::iter::once(says.outcome.name().to_owned())
        .chain(first)
        .chain(last)
        .collect()
}

pub(super) async fn readings(
    book: &Book,
    path: &Path,
    all: &[RecordingDetail],
) -> Result<(), BookError> {
    let columns = [
        "run",
        "recording",
        "reading",
        "tube",
        "sample",
        "label",
        "read_by",
        "read_at",
        "outcome",
        "first_liquid_s",
        "first_liquid_c",
        "u_first_c",
        "last_crystal_s",
        "last_crystal_c",
        "u_last_c",
        "decision",
        "decided_by",
        "decided_at",
        "reason",
    ];
    let people = book.store().people().await?;
    let name = |id| name_of(&people, id);
    let mut table = Table::begin(path, &columns)?;
    for detail in all {
        for reading in &detail.readings {
            for tube in &reading.tubes {
                let place = detail
                    .row
                    .load
                    .iter()
                    .position(|loaded| loaded.place == tube.place);
                let label = place.and_then(|at| detail.row.labels.get(at)?.clone());
                let mut cells = vec![
                    detail.run.id.to_string(),
                    detail.row.id.to_string(),
                    reading.id.to_string(),
                    tube.place.to_string(),
                    maybe(tube.sample.as_ref()),
                    label.unwrap_or_default(),
                    match &reading.reading.reader {
                        Reader::Engine { program } => program.clone(),
                        Reader::Person { person, .. } => name(*person),
                    },
                    reading.when.to_string(),
                ];
                // What counts: the override's moments where there is one.
                cells.extend(moments(tube.counts()));
                match &tube.decision {
                    None => cells.extend(["none", "", "", ""].map(str::to_owned)),
                    Some(decision) => cells.extend([
                        match decision.says {
                            DecisionKind::Confirmed => "confirmed".into(),
                            DecisionKind::Overridden { .. } => "overridden".into(),
                        },
                        name(decision.who),
                        decision.when.to_string(),
                        decision.reason.clone().unwrap_or_default(),
                    ]),
                }
                table.row(cells)?;
            }
        }
    }
    table.end()
}

pub(super) async fn determinations(book: &Book, path: &Path) -> Result<(), BookError> {
    let columns = [
        "determination",
        "sample",
        "label",
        "when",
        "agreed",
        "convention",
        "range",
        "first_liquid_c",
        "u_first_c",
        "last_crystal_c",
        "u_last_c",
        "outdated",
    ];
    let mut table = Table::begin(path, &columns)?;
    for row in all_samples(book).await? {
        if row.range_text.is_none() {
            continue;
        }
        for result in book.store().sample(row.id).await?.determinations {
            let said = &result.determination;
            let convention = serde_json::to_value(said.convention)?;
            let value = |value: Option<&ResultValue>| {
                [
                    maybe(value.map(|value| value.value_c).as_ref()),
                    maybe(value.map(|value| value.standard_uncertainty_c).as_ref()),
                ]
            };
            let mut cells = vec![
                result.id.to_string(),
                row.id.to_string(),
                row.label.clone(),
                result.when.to_string(),
                if said.agreed { "yes" } else { "no" }.into(),
                convention.as_str().unwrap_or_default().into(),
                said.range_text.clone(),
            ];
            cells.extend(value(said.first_liquid.as_ref()));
            cells.extend(value(said.last_crystal.as_ref()));
            cells.push(
                if result.outdated.is_empty() {
                    "no"
                } else {
                    "yes"
                }
                .into(),
            );
            table.row(cells)?;
        }
    }
    table.end()
}

pub(super) async fn verdicts(book: &Book, path: &Path) -> Result<(), BookError> {
    let columns = [
        "verdict",
        "sample",
        "label",
        "when",
        "who",
        "says",
        "substance",
        "cas",
        "range",
        "mixed_meltings",
        "other_evidence",
        "cautions",
        "reason",
        "words",
    ];
    let people = book.store().people().await?;
    let mut table = Table::begin(path, &columns)?;
    for row in all_samples(book).await? {
        for said in book.store().sample(row.id).await?.verdicts {
            let verdict = said.verdict;
            let says = serde_json::to_value(verdict.identity.says)?;
            let substance = verdict.identity.substance.unwrap_or_default();
            table.row(vec![
                said.id.to_string(),
                row.id.to_string(),
                row.label.clone(),
                said.when.to_string(),
                name_of(&people, said.who),
                says.as_str().unwrap_or_default().into(),
                substance.name,
                substance.cas,
                verdict.range_text,
                verdict.mixed_meltings.len().to_string(),
                verdict.other_evidence.unwrap_or_default(),
                verdict.cautions.join("; "),
                said.reason.unwrap_or_default(),
                verdict.words,
            ])?;
        }
    }
    table.end()
}
