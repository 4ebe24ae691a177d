//! The engine beside a run: pictures in, what the tubes look like out, on a thread of its own.

use meltrange_reading::{Frame, LiveReader, LiveTube, ReadOptions};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, SyncSender, TrySendError, sync_channel};
use tokio::sync::watch;

/// Pictures that may wait for the engine; beyond these it passes some over, the recording does not.
const QUEUE: usize = 32;

enum Task {
    Look { time_s: f64, jpeg: Arc<[u8]> },
    Afresh,
}

/// What the engine says now.
#[derive(Debug, Clone, Default)]
pub(crate) struct Seen {
    /// Tubes from left to right; none until they are found.
    pub tubes: Vec<LiveTube>,
    /// Pictures that could not be decoded.
    pub unreadable: u64,
    /// The newest picture looked at, bench clock [s].
    pub time_s: f64,
}

/// Pictures in, what the tubes look like out.
#[derive(Debug)]
pub(crate) struct Watcher {
    tasks: SyncSender<Task>,
    seen: watch::Receiver<Arc<Seen>>,
    passed_over: u64,
}

impl Watcher {
    /// An engine that has seen nothing, expecting at most `places` tubes.
    pub fn begin(name: &str) -> std::io::Result<Self> {
        let (tasks, todo) = sync_channel(QUEUE);
        let (say, seen) = watch::channel(Arc::new(Seen::default()));
        std::thread::Builder::new()
            .name(format!("engine of {name}"))
            .spawn(move || work(&todo, &say))?;
        Ok(Self {
            tasks,
            seen,
            passed_over: 0,
        })
    }

    /// Forget everything: fresh tubes.
    pub fn afresh(&mut self) {
        // When it is that far behind, the pictures in its queue are of the old tubes: wait for them.
        let _ = self.tasks.send(Task::Afresh);
        self.passed_over = 0;
    }

    /// Have a picture looked at; passed over when the engine is too far behind.
    pub fn look(&mut self, time_s: f64, jpeg: Arc<[u8]>) {
        if let Err(TrySendError::Full(_)) = self.tasks.try_send(Task::Look { time_s, jpeg }) {
            self.passed_over += 1;
        }
    }

    /// How many pictures were passed over.
    pub fn passed_over(&self) -> u64 {
        self.passed_over
    }

    /// What it says, and when it says something new.
    pub fn seen(&self) -> watch::Receiver<Arc<Seen>> {
        self.seen.clone()
    }
}

fn work(todo: &Receiver<Task>, say: &watch::Sender<Arc<Seen>>) {
    let mut reader = LiveReader::new(&ReadOptions::default());
    let mut unreadable = 0;
    while let Ok(task) = todo.recv() {
        let (time_s, jpeg) = match task {
            Task::Afresh => {
                reader = LiveReader::new(&ReadOptions::default());
                unreadable = 0;
                say.send_replace(Arc::new(Seen::default()));
                continue;
            }
            Task::Look { time_s, jpeg } => (time_s, jpeg),
        };
        let tubes = match meltrange_media::decode_luma(&jpeg) {
            Ok(picture) => reader
                .push(&Frame {
                    time_s,
                    width: picture.width,
                    height: picture.height,
                    luma: &picture.pixels,
                })
                .to_vec(),
            Err(_) => {
                unreadable += 1;
                say.borrow().tubes.clone()
            }
        };
        say.send_replace(Arc::new(Seen {
            tubes,
            unreadable,
            time_s,
        }));
    }
}
