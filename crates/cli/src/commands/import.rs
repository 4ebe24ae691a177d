//! `meltrange import`: a recording into a lab book.

use crate::args::ImportArguments;
use crate::book_access::{failed, person, samples, to_write, wait};
use crate::failure::Failure;
use crate::output::Output;
use crate::progress::{Progress, Stretch};
use meltrange_labbook::{Book, ImportOrder, RecordingId};
use serde_json::json;
use std::ops::ControlFlow;
use std::sync::Arc;

/// Most tubes of a load.
const MOST_TUBES: usize = 3;

/// Import it, make pictures to look through, and say how to go on.
pub(crate) fn run(
    arguments: &ImportArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    if arguments.samples.len() > MOST_TUBES {
        return Err(Failure::new(format!(
            "--sample was given {} times; expected once for each tube, at most {MOST_TUBES}",
            arguments.samples.len()
        )));
    }
    let (imported, pictures) = wait(async {
        let book = to_write(&arguments.book).await?;
        let who = person(&book, arguments.by.as_deref()).await?;
        let order = ImportOrder {
            media: arguments.media.clone(),
            temperature: arguments.temperature.clone(),
            video_start_s: arguments.video_start,
            samples: samples(&book, &arguments.samples).await?,
            ..ImportOrder::default()
        };
        let stretch = Arc::new(progress.begin("importing"));
        let seen = Arc::clone(&stretch);
        let imported = book
            .import(who, order, move |done| seen.at(done))
            .await
            .map_err(failed)?;
        drop(stretch);
        let pictures = if arguments.no_pictures {
            Ok(0)
        } else {
            make_pictures(&book, imported.recording, progress.begin("pictures")).await
        };
        book.close().await;
        // The recording is in the book whether or not it can be looked through.
        Ok((imported, pictures))
    })?;
    if arguments.json {
        output.json(&json!({
            "recording": imported.recording, "run": imported.run, "pictures": pictures.as_ref().ok(),
        }))?;
    } else {
        output.text(&format!(
            "recording {}\nnext: meltrange read {} {}\n",
            imported.recording,
            arguments.book.display(),
            imported.recording
        ))?;
    }
    pictures.map(|_| ()).map_err(|failure| {
        failure.hint("the recording is in the book; only the pictures to look through are missing")
    })
}

async fn make_pictures(
    book: &Book,
    recording: RecordingId,
    stretch: Stretch,
) -> Result<u64, Failure> {
    book.make_pictures(recording, move |done| {
        stretch.at(done);
        ControlFlow::Continue(())
    })
    .await
    .map_err(failed)
}
