//! Render scenes into recordings with truth: `scene_suite DIR [SCENE.toml ...]`.

// The command's own code, so that a scene renders the same from here and from the program.
#[path = "../../../crates/cli/src/commands/simulate.rs"]
mod simulate;

use std::error::Error;
use std::io::Write;
use std::path::{Path, PathBuf};

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args_os().skip(1).map(PathBuf::from);
    let folder = arguments
        .next()
        .ok_or("usage: scene_suite DIR [SCENE.toml ...]")?;
    for scene in arguments {
        render(&scene, &folder)?;
    }
    Ok(())
}

fn render(scene: &Path, folder: &Path) -> Result<(), Box<dyn Error>> {
    let begin = std::time::Instant::now();
    let name = scene.file_stem().ok_or("a scene file has a name")?;
    let made = simulate::run(scene, &folder.join(name), &mut |_, _| {})?;
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
