//! One page that shows: what was taken of it, and its clock.

use super::page_clock::{ClockNote, Exchange, Heard, PageClock};
use std::time::Instant;

/// A wall clock that is set by more than this is told of [s]; smaller changes are its own regulation.
const WALL_STEP_S: f64 = 0.5;

/// Notes on the clocks are this far apart at least [s] ...
const NOTE_SPACING_S: f64 = 60.0;

/// ... unless the bound became this many times tighter.
const NOTE_GAIN: f64 = 0.5;

/// Most notes kept: eight hours of them.
const NOTES: usize = 500;

/// A page, as long as it is open; it may lose its connection and come back.
#[derive(Debug)]
pub(super) struct PageSession {
    pub id: String,
    pub camera: String,
    pub size: [u32; 2],
    /// The last picture taken.
    pub last: Option<u64>,
    pub pictures: u64,
    /// When its connection ended; none while it is connected.
    pub gone: Option<Instant>,
    clock: PageClock,
    notes: Vec<ClockNote>,
    wall_offset_s: Option<f64>,
}

/// What an answer to a ping told.
#[derive(Debug, Default, PartialEq)]
pub(super) struct PongTold {
    /// Doubts, in words.
    pub doubts: Vec<String>,
    /// How the clocks stand now.
    pub note: Option<ClockNote>,
}

impl PageSession {
    pub fn new(id: String) -> Self {
        Self {
            id,
            camera: String::new(),
            size: [0, 0],
            last: None,
            pictures: 0,
            gone: None,
            clock: PageClock::default(),
            notes: Vec::new(),
            wall_offset_s: None,
        }
    }

    /// Take the answer to a ping in.
    pub fn pong(&mut self, exchange: Exchange, wall_s: f64) -> PongTold {
        let mut told = PongTold::default();
        match self.clock.hear(exchange) {
            Heard::Fits => {}
            Heard::Stepped(by_s) => told.doubts.push(format!(
                "the camera page's clock jumped by {by_s:+.2} s, as when its device slept; pictures from just before and after can bear times as much wrong"
            )),
            Heard::Impossible => return told,
        }
        if wall_s.is_finite() {
            let offset_s = wall_s - exchange.page_s;
            let before_s = self.wall_offset_s.replace(offset_s);
            if let Some(by_s) = before_s.map(|before_s| offset_s - before_s)
                && by_s.abs() > WALL_STEP_S
            {
                told.doubts.push(format!(
                    "the clock of the camera's device was set by {by_s:+.1} s; times of pictures do not depend on it and go on unchanged"
                ));
            }
        }
        told.note = self.clock.note(exchange.page_s);
        if let Some(note) = told.note {
            self.keep(note);
        }
        told
    }

    fn keep(&mut self, note: ClockNote) {
        let is_news = self.notes.last().is_none_or(|last| {
            note.time_s - last.time_s > NOTE_SPACING_S
                || note.at_most_s < last.at_most_s * NOTE_GAIN
        });
        if is_news {
            self.notes.push(note);
            if self.notes.len() > NOTES {
                self.notes.remove(0);
            }
        }
    }

    /// The bench's time of a page time [s].
    pub fn bench_s(&self, page_s: f64) -> Option<f64> {
        self.clock.bench_s(page_s)
    }

    /// How the clocks stood over time.
    pub fn notes(&self) -> &[ClockNote] {
        &self.notes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn exchange(bench_s: f64) -> Exchange {
        Exchange {
            asked_s: bench_s,
            heard_s: bench_s + 0.004,
            page_s: bench_s - 10.0 + 0.002,
        }
    }

    #[test]
    fn a_wall_clock_that_is_set_is_told_and_changes_nothing() {
        let mut session = PageSession::new("a".into());
        let wall_s = 1.7e9;
        assert!(session.pong(exchange(1.0), wall_s + 1.0).doubts.is_empty());
        let before_s = session.bench_s(5.0);
        let told = session.pong(exchange(3.0), wall_s + 3.0 + 300.0);
        assert_eq!(told.doubts.len(), 1);
        assert!(told.doubts[0].contains("+300.0 s"), "{:?}", told.doubts);
        assert!(
            session
                .pong(exchange(5.0), wall_s + 305.0)
                .doubts
                .is_empty()
        );
        assert_eq!(session.bench_s(5.0), before_s);
        assert_eq!(session.notes().len(), 1);
    }
}
