//! ffmpeg at work: fed through a pipe, and asked for its last words when it fails.

use super::EncodeError;
use std::ffi::OsString;
use std::io::{BufWriter, Read as _};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::thread::JoinHandle;

/// An ffmpeg that writes one file. Dropped before [`Ffmpeg::end`], it is stopped and what it wrote is of no use.
#[derive(Debug)]
pub(super) struct Ffmpeg {
    path: PathBuf,
    child: Child,
    input: Option<BufWriter<ChildStdin>>,
    last_words: Option<JoinHandle<String>>,
}

impl Ffmpeg {
    /// Start `program` to write `path`.
    pub fn start(
        program: &Path,
        path: &Path,
        arguments: impl IntoIterator<Item = OsString>,
    ) -> Result<Self, EncodeError> {
        let mut child = Command::new(program)
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .map_err(|source| match source.kind() {
                std::io::ErrorKind::NotFound => EncodeError::FfmpegMissing { source },
                _ => EncodeError::Ffmpeg {
                    path: path.to_owned(),
                    message: format!("it could not be started: {source}"),
                },
            })?;
        let last_words = child.stderr.take().map(|mut stderr| {
            std::thread::spawn(move || {
                let mut bytes = Vec::new();
                // What could be read before an error is still worth showing.
                let _ = stderr.read_to_end(&mut bytes);
                String::from_utf8_lossy(&bytes).into_owned()
            })
        });
        let input = child.stdin.take();
        Ok(Self {
            path: path.to_owned(),
            child,
            input: input.map(|pipe| BufWriter::with_capacity(1 << 20, pipe)),
            last_words,
        })
    }

    /// What it writes.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Give something to it; when it has gone, say why.
    pub fn pipe(
        &mut self,
        write: impl FnOnce(&mut BufWriter<ChildStdin>) -> std::io::Result<()>,
    ) -> Result<(), EncodeError> {
        let Some(input) = self.input.as_mut() else {
            return Ok(());
        };
        let Err(source) = write(input) else {
            return Ok(());
        };
        self.abandon();
        Err(self.failed(&source.to_string()))
    }

    /// Nothing more comes.
    pub fn close(&mut self) {
        drop(self.input.take());
    }

    /// Close it and wait until it has ended well.
    pub fn end(&mut self) -> Result<(), EncodeError> {
        self.close();
        let status = self
            .child
            .wait()
            .map_err(|source| EncodeError::Unwritable {
                path: self.path.clone(),
                source,
            })?;
        if status.success() {
            return Ok(());
        }
        Err(self.failed("it gave no reason"))
    }

    fn abandon(&mut self) {
        // Buffered bytes would only meet the broken pipe again: take the pipe out without flushing.
        if let Some(input) = self.input.take() {
            drop(input.into_parts());
        }
        // Both fail only when it has already ended.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }

    /// Its last three lines, else what is known otherwise.
    fn failed(&mut self, otherwise: &str) -> EncodeError {
        let said = self
            .last_words
            .take()
            .and_then(|reader| reader.join().ok())
            .unwrap_or_default();
        let lines: Vec<&str> = said
            .lines()
            .filter(|line| !line.trim().is_empty())
            .collect();
        let tail = lines[lines.len().saturating_sub(3)..].join("; ");
        EncodeError::Ffmpeg {
            path: self.path.clone(),
            message: if tail.is_empty() {
                otherwise.to_owned()
            } else {
                tail
            },
        }
    }
}

impl Drop for Ffmpeg {
    fn drop(&mut self) {
        self.abandon();
    }
}
