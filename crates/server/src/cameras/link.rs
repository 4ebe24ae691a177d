//! The camera's place at one open bench: which page shows, and what is taken of it.

use super::message::Shown;
use super::page_clock::{ClockNote, Exchange};
use super::page_session::PageSession;
use super::socket::Via;
use crate::limits::CAMERA_SESSIONS;
use meltrange_bench::{BenchClock, CameraNews, InletError, PictureInlet};
use serde::Serialize;
use std::sync::Arc;
use std::time::Instant;
use tokio::sync::{Mutex, watch};

/// Least step between the times of two pictures [s].
const STEP_S: f64 = 1e-6;

/// A picture whose time has to be moved by more than this to come after the one before is told of [s].
const MOVED_S: f64 = 0.05;

/// Clocks that are known no better than this are told of [s].
const VAGUE_S: f64 = 0.25;

/// Where the pictures of one bench go.
#[derive(Debug)]
pub(crate) struct Link {
    inlet: PictureInlet,
    clock: BenchClock,
    held: Mutex<Held>,
    /// Rises whenever another connection takes the place; see [`Turn`].
    turns: watch::Sender<Turn>,
}

/// Whose turn it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Turn {
    /// The connection of this number.
    Of(u64),
    /// Nobody's: the bench is closed.
    Closed,
}

#[derive(Debug, Default)]
struct Held {
    sessions: Vec<PageSession>,
    /// The session that shows or showed last.
    holder: Option<String>,
    /// The number of its connection, and how it came.
    number: u64,
    via: Option<Via>,
    last_s: Option<f64>,
    is_lost: bool,
    is_vague: bool,
}

/// A page that wants the camera's place.
#[derive(Debug)]
pub(super) struct Newcomer {
    pub session: String,
    pub via: Via,
    /// What the browser calls the camera.
    pub camera: String,
    /// Columns and rows [px].
    pub size: [u32; 2],
    /// Also from a page that is connected.
    pub takes_over: bool,
}

/// What the camera of a bench is doing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CameraSeen {
    /// What the browser calls it.
    pub camera: String,
    /// Columns and rows [px].
    pub size: [u32; 2],
    /// Whether its page is connected.
    pub connected: bool,
    /// Pictures taken of this page.
    pub pictures: u64,
    /// Its clock against the bench's, over time.
    pub clock: Vec<ClockNote>,
}

/// Why a connection cannot have the camera's place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum NoTurn {
    /// Another page shows; what its camera is called.
    Held(String),
    /// The bench is closed.
    Closed,
}

/// Why a connection has to end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Over {
    /// Another connection has its place.
    TakenOver,
    /// The bench is closed.
    Closed,
}

impl Link {
    pub fn new(inlet: PictureInlet, clock: BenchClock) -> Self {
        Self {
            inlet,
            clock,
            held: Mutex::default(),
            turns: watch::Sender::new(Turn::Of(0)),
        }
    }

    /// Bench clock [s].
    pub fn now_s(&self) -> f64 {
        self.clock.now_s()
    }

    /// Let no page show any more.
    pub fn close(&self) {
        self.turns.send_replace(Turn::Closed);
    }

    /// End the connection there is when it came by a pass; its page may come back if it is let in.
    pub async fn hang_up_pass(&self) {
        let held = self.held.lock().await;
        if held.via == Some(Via::Pass) {
            self.next_turn();
        }
    }

    /// Let another connection have its turn; its number.
    fn next_turn(&self) -> Option<u64> {
        let mut next = None;
        self.turns.send_if_modified(|turn| match turn {
            Turn::Of(number) => {
                *number += 1;
                next = Some(*number);
                true
            }
            Turn::Closed => false,
        });
        next
    }

    /// What the camera is doing; none before the first page came.
    pub async fn seen(&self) -> Option<CameraSeen> {
        let held = self.held.lock().await;
        let session = held.session(held.holder.as_deref()?)?;
        Some(CameraSeen {
            camera: session.camera.clone(),
            size: session.size,
            connected: session.gone.is_none(),
            pictures: session.pictures,
            clock: session.notes().to_vec(),
        })
    }

