//! Opening lab books, and whose records are written.

use crate::failure::Failure;
use meltrange_labbook::{Access, Book, BookError, Draft, PersonId, SampleId, SubjectId, is_shared};
use std::path::Path;

/// Run one command's work on a lab book to its end.
pub(crate) fn wait<T>(work: impl Future<Output = Result<T, Failure>>) -> Result<T, Failure> {
    tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(|error| Failure::of(&error))?
        .block_on(work)
}

/// A lab book's error with advice.
pub(crate) fn failed(error: BookError) -> Failure {
    let failure = Failure::of(&error);
    match &error {
        BookError::Unknown { what: "sample", .. } => {
            failure.hint("\"meltrange sample list BOOK\" shows the samples of a book")
        }
        BookError::AlreadyThere { .. } => failure.hint("nothing there was touched"),
        _ => failure,
    }
}

/// Open a book to write in it.
pub(crate) async fn to_write(folder: &Path) -> Result<Book, Failure> {
    Book::open(folder, Access::Write).await.map_err(failed)
}

/// Open a book to look at it, also where nothing can be written.
pub(crate) async fn to_look(folder: &Path) -> Result<Book, Failure> {
    match Book::open(folder, Access::Write).await {
        Err(BookError::ReadOnly { .. }) => Book::open(folder, Access::Read).await,
        other => other,
    }
    .map_err(failed)
}

/// Where accounts of the people of a shared book are kept unless somebody says otherwise: in its database, so
/// that all its servers have the same.
pub(crate) fn beside_book(book: &Path) -> Option<String> {
    is_shared(book).then(|| book.to_string_lossy().into_owned())
}

/// The person named, or the only one there is.
pub(crate) async fn person(book: &Book, named: Option<&str>) -> Result<PersonId, Failure> {
    let people = book.store().people().await.map_err(failed)?;
    let names = || {
        let names: Vec<&str> = people.iter().map(|row| row.name.as_str()).collect();
        names.join(", ")
    };
    match (named, people.as_slice()) {
        (None, [only]) => Ok(only.id),
        (None, _) => Err(Failure::new(format!(
            "this book knows several people ({}); expected whose record it is",
            names()
        ))
        .hint("say it with --by NAME, or set MELTRANGE_PERSON")),
        (Some(name), _) => people
            .iter()
            .find(|row| row.name.to_lowercase() == name.to_lowercase())
            .map(|row| row.id)
            .ok_or_else(|| {
                Failure::new(format!(
                    "there is no person {name} in this book; expected one of {}",
                    names()
                ))
                .hint("\"meltrange book person BOOK NAME\" adds one")
            }),
    }
}

/// The samples with these labels; "-" stands for one that is not known.
pub(crate) async fn samples(
    book: &Book,
    labels: &[String],
) -> Result<Vec<Option<SampleId>>, Failure> {
    let mut samples = Vec::with_capacity(labels.len());
    for label in labels {
        if label == "-" {
            samples.push(None);
            continue;
        }
        let found = book.store().sample_labelled(label).await.map_err(failed)?;
        let row = found.ok_or_else(|| {
            failed(BookError::Unknown {
                what: "sample",
                name: label.clone(),
            })
        })?;
        samples.push(Some(row.id));
    }
    Ok(samples)
}

/// The one sample with this label.
pub(crate) async fn sample(book: &Book, label: &str) -> Result<SampleId, Failure> {
    let named = samples(book, &[label.to_owned()]).await?;
    named.into_iter().flatten().next().ok_or_else(|| {
        Failure::new("\"-\" stands for a tube that is not known; expected the label of a sample")
    })
}

/// Open a book, add one record in the name of the person named, and close it.
pub(crate) async fn add_one(
    folder: &Path,
    by: Option<&str>,
    draft: Draft,
) -> Result<SubjectId, Failure> {
    let book = to_write(folder).await?;
    let who = person(&book, by).await?;
    let id = draft.subject();
    book.append(who, vec![draft]).await.map_err(failed)?;
    book.close().await;
    Ok(id)
}
