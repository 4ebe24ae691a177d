//! A report of a sample, filled from the book.

mod runs;
mod said;
mod settings;
mod signed;

pub use settings::{SETTINGS, Settings, SettingsError};
pub use signed::{chain_of, holds_any, pictures_signed};

use crate::determining::{Corrections, heating_rate};
use crate::sample_view::{Known, ranged};
use crate::thermometers::Standings;
use meltrange_labbook::{
    self as kept, Book, BookError, DeterminationRow, PersonId, SampleDetail, SampleId, TookPart,
    When,
};
use meltrange_metrology as metrology;
use meltrange_report::Report;
use meltrange_report::model::{
    self, Agreement, Chain, Contributor, End, Letterhead, MeltingResult, Part, Stamp,
};
use std::collections::{BTreeMap, BTreeSet};

/// Coverage probability that expanded uncertainties are stated for.
const COVERAGE: f64 = 0.95;

/// What a report needs besides the book.
#[derive(Debug, Clone, Default)]
pub struct ReportRequest {
    /// Whose paper it is on.
    pub letterhead: Letterhead,
    /// What a verification of the book said.
    pub chain: Chain,
}

/// Fill a report of a sample: its newest result with all that it rests on, or why there is none.
///
/// # Errors
/// [`BookError`] where the book cannot be read or has no such sample. A picture or a curve that cannot be read is
/// reported as missing and is no error.
pub async fn report_of(
    book: &Book,
    sample: SampleId,
    request: &ReportRequest,
) -> Result<Report, BookError> {
    let store = book.store();
    let found = store.sample(sample).await?;
    let known = Known::in_book(book, &found.tubes).await?;
    let names: BTreeMap<PersonId, String> = store
        .people()
        .await?
        .into_iter()
        .map(|person| (person.id, person.name))
        .collect();
    let result = found.determinations.first();
    let title = match store
        .after(0, 1)
        .await?
        .into_iter()
        .next()
        .map(|one| one.entry)
    {
        Some(kept::Entry::Opening(opening)) => opening.title,
        _ => String::new(),
    };
    let made = When::now();
    let corrections = Corrections::of(&known.thermometers);
    let runs = runs::runs(book, &found, &known, &corrections, &names).await?;
    let mut standings = Standings::of(&known.thermometers);
    // A book that was altered is said before anything else.
    let chain = match (&request.chain, signed::other_pictures(&found, &runs)) {
        (Chain::Verified { .. } | Chain::NotVerified, Some(broken)) => broken,
        (said, _) => said.clone(),
    };
    Ok(Report {
        number: number(&found, result),
        made: stamp(made),
        program: format!("meltrange {}", env!("CARGO_PKG_VERSION")),
        book: title,
        letterhead: request.letterhead.clone(),
        people: people(&found, &names),
        sample: of_sample(&found.sample),
        no_result_because: result.is_none().then(|| why_none(&found)),
        result: result.map(|row| melting_result(row, &found)),
        agreement: result.map(|row| agreement(row, &found)),
        runs,
        thermometers: said::thermometers(&found, &known, &mut standings),
        specification: result
            .and_then(|row| row.determination.basis.as_deref()?.required)
            .map(said::specification),
        candidates: found.verdicts.first().and_then(said::candidates),
        mixed_meltings: found
            .verdicts
            .first()
            .map_or_else(Vec::new, said::mixed_meltings),
        purity: found.verdicts.first().and_then(said::purity),
        verdict: found.verdicts.first().map(|row| model::Verdict {
            text: row.verdict.words.clone(),
            by: names.get(&row.who).cloned(),
        }),
        deviations: result.map_or_else(Vec::new, deviations),
        remarks: found
            .verdicts
            .first()
            .filter(|row| !row.verdict.cautions.is_empty())
            .map(|row| row.verdict.cautions.join("\n")),
        sign_off: signed::sign_off(&found, &names),
        chain,
    })
}

/// A time of the book as a report has it; both are RFC 3339.
fn stamp(when: When) -> Stamp {
    let text = when.to_string();
    text.parse()
        .unwrap_or_else(|error| unreachable!("the book writes RFC 3339: {error}"))
}

/// Label and the record of the result: two versions of a report differ.
fn number(found: &SampleDetail, result: Option<&DeterminationRow>) -> String {
    let record = result.map_or(found.record, |row| row.record).to_string();
    let short = record.rsplit('-').next().unwrap_or(&record);
    format!("{} {short}", found.sample.label)
}

fn of_sample(found: &kept::Sample) -> model::Sample {
    model::Sample {
        label: found.label.clone(),
        origin: found.origin.clone(),
        expected_substance: found.expected_substance.clone(),
        hazards: found.hazards.clone(),
        dried: found.preparation.dried,
        ground: found.preparation.ground,
        column_height_mm: found.preparation.column_height_mm,
        solvent: found.preparation.solvent.clone(),
        remarks: found.remarks.clone(),
    }
}

