//! A recorder that writes a folder of pictures and a log, as `meltrange read` takes them.

use meltrange_bench::{Mark, Phase, Recorder, RunEvent};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

/// What a run gave.
#[derive(Debug, Default)]
pub struct Kept {
    pub frames: String,
    pub pictures: usize,
    pub log: String,
    pub events: Vec<RunEvent>,
    pub over: Option<(Phase, String)>,
    pub recorded: bool,
}

pub struct ToFolder {
    folder: PathBuf,
    kept: Arc<Mutex<Kept>>,
}

impl ToFolder {
    pub fn new(folder: &Path) -> (Box<Self>, Arc<Mutex<Kept>>) {
        let kept = Arc::new(Mutex::new(Kept {
            frames: "file,time_s\n".into(),
            log: "time_s,temperature_c\n".into(),
            ..Kept::default()
        }));
        let recorder = Self {
            folder: folder.into(),
            kept: kept.clone(),
        };
        (Box::new(recorder), kept)
    }
}

impl Recorder for ToFolder {
    fn picture(&mut self, time_s: f64, jpeg: Arc<[u8]>) -> Result<(), String> {
        let mut kept = self.kept.lock().expect("whole");
        kept.pictures += 1;
        let name = format!("{:06}.jpg", kept.pictures);
        std::fs::write(self.folder.join(&name), &jpeg).map_err(|error| error.to_string())?;
        let _ = writeln!(kept.frames, "{name},{time_s}");
        Ok(())
    }

    fn temperature(&mut self, time_s: f64, temperature_c: f64) -> Result<(), String> {
        let mut kept = self.kept.lock().expect("whole");
        let _ = writeln!(kept.log, "{time_s},{temperature_c}");
        Ok(())
    }

    fn events(&mut self, events: Vec<RunEvent>) {
        self.kept.lock().expect("whole").events.extend(events);
    }

    fn trouble(&self) -> Option<String> {
        None
    }

    fn recorded(&mut self, _: &[Mark]) {
        let mut kept = self.kept.lock().expect("whole");
        kept.recorded = true;
        std::fs::write(self.folder.join("frames.csv"), &kept.frames).expect("there is room");
        std::fs::write(self.folder.join("temperature.csv"), &kept.log).expect("there is room");
    }

    fn over(self: Box<Self>, phase: Phase, why: &str, _: &[Mark]) {
        self.kept.lock().expect("whole").over = Some((phase, why.to_owned()));
    }
}
