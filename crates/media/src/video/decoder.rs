//! One run of ffmpeg: grey pictures from its standard output, their time stamps from its standard error.

use std::io::{BufRead, BufReader, ErrorKind, Read};
use std::path::Path;
use std::process::{Child, ChildStderr, ChildStdout, Command, Stdio};
use std::sync::mpsc::{Receiver, Sender, SyncSender, channel, sync_channel};
use std::thread::JoinHandle;

use super::luma::LumaKind;
use super::probe::{FORMATS, TimeBase, file_argument, starting};
use super::said::{Complaints, Listener, Stamp};
use crate::error::MediaError;

/// Pictures read ahead while the one before is being looked at. More than this only costs memory:
/// ffmpeg itself holds a picture for each of its threads.
const READ_AHEAD: usize = 3;

/// What one run is to do.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Orders<'a> {
    pub path: &'a Path,
    pub stream_index: u32,
    /// Only pictures that decode on their own.
    pub key_frames_only: bool,
    /// Go to the last key frame at or before this time [s, container clock].
    pub seek_s: Option<f64>,
    /// Turn the picture as the container asks, inside ffmpeg.
    pub turn_by_decoder: bool,
    /// What becomes of the delivered plane.
    pub luma: LumaKind,
    /// Filters that end in one 8-bit plane.
    pub filters: Vec<String>,
    /// Bytes of one delivered picture.
    pub frame_len: usize,
    pub time_base: TimeBase,
}

/// A picture with its time stamp.
#[derive(Debug)]
pub(super) struct Picture {
    pub luma: Vec<u8>,
    pub stamp: Stamp,
}

/// A running ffmpeg; stopped and waited for when dropped.
#[derive(Debug)]
pub(super) struct Decoder<'a> {
    path: &'a Path,
    child: Child,
    pictures: Option<Receiver<std::io::Result<Vec<u8>>>>,
    spent: Sender<Vec<u8>>,
    stamps: Receiver<Stamp>,
    reader: Option<JoinHandle<()>>,
    listener: Option<JoinHandle<Complaints>>,
    delivered: u64,
    at_end: bool,
}

impl<'a> Decoder<'a> {
    /// Start ffmpeg.
    pub fn start(orders: &Orders<'a>) -> Result<Self, MediaError> {
        let mut child = command(orders)
            .spawn()
            .map_err(|source| starting("ffmpeg", source))?;
        let stdout = child.stdout.take().expect("stdout was asked for as a pipe");
        let stderr = child.stderr.take().expect("stderr was asked for as a pipe");
        let (filled, pictures) = sync_channel(READ_AHEAD);
        let (spent, empty) = channel::<Vec<u8>>();
        let (heard, stamps) = channel();
        let (frame_len, kind) = (orders.frame_len, orders.luma);
        let time_base = orders.time_base;
        let reader =
            std::thread::spawn(move || read_pictures(stdout, frame_len, kind, &filled, &empty));
        let listener = std::thread::spawn(move || listen(stderr, time_base, &heard));
        Ok(Self {
            path: orders.path,
            child,
            pictures: Some(pictures),
            spent,
            stamps,
            reader: Some(reader),
            listener: Some(listener),
            delivered: 0,
            at_end: false,
        })
    }

    /// The next picture, or `None` at the end.
    ///
    /// # Errors
    /// [`MediaError`] when the pipe fails or a picture comes without its time stamp line.
    pub fn next(&mut self) -> Result<Option<Picture>, MediaError> {
        let Some(Ok(received)) = self.pictures.as_ref().map(Receiver::recv) else {
            self.at_end = true;
            return Ok(None);
        };
        self.delivered += 1;
        let luma = received.map_err(|source| MediaError::Pipe {
            path: self.path.into(),
            frame: self.delivered,
            source,
        })?;
        // The filter prints a picture's line before the picture is written, so it is never late.
        let stamp = self.stamps.recv().map_err(|_| MediaError::TimeMissing {
            path: self.path.into(),
            frame: self.delivered,
        })?;
        Ok(Some(Picture { luma, stamp }))
    }

