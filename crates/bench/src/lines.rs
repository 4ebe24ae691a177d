//! Bytes to lines, and lines asked for over a serial port that several devices may share.

use crate::bench_file::SerialPort;
use crate::error::DeviceError;
use crate::serial_port::{gone, open};
use std::collections::VecDeque;
use std::io;
use std::sync::Arc;
use std::time::Duration;
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::sync::Mutex;
use tokio::time::{Instant, timeout_at};
use tokio_serial::{ClearBuffer, SerialPort as _, SerialStream};

/// Longest line [bytes]; what is longer is no line of a thermometer, but a wrong baud rate.
const LONGEST: usize = 512;

/// After a line that is not the answer the right one is waited for this much longer at most.
const AFTER_OTHER_LINE: Duration = Duration::from_millis(200);

/// Takes bytes, gives lines: ended by CR, LF or both, never empty.
#[derive(Debug, Default)]
pub(crate) struct Lines {
    begun: Vec<u8>,
    whole: VecDeque<String>,
}

impl Lines {
    /// Take bytes.
    pub fn push(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            if byte != b'\r' && byte != b'\n' && self.begun.len() < LONGEST {
                self.begun.push(byte);
                continue;
            }
            if !self.begun.is_empty() {
                let line = String::from_utf8_lossy(&self.begun).into_owned();
                self.begun.clear();
                self.whole.push_back(line);
            }
            if byte != b'\r' && byte != b'\n' {
                self.begun.push(byte);
            }
        }
    }

    /// The next whole line.
    pub fn pop(&mut self) -> Option<String> {
        self.whole.pop_front()
    }
}

/// One read: at least one byte, or an error that says that the port is gone.
pub(crate) async fn read_some(stream: &mut SerialStream, lines: &mut Lines) -> io::Result<()> {
    let mut bytes = [0; 256];
    match stream.read(&mut bytes).await? {
        0 => Err(io::Error::new(
            io::ErrorKind::UnexpectedEof,
            "the port was closed from the other side",
        )),
        n => {
            lines.push(bytes.get(..n).unwrap_or_default());
            Ok(())
        }
    }
}

/// What came after something was sent.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Reply {
    /// The line that was waited for.
    Line(String),
    /// Only another one.
    Other(String),
}

/// Serial ports on which lines are asked for; one asks at a time.
#[derive(Debug, Clone)]
pub(crate) struct LineLink {
    serial: SerialPort,
    stream: Arc<Mutex<Option<SerialStream>>>,
}

impl LineLink {
    pub fn new(serial: SerialPort) -> Self {
        Self {
            serial,
            stream: Arc::new(Mutex::new(None)),
        }
    }

    pub fn port(&self) -> &str {
        &self.serial.port
    }

    /// Send without waiting for an answer.
    ///
    /// # Errors
    /// [`DeviceError`] when the port cannot be opened or is gone.
    pub async fn send(&self, device: &str, text: &str) -> Result<(), DeviceError> {
        let mut slot = self.stream.lock().await;
        let mut stream = match slot.take() {
            Some(stream) => stream,
            None => open(&self.serial, device)?,
        };
        write(&mut stream, text)
            .await
            .map_err(|error| gone(device, &error))?;
        *slot = Some(stream);
        Ok(())
    }

    /// Send and wait for a line that `is_answer`; what came before the sending is thrown away.
    ///
    /// # Errors
    /// [`DeviceError`] when the port cannot be opened, is gone, or no line came in time.
    pub async fn ask(
        &self,
        device: &str,
        text: &str,
        wait: Duration,
        is_answer: impl Fn(&str) -> bool + Send,
    ) -> Result<Reply, DeviceError> {
        let mut slot = self.stream.lock().await;
        // Taken out while in use: given up half-way, the port is opened anew the next time.
        let mut stream = match slot.take() {
            Some(stream) => stream,
            None => open(&self.serial, device)?,
        };
        let mut deadline = Instant::now() + wait;
        // What cannot be cleared cannot be written either, which then says why.
        let _ = stream.clear(ClearBuffer::Input);
        let mut lines = Lines::default();
        write(&mut stream, text)
            .await
            .map_err(|error| gone(device, &error))?;
        let mut other = None;
        let reply = loop {
            if let Some(line) = lines.pop() {
                if is_answer(&line) {
                    break Ok(Reply::Line(line));
                }
                deadline = deadline.min(Instant::now() + AFTER_OTHER_LINE);
                other = Some(line);
                continue;
            }
            match timeout_at(deadline, read_some(&mut stream, &mut lines)).await {
                Ok(Ok(())) => {}
                Ok(Err(error)) => return Err(gone(device, &error)),
                Err(_) => {
                    break other.map(Reply::Other).ok_or_else(|| DeviceError::Silent {
                        device: device.into(),
                        waited_s: wait.as_secs_f64(),
                    });
                }
            }
        };
        *slot = Some(stream);
        reply
    }
}

async fn write(stream: &mut SerialStream, text: &str) -> io::Result<()> {
    // A port whose other side takes nothing must not hold up a heater.
    let limit = Duration::from_millis(500);
    tokio::time::timeout(limit, stream.write_all(text.as_bytes()))
        .await
        .unwrap_or_else(|_| {
            Err(io::Error::new(
                io::ErrorKind::TimedOut,
                "the port takes nothing",
            ))
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn all(lines: &mut Lines) -> Vec<String> {
        std::iter::from_fn(|| lines.pop()).collect()
    }

    #[test]
    fn half_a_line_waits() {
        let mut lines = Lines::default();
        lines.push(b"121");
        assert_eq!(lines.pop(), None);
        lines.push(b".6\r\n\r\n121.7\n12");
        assert_eq!(all(&mut lines), ["121.6", "121.7"]);
        lines.push(&[b'x'; 3 * LONGEST]);
        assert!(all(&mut lines).iter().all(|line| line.len() <= LONGEST));
    }

    proptest! {
        #[test]
        fn how_bytes_are_cut_does_not_matter(text in "([0-9.]{1,6}\r?\n){0,20}", cut in 1usize..9) {
            let mut at_once = Lines::default();
            at_once.push(text.as_bytes());
            let mut in_pieces = Lines::default();
            for piece in text.as_bytes().chunks(cut) {
                in_pieces.push(piece);
            }
            prop_assert_eq!(all(&mut at_once), all(&mut in_pieces));
        }
    }
}