    /// Take the camera's place for a page: a session that was away takes up where it was, its own
    /// connection of before counts as ended.
    pub(super) async fn take(self: &Arc<Self>, page: Newcomer) -> Result<Connected, NoTurn> {
        let id = page.session.as_str();
        let mut held = self.held.lock().await;
        if let Some(holder) = held
            .holder
            .as_deref()
            .and_then(|holder| held.session(holder))
            && holder.id != id
            && holder.gone.is_none()
            && !page.takes_over
        {
            return Err(NoTurn::Held(holder.camera.clone()));
        }
        let number = self.next_turn().ok_or(NoTurn::Closed)?;
        if let Some(before) = held.holder.take().filter(|before| before != id)
            && let Some(before) = held.session_mut(&before)
        {
            before.gone.get_or_insert_with(Instant::now);
        }
        held.holder = Some(id.to_owned());
        held.number = number;
        held.via = Some(page.via);
        held.forget();
        if held.session(id).is_none() {
            held.sessions.push(PageSession::new(id.to_owned()));
        }
        if let Some(session) = held.session_mut(id) {
            session.gone = None;
            session.camera = page.camera;
            session.size = page.size;
        }
        Ok(Connected {
            link: self.clone(),
            id: id.to_owned(),
            number,
            turns: self.turns.subscribe(),
        })
    }

    async fn doubt(&self, what: String) -> Result<(), Over> {
        let time_s = self.now_s();
        self.tell(CameraNews::Doubt { time_s, what }).await
    }

    async fn tell(&self, news: CameraNews) -> Result<(), Over> {
        self.inlet.tell(news).await.map_err(|_| Over::Closed)
    }
}

impl Held {
    fn session(&self, id: &str) -> Option<&PageSession> {
        self.sessions.iter().find(|one| one.id == id)
    }

    fn session_mut(&mut self, id: &str) -> Option<&mut PageSession> {
        self.sessions.iter_mut().find(|one| one.id == id)
    }

    /// Forget pages that have been away for long, and the longest away of too many.
    fn forget(&mut self) {
        let holder = self.holder.clone();
        let is_kept = |one: &PageSession| {
            holder.as_ref() == Some(&one.id)
                || one
                    .gone
                    .is_none_or(|gone| gone.elapsed() < crate::limits::CAMERA_REMEMBERED)
        };
        self.sessions.retain(is_kept);
        while self.sessions.len() > CAMERA_SESSIONS {
            let Some(longest) = (0..self.sessions.len())
                .filter(|&i| self.sessions[i].gone.is_some())
                .min_by_key(|&i| self.sessions[i].gone)
            else {
                return;
            };
            self.sessions.remove(longest);
        }
    }
}

/// A connection that has the camera's place.
#[derive(Debug)]
pub(super) struct Connected {
    link: Arc<Link>,
    id: String,
    number: u64,
    turns: watch::Receiver<Turn>,
}

impl Connected {
    /// Resolves when another connection has the place, or the bench is closed.
    pub async fn over(&mut self) -> Over {
        let number = self.number;
        let turn = self.turns.wait_for(|turn| *turn != Turn::Of(number)).await;
        match turn.map(|turn| *turn) {
            Ok(Turn::Of(_)) => Over::TakenOver,
            Ok(Turn::Closed) | Err(_) => Over::Closed,
        }
    }

    fn is_over(&self) -> Result<(), Over> {
        match *self.turns.borrow() {
            Turn::Of(number) if number == self.number => Ok(()),
            Turn::Of(_) => Err(Over::TakenOver),
            Turn::Closed => Err(Over::Closed),
        }
    }

    /// Bench clock [s].
    pub fn now_s(&self) -> f64 {
        self.link.now_s()
    }

