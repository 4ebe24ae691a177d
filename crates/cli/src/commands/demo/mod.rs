//! `meltrange demo`: a lab book of an invented practical, to look around in.
//!
//! An instructor of an imaginary college tries out six unknowns before an evening practical. The
//! recordings are simulated and the engine reads them; apart from the values of reference substances, nothing in the book is made up beyond that. Melting points in
//! the scenes are those of handbooks, from memory: inputs of the simulation, no result rests on them.

mod desk;
mod practical;
mod thermometers;

use super::simulate;
use crate::failure::Failure;
use crate::output::Output;
use crate::progress::Progress;
use desk::Desk;
use meltrange_labbook::{Access, Book, BookError, Person, Role};
use practical::{LOADS, Load};
use std::path::{Path, PathBuf};
use std::sync::mpsc;

/// What the book is called.
const TITLE: &str = "Evening practical: six unknowns (simulated)";

/// Whose book it is.
const SUPERVISOR: &str = "R. Amsel";

/// A bench to practise at, and its file in the book.
const PRACTICE_BENCH: &str = include_str!("../../../../../docs/bench-files/simulated.toml");
const PRACTICE_BENCH_FILE: &str = "benches/practice-bench.toml";

/// Scenes drawn at a time: the engine reads meanwhile.
const DRAWN_AT_A_TIME: usize = 2;

/// Make the book in `place` unless there is one.
pub(crate) fn run(place: &Path, output: &Output, progress: &Progress) -> Result<(), Failure> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|error| Failure::of(&error))?;
    if is_there(&runtime, place)? {
        return output.text(&format!(
            "{} is there already; remove it to have it made anew\n",
            place.display()
        ));
    }
    let beside = beside(place)?;
    // Left over where an earlier one was interrupted.
    clear(&beside)?;
    let stretch = progress.begin("the practical");
    runtime.block_on(fill(&beside, &mut |done| stretch.at(done)))?;
    drop(stretch);
    std::fs::rename(&beside, place)
        .map_err(|error| Failure::of(&BookError::file(place, "written", error)))?;
    output.text(&format!(
        "{} has {} recordings of six unknowns\n",
        place.display(),
        LOADS.len()
    ))
}

/// Whether there is a book already. Anything else in its place is an error.
fn is_there(runtime: &tokio::runtime::Runtime, place: &Path) -> Result<bool, Failure> {
    let empty = std::fs::read_dir(place).is_ok_and(|mut entries| entries.next().is_none());
    if empty || !place.exists() {
        return Ok(false);
    }
    match runtime.block_on(Book::open(place, Access::Write)) {
        Ok(book) => {
            runtime.block_on(book.close());
            Ok(true)
        }
        // It is served just now.
        Err(BookError::InUse { .. }) => Ok(true),
        Err(error) => Err(Failure::of(&error)),
    }
}

/// Where it is made: beside its place, so that it is there whole or not at all.
fn beside(place: &Path) -> Result<PathBuf, Failure> {
    let name = place
        .file_name()
        .ok_or_else(|| Failure::new(format!("{} is no name for a new folder", place.display())))?;
    let mut name = name.to_owned();
    name.push(".unfinished");
    Ok(place.with_file_name(name))
}

fn clear(folder: &Path) -> Result<(), Failure> {
    match std::fs::remove_dir_all(folder) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
            Err(Failure::of(&BookError::file(folder, "written", error)))
        }
        _ => Ok(()),
    }
}

async fn fill(folder: &Path, progress: &mut dyn FnMut(f64)) -> Result<(), Failure> {
    let first = Person {
        name: SUPERVISOR.into(),
        role: Role::Supervisor,
    };
    let (book, who) = Book::create(folder, TITLE, first)
        .await
        .map_err(|error| Failure::of(&error))?;
    let desk = Desk::open(book, who).map_err(|error| Failure::of(&error))?;
    let drawings = tempfile::tempdir().map_err(|error| Failure::of(&error))?;
    let drawn = draw(drawings.path().to_owned());
    let mut practical = practical::Practical::begin(&desk).await?;
    for (done, load) in LOADS.iter().enumerate() {
        progress(done as f64 / LOADS.len() as f64);
        // Drawn in this order, each waited for where the wait blocks nobody.
        let media = tokio::task::block_in_place(|| drawn.recv())
            .map_err(|_| Failure::new("the simulation ended early"))??;
        practical.take(&desk, load, &media).await?;
    }
    practical.conclude(&desk).await?;
    put_bench(folder)?;
    progress(1.0);
    desk.close().await;
    Ok(())
}

fn put_bench(book: &Path) -> Result<(), Failure> {
    let file = book.join(PRACTICE_BENCH_FILE);
    let written = file
        .parent()
        .map_or(Ok(()), std::fs::create_dir_all)
        .and_then(|()| std::fs::write(&file, PRACTICE_BENCH));
    written.map_err(|error| Failure::of(&BookError::file(&file, "written", error)))
}

/// Draw all scenes on threads of their own; they come in order.
fn draw(folder: PathBuf) -> mpsc::Receiver<Result<simulate::SimulateSummary, Failure>> {
    let (sender, receiver) = mpsc::sync_channel(0);
    std::thread::spawn(move || {
        for loads in LOADS.chunks(DRAWN_AT_A_TIME) {
            let made: Vec<_> = std::thread::scope(|scope| {
                let threads: Vec<_> = loads
                    .iter()
                    .map(|load| scope.spawn(|| draw_one(load, &folder)))
                    .collect();
                threads
                    .into_iter()
                    .map(|thread| {
                        thread
                            .join()
                            .unwrap_or_else(|_| Err(Failure::new("a scene could not be drawn")))
                    })
                    .collect()
            });
            for one in made {
                if sender.send(one).is_err() {
                    // Nobody waits any more: something else failed.
                    return;
                }
            }
        }
    });
    receiver
}

fn draw_one(load: &Load, folder: &Path) -> Result<simulate::SimulateSummary, Failure> {
    let scene = folder.join(format!("{}.toml", load.name));
    std::fs::write(&scene, load.scene)
        .map_err(|error| Failure::of(&BookError::file(&scene, "written", error)))?;
    simulate::run(&scene, &folder.join(load.name), &mut |_, _| ())
        .map_err(|error| Failure::of(&error))
}

#[cfg(test)]
mod tests {
    use super::*;
    use meltrange_scene::Scene;

    #[test]
    fn every_scene_can_be_drawn() {
        for load in LOADS {
            let scene = Scene::from_toml(load.scene);
            let scene = scene.unwrap_or_else(|error| panic!("{}: {error}", load.name));
            assert_eq!(scene.tubes.len(), load.samples.len(), "{}", load.name);
        }
    }
}