fn why_none(found: &SampleDetail) -> String {
    let why = if found.recordings.is_empty() {
        "the sample has no runs"
    } else if found.tubes.is_empty() {
        "its recordings have not been read"
    } else {
        "no result has been stated from its readings"
    };
    why.to_owned()
}

fn melting_result(row: &DeterminationRow, found: &SampleDetail) -> MeltingResult {
    let said = &row.determination;
    let end = |value: kept::ResultValue| End {
        value_c: value.value_c,
        standard_uncertainty_c: value.standard_uncertainty_c,
        expanded_uncertainty_c: value.expanded_uncertainty_c,
        coverage_factor: value.coverage_factor,
        coverage: Some(COVERAGE),
    };
    let used: Vec<_> = ranged(&found.tubes)
        .into_iter()
        .filter(|tube| said.from.contains(&tube.tube))
        .collect();
    let runs: BTreeSet<_> = used.iter().map(|tube| tube.run).collect();
    let rates: Vec<f64> = runs
        .into_iter()
        .filter_map(|run| heating_rate(&used, run))
        .collect();
    let rate = (!rates.is_empty()).then(|| rates.iter().sum::<f64>() / rates.len() as f64);
    MeltingResult {
        convention: convention(said),
        first_liquid: said.first_liquid.map(end),
        last_crystal: said.last_crystal.map(end),
        range_text: Some(said.range_text.clone()),
        heating_rate_c_per_min: rate,
        record: Some(row.record.to_string()),
        stated: Some(stamp(row.when)),
        reason: row.reason.clone(),
    }
}

fn convention(said: &kept::Determination) -> model::Convention {
    match said.convention {
        kept::Convention::AsLogged => model::Convention::AsLogged,
        kept::Convention::Thermodynamic => model::Convention::Thermodynamic,
        kept::Convention::NotStated => model::Convention::NotStated,
        kept::Convention::AtRate => {
            let of_basis = said
                .basis
                .as_deref()
                .and_then(|basis| basis.result.convention);
            model::Convention::AtRate {
                rate_c_per_min: match of_basis {
                    Some(metrology::Convention::AtRate { rate_c_per_min }) => rate_c_per_min,
                    _ => None,
                },
            }
        }
    }
}

/// Results recorded before their basis was kept say less of it.
fn agreement(row: &DeterminationRow, found: &SampleDetail) -> Agreement {
    let said = &row.determination;
    let basis = said.basis.as_deref().map(|basis| &basis.result);
    let runs: BTreeSet<_> = ranged(&found.tubes)
        .into_iter()
        .filter(|tube| said.from.contains(&tube.tube))
        .map(|tube| tube.run)
        .collect();
    let runs_used = basis.map_or(runs.len(), |result| result.runs_used.len());
    Agreement {
        agreed: said.agreed,
        within_c: basis.map_or(metrology::AGREE_WITHIN_C, |result| result.agree_within_c),
        spread_c: said.spread_c,
        runs_used: u32::try_from(runs_used).unwrap_or(u32::MAX),
        further_runs_needed: said.further_runs_needed,
        left_out: basis.map_or_else(Vec::new, |result| {
            let outliers = result.outliers.iter();
            outliers.map(|outlier| outlier.text.clone()).collect()
        }),
    }
}

/// Doubts about the result that its reader must know.
fn deviations(row: &DeterminationRow) -> Vec<String> {
    let mut said: Vec<String> = row
        .determination
        .basis
        .as_deref()
        .map_or_else(Vec::new, |basis| {
            let remarks = basis.result.remarks.iter();
            remarks.map(|remark| remark.text.clone()).collect()
        });
    if !row.outdated.is_empty() {
        said.push("tubes that the result stands on were decided otherwise since".to_owned());
    }
    said
}

/// Whoever ran the benches, read, and stated the result; each part once.
fn people(found: &SampleDetail, names: &BTreeMap<PersonId, String>) -> Vec<Contributor> {
    let parts = found.took_part.iter();
    let mut all: Vec<(Part, &String)> = parts
        .filter_map(|(who, part)| {
            let part = match part {
                TookPart::Measured => Part::Measured,
                TookPart::Read => Part::Read,
                TookPart::Determined => Part::Determined,
            };
            Some((part, names.get(who)?))
        })
        .collect();
    all.sort_by_key(|&(part, name)| (part as u8, name));
    all.into_iter()
        .map(|(part, name)| Contributor {
            name: name.clone(),
            part,
        })
        .collect()
}
