//! `meltrange recording`: a recording as a film.

use super::archive::archive_failed;
use crate::args::{RecordingArguments, RecordingCommand, RecordingExportArguments};
use crate::book_access::{failed, samples, to_look, wait};
use crate::failure::Failure;
use crate::output::Output;
use crate::progress::Progress;
use meltrange_archive::export_film;
use meltrange_labbook::{Book, RecordingId, RecordingQuery};
use serde_json::json;

/// Run it.
pub(crate) fn run(
    arguments: &RecordingArguments,
    output: &Output,
    quiet: bool,
) -> Result<(), Failure> {
    match &arguments.command {
        RecordingCommand::Export(export) => {
            film(export, output, &Progress::new(quiet || export.json))
        }
    }
}

fn film(
    arguments: &RecordingExportArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let place = arguments.out.display();
    if arguments
        .out
        .extension()
        .is_none_or(|ending| !ending.eq_ignore_ascii_case("mkv"))
    {
        return Err(Failure::new(format!(
            "{place} does not say that it is Matroska; expected a name that ends in .mkv"
        )));
    }
    let stretch = progress.begin("filming");
    let (id, film) = wait(async {
        let book = to_look(&arguments.book).await?;
        let id = which(&book, arguments).await?;
        let detail = book.store().recording(id).await.map_err(failed)?;
        let film = export_film(&book, &detail, &arguments.out, &mut |done| stretch.at(done))
            .await
            .map_err(archive_failed)?;
        book.close().await;
        Ok((id, film))
    })?;
    drop(stretch);
    if arguments.json {
        return output.json(&json!({"recording": id, "file": place.to_string(), "film": film}));
    }
    let pictures = film.pictures.map_or_else(
        || "the video as it was imported".to_owned(),
        |pictures| format!("{pictures} pictures as captured"),
    );
    output.text(&format!(
        "{place}: {pictures}, {} temperatures as subtitles\n",
        film.cues
    ))
}

async fn which(book: &Book, arguments: &RecordingExportArguments) -> Result<RecordingId, Failure> {
    if let Some(text) = &arguments.recording {
        return text
            .parse::<RecordingId>()
            .map_err(|error| Failure::of(&error));
    }
    let label = arguments.sample.clone().unwrap_or_default();
    let sample = samples(book, std::slice::from_ref(&label)).await?;
    let query = RecordingQuery {
        sample: sample.into_iter().flatten().next(),
        limit: 1,
        ..RecordingQuery::default()
    };
    let page = book.store().recordings(&query).await.map_err(failed)?;
    page.rows.first().map(|row| row.id).ok_or_else(|| {
        Failure::new(format!("there is no recording of {label} in this book"))
            .hint("\"meltrange import\" and \"meltrange record\" make one")
    })
}
