//! What the tests need: the program, a temporary folder, small recordings and logs.

use assert_cmd::Command;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// A slow ramp over the three minutes that the small videos last.
pub(crate) const RISING_LOG: &str = "time_s,temperature_c\n0,110.0\n60,111.0\n120,112.0\n";

/// A temporary folder to work in.
pub(crate) struct Workshop {
    folder: TempDir,
}

/// What became of one call.
pub(crate) struct Ended {
    pub status: Option<i32>,
    pub stdout: String,
    pub stderr: String,
}

/// The program, ready for arguments.
pub(crate) fn meltrange() -> Command {
    Command::new(env!("CARGO_BIN_EXE_meltrange"))
}

impl Workshop {
    pub(crate) fn new() -> Self {
        Self {
            folder: tempfile::tempdir().expect("a temporary folder can be made"),
        }
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Write a small file.
    pub(crate) fn file(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        fs::write(&path, bytes).expect("there is room for a small file");
        path
    }

    /// A video of one of ffmpeg's test pictures.
    pub(crate) fn video(&self, name: &str, picture: &str, options: &[&str]) -> PathBuf {
        let path = self.path(name);
        let done = std::process::Command::new("ffmpeg")
            .args(["-nostdin", "-v", "error", "-f", "lavfi", "-i", picture])
            .args(options)
            .arg(&path)
            .output()
            .expect("ffmpeg is installed");
        assert!(
            done.status.success(),
            "{}",
            String::from_utf8_lossy(&done.stderr)
        );
        path
    }

    /// A simulated recording: 2-naphthol beside an empty tube, four minutes at one picture a
    /// second, kept in `container`.
    pub(crate) fn recording(&self, container: &str) -> PathBuf {
        let scene = self.file(
            "scene.toml",
            format!(
                "name = \"practical\"\nseed = 20\n\
                 [picture]\nwidth = 320\nheight = 240\n\
                 [programme]\nstart_c = 119.6\nend_c = 123.2\nrate_c_per_min = 1.0\nsoak_s = 5.0\ntail_s = 5.0\n\
                 [log]\nvideo_start_s = 7.5\n\
                 [output]\ncontainer = \"{container}\"\n\
                 [[tube]]\nmelts_at_c = 121.8\nimpurity_mole_fraction = 0.0015\n\
                 [[tube]]\ncontent = \"empty\"\n"
            ),
        );
        let folder = self.path("recording");
        meltrange()
            .arg("simulate")
            .arg(scene)
            .arg("--out")
            .arg(&folder)
            .assert()
            .success();
        folder
    }

    /// Call `read` on pictures and a log, with more arguments as given.
    pub(crate) fn read(&self, media: &Path, log: &Path, more: &[&str]) -> Ended {
        ended(
            meltrange()
                .current_dir(self.folder.path())
                .arg("read")
                .arg(media)
                .arg("--temperature")
                .arg(log)
                .args(more),
        )
    }

    /// Names in the folder, sorted.
    pub(crate) fn names(&self) -> Vec<String> {
        names(self.folder.path())
    }
}

/// Names in a folder, sorted.
pub(crate) fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .expect("the folder can be read")
        .map(|entry| {
            let name = entry.expect("the entry can be read").file_name();
            name.to_string_lossy().into_owned()
        })
        .collect();
    names.sort();
    names
}

/// Run a command to its end.
pub(crate) fn ended(command: &mut Command) -> Ended {
    let output = command.output().expect("the program can be started");
    Ended {
        status: output.status.code(),
        stdout: String::from_utf8(output.stdout).expect("output is UTF-8"),
        stderr: String::from_utf8(output.stderr).expect("messages are UTF-8"),
    }
}

impl Ended {
    /// Exit 1, nothing on standard output, and a message that has all the words.
    pub(crate) fn assert_refused(&self, words: &[&str]) {
        assert_eq!(self.status, Some(1), "{}", self.stderr);
        assert_eq!(self.stdout, "", "a refusal printed something");
        assert!(self.stderr.starts_with("error: "), "{}", self.stderr);
        for word in words {
            assert!(
                self.stderr.contains(word),
                "\"{word}\" is not said in: {}",
                self.stderr
            );
        }
    }

    /// Exit 0 and one JSON object.
    pub(crate) fn json(&self) -> Value {
        assert_eq!(self.status, Some(0), "{}", self.stderr);
        serde_json::from_str(&self.stdout).expect("standard output is one JSON value")
    }
}
