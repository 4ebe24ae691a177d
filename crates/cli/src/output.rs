//! The only place that writes to standard output and standard error (the progress bar aside).

use crate::failure::Failure;
use serde::Serialize;
use std::io::{self, Write};
use std::process::ExitCode;

/// Exit status when the data could not be used.
const UNUSABLE: u8 = 1;

/// Standard output and standard error.
#[derive(Debug)]
pub(crate) struct Output;

impl Output {
    /// The process's own.
    pub fn new() -> Self {
        Self
    }

    /// Text for a person, on standard output.
    pub fn text(&self, text: &str) -> Result<(), Failure> {
        written(|out| out.write_all(text.as_bytes()))
    }

    /// One JSON object, on standard output.
    pub fn json(&self, value: &impl Serialize) -> Result<(), Failure> {
        written(|out| {
            serde_json::to_writer(&mut *out, value)?;
            out.write_all(b"\n")
        })
    }

    /// Say on standard error why nothing came of it; the exit status that goes with it.
    pub fn end_with(&self, failure: &Failure) -> ExitCode {
        match failure {
            Failure::PipeClosed => ExitCode::SUCCESS,
            Failure::Unusable { message, hints } => {
                let mut text = format!("error: {message}\n");
                for hint in hints {
                    text.push_str("hint: ");
                    text.push_str(hint);
                    text.push('\n');
                }
                // Without a standard error there is nobody left to tell.
                let _ = io::stderr().lock().write_all(text.as_bytes());
                ExitCode::from(UNUSABLE)
            }
        }
    }
}

fn written(write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), Failure> {
    let mut out = io::BufWriter::new(io::stdout().lock());
    match write(&mut out).and_then(|()| out.flush()) {
        Ok(()) => Ok(()),
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Err(Failure::PipeClosed),
        Err(error) => Err(Failure::new(format!(
            "the result could not be written to standard output: {error}"
        ))),
    }
}
