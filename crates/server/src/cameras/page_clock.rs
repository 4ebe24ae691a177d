//! How a page's clock stands to the bench's.
//!
//! The bench asks the page for its time again and again. Between asking and hearing the answer the page
//! read its clock, so the difference of the clocks is known to within half the round trip, whatever the
//! network did (the bound that NTP's clock filter uses: RFC 5905, section 10). The exchange with the
//! tightest bound counts, those long past the less the more the clocks can have parted since.

use serde::Serialize;

/// Two quartz clocks part by no more than this [s/s]; common practice, no source: quartz in computers is
/// within 50 ppm each.
const DRIFT: f64 = 100e-6;

/// Clocks that disagree by more than the bounds allow and by this have been stepped [s].
const STEP_S: f64 = 0.002;

/// Only the best exchange in each such span is kept [s].
const BUCKET_S: f64 = 10.0;

/// Exchanges kept of one piece: two hours and a half.
const KEPT: usize = 900;

/// Pieces kept; a page whose clock is stepped more often has forgotten the first.
const PIECES: usize = 50;

/// One question and its answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Exchange {
    /// Bench clock before the question was sent [s].
    pub asked_s: f64,
    /// Bench clock after the answer was heard [s].
    pub heard_s: f64,
    /// The page's monotonic clock in between [s].
    pub page_s: f64,
}

impl Exchange {
    fn offset_s(&self) -> f64 {
        f64::midpoint(self.asked_s, self.heard_s) - self.page_s
    }

    /// Bound of the offset when it is used `away_s` seconds before or after.
    fn at_most_s(&self, away_s: f64) -> f64 {
        (self.heard_s - self.asked_s) / 2.0 + DRIFT * away_s.abs()
    }
}

/// What the clocks were found to be.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ClockNote {
    /// When, bench clock [s].
    pub time_s: f64,
    /// Bench clock less the page's monotonic clock [s].
    pub offset_s: f64,
    /// It cannot be further off than this [s]: half the round trip, and 100 ppm for its age.
    pub at_most_s: f64,
}

/// Whether an exchange fits those before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Heard {
    /// It does.
    Fits,
    /// The page's clock jumped by this much against the bench's [s].
    Stepped(f64),
    /// It is no answer: not finite, or heard before it was asked.
    Impossible,
}

#[derive(Debug)]
struct Piece {
    /// Page times after this belong to it [s].
    after_page_s: f64,
    exchanges: Vec<Exchange>,
}

