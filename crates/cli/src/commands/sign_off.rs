//! `meltrange sample sign-off`: a second person stands behind a result.

use crate::args::SignOffArguments;
use crate::book_access::{failed, person, sample, to_write, wait};
use crate::failure::Failure;
use crate::output::Output;
use meltrange_labbook::{Digest, Draft, SampleDetail, SignOff, SignOffMeaning, SignOffRow};
use meltrange_server::pictures_signed;
use serde_json::json;

/// Sign, or take a signature back.
pub(crate) fn run(arguments: &SignOffArguments, output: &Output) -> Result<(), Failure> {
    let (said, row) = wait(async {
        let book = to_write(&arguments.book).await?;
        let who = person(&book, arguments.by.as_deref()).await?;
        let sample = sample(&book, &arguments.sample).await?;
        let found = book.store().sample(sample).await.map_err(failed)?;
        let draft = match &arguments.withdraw {
            None => {
                let pictures = pictures_signed(&book, sample).await.map_err(failed)?;
                signature(arguments, &found, pictures)?
            }
            Some(reason) => taken_back(&found, reason)?,
        };
        let id = draft.subject().into();
        book.append(who, vec![draft]).await.map_err(failed)?;
        let found = book.store().sample(sample).await.map_err(failed)?;
        book.close().await;
        let row = found
            .sign_offs
            .iter()
            .find(|row| row.id == id)
            .cloned()
            .ok_or_else(|| Failure::new("the signature that was just kept is not there"))?;
        let said = match &arguments.withdraw {
            None => format!(
                "{} is signed off: {}{}\n",
                arguments.sample,
                row.sign_off.range_text,
                found
                    .verdicts
                    .first()
                    .map(|said| format!("; {}", said.verdict.words))
                    .unwrap_or_default()
            ),
            Some(_) => format!(
                "the signature under {} was taken back; its report is a draft again\n",
                arguments.sample
            ),
        };
        Ok((said, row))
    })?;
    if arguments.json {
        return output.json(&json!({
            "sample": arguments.sample,
            "sign_off": row.id,
            "record": row.record,
            "range": row.sign_off.range_text,
            "meaning": row.sign_off.meaning,
            "withdrawn": row.sign_off.withdrawn,
            "holds": row.holds(),
        }));
    }
    output.text(&said)
}

fn signature(
    arguments: &SignOffArguments,
    found: &SampleDetail,
    pictures_sha256: Option<Digest>,
) -> Result<Draft, Failure> {
    let result = found.determinations.first().ok_or_else(|| {
        Failure::new(format!(
            "{} has no result that could be signed off",
            arguments.sample
        ))
        .hint("state one from its readings first, on the sample's page")
    })?;
    Ok(Draft::new(SignOff {
        sample: found.row.id,
        sample_record: found.record,
        determination: result.id,
        result_record: result.record,
        verdict_record: found.verdicts.first().map(|row| row.record),
        range_text: result.determination.range_text.clone(),
        meaning: if arguments.reviewed_only {
            SignOffMeaning::Reviewed
        } else {
            SignOffMeaning::ReviewedAndApproved
        },
        statement: arguments.statement.clone(),
        pictures_sha256,
        withdrawn: false,
    }))
}

fn taken_back(found: &SampleDetail, reason: &str) -> Result<Draft, Failure> {
    let standing = |row: &&SignOffRow| !row.sign_off.withdrawn;
    let row = found.sign_offs.iter().find(standing).ok_or_else(|| {
        Failure::new(format!("{} is not signed off", found.sample.label))
            .hint("\"meltrange report\" says how it stands")
    })?;
    let back = SignOff {
        withdrawn: true,
        ..row.sign_off.clone()
    };
    Ok(Draft::revision(row.id, row.record, back).because(reason))
}