    /// The last picture taken of this session.
    pub async fn last(&self) -> Option<u64> {
        self.link.held.lock().await.session(&self.id)?.last
    }

    /// Take the answer to a ping in; how the clocks stand.
    pub async fn pong(&self, exchange: Exchange, wall_s: f64) -> Result<Option<ClockNote>, Over> {
        let mut held = self.link.held.lock().await;
        self.is_over()?;
        let Some(session) = held.session_mut(&self.id) else {
            return Ok(None);
        };
        let told = session.pong(exchange, wall_s);
        for doubt in told.doubts {
            self.link.doubt(doubt).await?;
        }
        Ok(told.note)
    }

    /// Say so, once, when the clocks are known too badly to be silent about it.
    pub async fn judge_clock(&self, note: Option<ClockNote>) -> Result<(), Over> {
        let mut held = self.link.held.lock().await;
        let at_most_s = note.map_or(f64::INFINITY, |note| note.at_most_s);
        if at_most_s > VAGUE_S && !std::mem::replace(&mut held.is_vague, true) {
            let what = format!(
                "the network is slow: times of pictures are known to {at_most_s:.2} s only"
            );
            self.link.doubt(what).await?;
        }
        Ok(())
    }

    /// Take a picture, or leave it out when it was taken before; the last one taken.
    pub async fn picture(&self, shown: Shown<'_>) -> Result<u64, Over> {
        let mut held = self.link.held.lock().await;
        // Checked under the lock: of a session's old and new connection only one may take.
        self.is_over()?;
        let last_s = held.last_s;
        let Some(session) = held.session_mut(&self.id) else {
            return Err(Over::TakenOver);
        };
        if let Some(last) = session.last
            && shown.sequence <= last
        {
            return Ok(last);
        }
        let missing = session.last.map_or(0, |last| shown.sequence - last - 1);
        session.last = Some(shown.sequence);
        let now_s = self.link.now_s();
        // Clocks are compared before pictures are let in.
        let captured_s = session.bench_s(shown.page_s).unwrap_or(now_s).min(now_s);
        let is_early = captured_s < 0.0;
        if !is_early {
            session.pictures += 1;
        }
        if missing > 0 {
            let what = format!(
                "the camera page was out of reach for so long that its memory was full: {missing} pictures before this one were given up"
            );
            self.link.doubt(what).await?;
        }
        if is_early {
            // Captured before the bench was opened.
            return Ok(shown.sequence);
        }
        if std::mem::take(&mut held.is_lost) {
            let news = CameraNews::Found { time_s: now_s };
            self.link.tell(news).await?;
        }
        let time_s = last_s.map_or(captured_s, |last_s| captured_s.max(last_s + STEP_S));
        if time_s - captured_s > MOVED_S {
            let what = format!(
                "a picture captured at {captured_s:.2} s came after one of {time_s:.2} s and bears a time just after it"
            );
            self.link.doubt(what).await?;
        }
        match self.link.inlet.picture(time_s, Arc::from(shown.jpeg)).await {
            Ok(()) => held.last_s = Some(time_s),
            Err(InletError::Closed) => return Err(Over::Closed),
            // Somebody else brings pictures here too; theirs count.
            Err(error) => {
                let what = format!("a picture of the camera page was left out: {error}");
                self.link.doubt(what).await?;
            }
        }
        Ok(shown.sequence)
    }

    /// The connection ended; the camera counts as lost unless another has its place.
    pub async fn gone(self, why: String) {
        let mut held = self.link.held.lock().await;
        if held.number != self.number || self.is_over() == Err(Over::Closed) {
            return;
        }
        if let Some(session) = held.session_mut(&self.id) {
            session.gone = Some(Instant::now());
        }
        if !std::mem::replace(&mut held.is_lost, true) {
            let time_s = self.link.now_s();
            // A bench that is being closed has nobody to tell.
            let _ = self.link.tell(CameraNews::Lost { time_s, why }).await;
        }
    }
}