impl Piece {
    /// The exchange with the tightest bound at this page time.
    fn best(&self, page_s: f64) -> Option<(&Exchange, f64)> {
        self.exchanges
            .iter()
            .map(|one| (one, one.at_most_s(page_s - one.page_s)))
            .min_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// A page's monotonic clock, as exchanges told it.
#[derive(Debug, Default)]
pub(crate) struct PageClock {
    pieces: Vec<Piece>,
}

impl PageClock {
    /// Take an exchange in.
    pub fn hear(&mut self, exchange: Exchange) -> Heard {
        let Exchange {
            asked_s,
            heard_s,
            page_s,
        } = exchange;
        if ![asked_s, heard_s, page_s].iter().all(|s| s.is_finite()) || heard_s < asked_s {
            return Heard::Impossible;
        }
        let known = self.pieces.last().and_then(|piece| {
            let last_page_s = piece.exchanges.last()?.page_s;
            let (best, at_most_s) = piece.best(page_s)?;
            Some((last_page_s, best.offset_s(), at_most_s))
        });
        let mut heard = Heard::Fits;
        match known {
            None => self.begin(f64::NEG_INFINITY),
            Some((last_page_s, offset_s, at_most_s)) => {
                let jump_s = exchange.offset_s() - offset_s;
                if jump_s.abs() > exchange.at_most_s(0.0) + at_most_s + STEP_S {
                    self.begin(last_page_s);
                    heard = Heard::Stepped(-jump_s);
                }
            }
        }
        if let Some(piece) = self.pieces.last_mut() {
            piece.keep(exchange);
        }
        heard
    }

    fn begin(&mut self, after_page_s: f64) {
        // A clock that was set back makes earlier pieces' page times ambiguous: the newest piece counts.
        self.pieces.push(Piece {
            after_page_s,
            exchanges: Vec::new(),
        });
        if self.pieces.len() > PIECES {
            self.pieces.remove(0);
        }
    }

    /// The bench's time of a page time [s]; none before the first exchange.
    pub fn bench_s(&self, page_s: f64) -> Option<f64> {
        let piece = self
            .pieces
            .iter()
            .rev()
            .find(|piece| page_s > piece.after_page_s)
            .or(self.pieces.first())?;
        let (best, _) = piece.best(page_s)?;
        Some(page_s + best.offset_s())
    }

    /// What the clocks are at this page time.
    pub fn note(&self, page_s: f64) -> Option<ClockNote> {
        let (best, at_most_s) = self.pieces.last()?.best(page_s)?;
        Some(ClockNote {
            time_s: page_s + best.offset_s(),
            offset_s: best.offset_s(),
            at_most_s,
        })
    }
}

impl Piece {
    fn keep(&mut self, exchange: Exchange) {
        let bucket = |one: &Exchange| (one.asked_s / BUCKET_S).floor();
        match self.exchanges.last_mut() {
            Some(last) if bucket(last) == bucket(&exchange) => {
                if exchange.at_most_s(0.0) < last.at_most_s(0.0) {
                    *last = exchange;
                }
            }
            _ => {
                self.exchanges.push(exchange);
                if self.exchanges.len() > KEPT {
                    self.exchanges.remove(0);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt as _, SeedableRng as _};
    use rand_chacha::ChaCha8Rng;

    /// An exchange at `asked_s` when the page's clock shows bench time times `rate` less `behind_s`.
    fn exchange(asked_s: f64, there_s: f64, back_s: f64, behind_s: f64, rate: f64) -> Exchange {
        Exchange {
            asked_s,
            heard_s: asked_s + there_s + back_s,
            page_s: (asked_s + there_s) * rate - behind_s,
        }
    }

    #[test]
    fn jitter_drift_and_a_lopsided_network_stay_within_the_bound() {
        let mut random = ChaCha8Rng::seed_from_u64(7);
        let rate = 1.0 + 40e-6;
        let mut clock = PageClock::default();
        for i in 0..1800 {
            let asked_s = 1.0 + f64::from(i) * 2.0;
            // Mostly a few milliseconds, at times half a second, each way on its own.
            let mut way = || {
                let slow: f64 = random.random();
                0.001 + 0.004 * random.random::<f64>() + if slow > 0.7 { 0.5 * slow } else { 0.0 }
            };
            let one = exchange(asked_s, way(), way(), 1234.5, rate);
            assert_eq!(clock.hear(one), Heard::Fits, "{i}");
            let page_s = one.page_s;
            let truth_s = (page_s + 1234.5) / rate;
            let note = clock.note(page_s).expect("heard");
            let wrong_s = clock.bench_s(page_s).expect("heard") - truth_s;
            assert!(wrong_s.abs() <= note.at_most_s, "{i}: {wrong_s} {note:?}");
            if i > 5 {
                assert!(wrong_s.abs() < 0.006, "{i}: {wrong_s}");
            }
        }
    }

    #[test]
    fn a_clock_that_stood_still_is_noticed_and_earlier_times_keep_theirs() {
        let mut clock = PageClock::default();
        for i in 0..10 {
            clock.hear(exchange(f64::from(i) * 2.0, 0.002, 0.003, 100.0, 1.0));
        }
        // The machine slept for 40 s, and its clock with it.
        let heard = clock.hear(exchange(70.0, 0.002, 0.003, 140.0, 1.0));
        let Heard::Stepped(by_s) = heard else {
            panic!("{heard:?}")
        };
        assert!((by_s + 40.0).abs() < 0.01, "{by_s}");
        let at = |clock: &PageClock, page_s: f64| clock.bench_s(page_s).expect("heard");
        assert!((at(&clock, -95.0) - 5.0).abs() < 0.003);
        assert!(
            (at(&clock, -69.0) - 71.0).abs() < 0.003,
            "{}",
            at(&clock, -69.0)
        );
        // And a slow answer alone is none.
        assert_eq!(
            clock.hear(exchange(72.0, 3.0, 0.0, 140.0, 1.0)),
            Heard::Fits
        );
        assert!((at(&clock, -69.0) - 71.0).abs() < 0.003);
    }

    #[test]
    fn what_cannot_be_is_not_believed() {
        let mut clock = PageClock::default();
        assert_eq!(clock.bench_s(1.0), None);
        for bad in [f64::NAN, f64::INFINITY] {
            let one = Exchange {
                asked_s: 0.0,
                heard_s: 1.0,
                page_s: bad,
            };
            assert_eq!(clock.hear(one), Heard::Impossible);
        }
        assert_eq!(clock.bench_s(1.0), None);
    }
}