    /// Give a picture's buffer back for further use.
    pub fn give_back(&self, luma: Vec<u8>) {
        // The reader may have ended already; then the buffer is simply freed.
        let _ = self.spent.send(luma);
    }

    /// Stop ffmpeg, if it still runs, and say what it complained of.
    pub fn finish(mut self) -> Complaints {
        self.stop()
    }

    fn stop(&mut self) -> Complaints {
        // Once the pictures' receiver is gone the reader cannot be stuck on handing one over.
        self.pictures = None;
        if !self.at_end {
            // Killing fails only when it has ended already.
            let _ = self.child.kill();
        }
        let _ = self.child.wait();
        if let Some(reader) = self.reader.take() {
            let _ = reader.join();
        }
        self.listener
            .take()
            .and_then(|listener| listener.join().ok())
            .unwrap_or_default()
    }
}

impl Drop for Decoder<'_> {
    fn drop(&mut self) {
        self.stop();
    }
}

fn command(orders: &Orders<'_>) -> Command {
    let mut command = Command::new("ffmpeg");
    command
        .args(["-nostdin", "-nostats", "-hide_banner"])
        .args(["-loglevel", "repeat+level+info"])
        .arg("-copyts");
    if orders.key_frames_only {
        command.args(["-skip_frame", "nokey"]);
    }
    if let Some(seek_s) = orders.seek_s {
        // Not `accurate`: exact limits are set by the `select` filter, whose clock is known.
        command
            .args(["-noaccurate_seek", "-seek_timestamp", "1", "-ss"])
            .arg(format!("{seek_s:.6}"));
    }
    if !orders.turn_by_decoder {
        command.arg("-noautorotate");
    }
    let mut filters = orders.filters.clone();
    filters.push("showinfo=checksum=0".into());
    // The times are told; what the muxer gets must only rise, also where the container's own
    // times are closer together than its nominal frame rate.
    filters.push("settb=1".into());
    filters.push("setpts=N*1000".into());
    command
        // A play list posing as a video must not make the decoder fetch anything, or read any other file.
        .args(["-protocol_whitelist", "file"])
        .args(["-format_whitelist", FORMATS])
        .arg("-i")
        .arg(file_argument(orders.path))
        .args(["-map", &format!("0:{}", orders.stream_index)])
        .args(["-an", "-sn", "-dn"])
        .args(["-vf", &filters.join(",")])
        // Without it a variable frame rate loses pictures.
        .args(["-fps_mode", "passthrough"])
        .args(["-f", "rawvideo", "-protocol_whitelist", "pipe", "pipe:1"])
        .env("AV_LOG_FORCE_NOCOLOR", "1")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

fn read_pictures(
    mut stdout: ChildStdout,
    frame_len: usize,
    kind: LumaKind,
    filled: &SyncSender<std::io::Result<Vec<u8>>>,
    empty: &Receiver<Vec<u8>>,
) {
    loop {
        let mut luma = empty.try_recv().unwrap_or_default();
        luma.resize(frame_len, 0);
        let read = match stdout.read_exact(&mut luma) {
            Ok(()) => {
                kind.stretch(&mut luma);
                Ok(luma)
            }
            Err(error) if error.kind() == ErrorKind::UnexpectedEof => return,
            Err(error) => Err(error),
        };
        let failed = read.is_err();
        if filled.send(read).is_err() || failed {
            return;
        }
    }
}

fn listen(stderr: ChildStderr, time_base: TimeBase, heard: &Sender<Stamp>) -> Complaints {
    let mut listener = Listener::new(time_base);
    let mut stderr = BufReader::new(stderr);
    let mut line = Vec::new();
    // Read on to the end even when nobody listens: a full pipe would hold ffmpeg up.
    while stderr.read_until(b'\n', &mut line).is_ok_and(|len| len > 0) {
        if let Some(stamp) = listener.hear(String::from_utf8_lossy(&line).trim_end()) {
            let _ = heard.send(stamp);
        }
        line.clear();
    }
    listener.complaints
}
