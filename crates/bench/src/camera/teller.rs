//! What drivers of cameras have in common: times that rise, losses and returns told once.

use super::huffman::with_tables;
use crate::clock::BenchClock;
use crate::device::CameraNews;
use std::collections::BTreeSet;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::mpsc::Sender;

/// The largest picture taken [bytes].
pub(crate) const LARGEST_PICTURE: usize = 64 << 20;

/// Without a picture for this long a camera counts as lost.
pub(crate) const STALLED: Duration = Duration::from_secs(5);

/// Between two tries to reach a camera: at first, and at most.
const FIRST_PAUSE: Duration = Duration::from_millis(500);
const LONGEST_PAUSE: Duration = Duration::from_secs(5);

/// Least step between times [s]; pictures that arrive in one piece get it.
const STEP_S: f64 = 1e-6;

/// Waiting longer than this for the bench makes later arrival times doubtful [s].
const BEHIND_S: f64 = 0.25;

/// Nobody listens any more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct NobodyListens;

/// Tells a camera's news.
#[derive(Debug)]
pub(crate) struct Teller {
    clock: BenchClock,
    to: Sender<CameraNews>,
    last_s: f64,
    is_lost: bool,
    pause: Duration,
    doubted: BTreeSet<&'static str>,
}

impl Teller {
    pub fn new(clock: BenchClock, to: Sender<CameraNews>) -> Self {
        Self {
            clock,
            to,
            last_s: f64::NEG_INFINITY,
            is_lost: false,
            pause: FIRST_PAUSE,
            doubted: BTreeSet::new(),
        }
    }

    /// Bench clock [s].
    pub fn now_s(&self) -> f64 {
        self.clock.now_s()
    }

    /// A picture captured at `time_s`; what does not come after the one before is put just after it.
    pub async fn picture(&mut self, time_s: f64, jpeg: Vec<u8>) -> Result<(), NobodyListens> {
        if self.is_lost {
            self.is_lost = false;
            self.doubted.clear();
            let time_s = self.now_s();
            self.tell(CameraNews::Found { time_s }).await?;
        }
        self.pause = FIRST_PAUSE;
        let jpeg = Arc::from(with_tables(jpeg));
        let time_s = time_s.max(self.last_s + STEP_S);
        self.last_s = time_s;
        let before_s = self.now_s();
        self.tell(CameraNews::Picture { time_s, jpeg }).await?;
        let waited_s = (self.now_s() - before_s) / self.clock.speed();
        if waited_s > BEHIND_S {
            self.doubt(
                "behind",
                format!("the program was busy and took no pictures for {waited_s:.2} s; those that arrived meanwhile may bear times as much too late"),
            )
            .await?;
        }
        Ok(())
    }

    /// The camera is lost, for this reason; told once until it is found again.
    pub async fn lost(&mut self, why: String) -> Result<(), NobodyListens> {
        if self.is_lost {
            return Ok(());
        }
        self.is_lost = true;
        let time_s = self.now_s();
        self.tell(CameraNews::Lost { time_s, why }).await
    }

    /// A doubt of the kind `kind`; told once for each connection.
    pub async fn doubt(&mut self, kind: &'static str, what: String) -> Result<(), NobodyListens> {
        if !self.doubted.insert(kind) {
            return Ok(());
        }
        let time_s = self.now_s();
        self.tell(CameraNews::Doubt { time_s, what }).await
    }

    /// Wait before the next try, each time longer; stops when nobody listens.
    pub async fn pause(&mut self) -> Result<(), NobodyListens> {
        let pause = self.pause;
        self.pause = (pause * 2).min(LONGEST_PAUSE);
        tokio::select! {
            () = tokio::time::sleep(pause) => Ok(()),
            () = self.to.closed() => Err(NobodyListens),
        }
    }

    /// Resolves when nobody listens any more.
    pub async fn closed(&self) {
        self.to.closed().await;
    }

    async fn tell(&self, news: CameraNews) -> Result<(), NobodyListens> {
        self.to.send(news).await.map_err(|_| NobodyListens)
    }
}
