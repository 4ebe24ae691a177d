//! Render scenes into recordings with known truth, to grade a reader on.
//!
//! `scene_suite DIR` renders the whole suite into `DIR/NAME/`, its scene files into `DIR/scenes/`;
//! what is there already stays. `scene_suite DIR --only WORD` takes the scenes whose name or tags
//! contain the word, `--seed N` draws other variations (default 1), and `scene_suite DIR A.toml ...`
//! renders given scene files.

// The command's own code, so that a scene renders the same from here and from the program.
#[path = "../../../crates/cli/src/commands/simulate.rs"]
mod simulate;

use std::error::Error;
use std::ffi::OsString;
use std::io::Write;
use std::path::{Path, PathBuf};

const USAGE: &str = "usage: scene_suite DIR [--only WORD] [--seed N] [SCENE.toml ...]";

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args_os().skip(1);
    let folder = arguments.next().ok_or(USAGE)?;
    if folder.to_string_lossy().starts_with('-') {
        return Err(USAGE.into());
    }
    let folder = PathBuf::from(folder);
    let (mut word, mut seed, mut files) = (String::new(), 1, Vec::new());
    while let Some(argument) = arguments.next() {
        let mut text = || {
            arguments
                .next()
                .and_then(|value| value.into_string().ok())
                .ok_or(USAGE)
        };
        match argument.to_str() {
            Some("--only") => word = text()?,
            Some("--seed") => seed = text()?.parse()?,
            _ => files.push(argument),
        }
    }
    if files.is_empty() {
        files = write_suite(&folder, seed, &word)?;
    }
    for file in files {
        render(Path::new(&file), &folder)?;
    }
    Ok(())
}

/// Write the scene files of the suite; return those whose name or tags contain the word.
fn write_suite(folder: &Path, seed: u64, word: &str) -> Result<Vec<OsString>, Box<dyn Error>> {
    let scenes = folder.join("scenes");
    std::fs::create_dir_all(&scenes)?;
    let mut files = Vec::new();
    for scene in meltrange_scene::suite(seed) {
        if !scene.name.contains(word) && !scene.tags.iter().any(|tag| tag.contains(word)) {
            continue;
        }
        let file = scenes.join(format!("{}.toml", scene.name));
        std::fs::write(&file, scene.to_toml()?)?;
        files.push(file.into_os_string());
    }
    Ok(files)
}

fn render(file: &Path, folder: &Path) -> Result<(), Box<dyn Error>> {
    let begin = std::time::Instant::now();
    let name = Path::new(file.file_stem().ok_or("a scene file has a name")?);
    let target = folder.join(name);
    if target.join("truth.json").exists() {
        return Ok(());
    }
    let made = simulate::run(file, &target, &mut |_, _| {})?;
    writeln!(
        std::io::stdout(),
        "{}: {} pictures, {:.0} s of video, {:?}, rendered in {:.1} s",
        name.display(),
        made.frames,
        made.duration_s,
        made.outcomes,
        begin.elapsed().as_secs_f64()
    )?;
    Ok(())
}
