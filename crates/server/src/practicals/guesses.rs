//! Wrong codes: after some of them, whoever comes from that address waits. A class may come from one address, so the wait is
//! short; a code of 30 bits is still not found in an afternoon.

use crate::state::locked;
use std::collections::HashMap;
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// Wrong codes from one address before waiting begins, and after how long they are forgotten.
const FREE: u32 = 8;
const FORGOTTEN_AFTER: Duration = Duration::from_secs(300);

/// The first wait, doubled with each further wrong code up to the longest.
const FIRST_WAIT: Duration = Duration::from_secs(5);
const LONGEST_WAIT: Duration = Duration::from_secs(60);

/// Addresses that are remembered; beyond these the oldest are forgotten.
const ADDRESSES: usize = 10_000;

#[derive(Debug, Clone, Copy)]
struct Wrong {
    times: u32,
    last: Instant,
    until: Instant,
}

/// Wrong codes by address.
#[derive(Debug, Default)]
pub(crate) struct Guesses(Mutex<HashMap<String, Wrong>>);

impl Guesses {
    /// How long this address has to wait; none if not at all.
    pub fn wait(&self, from: &str, now: Instant) -> Option<Duration> {
        let wrong = *locked(&self.0).get(from)?;
        let left = wrong.until.saturating_duration_since(now);
        (!left.is_zero()).then_some(left)
    }

    /// One more wrong code from this address.
    pub fn wrong(&self, from: &str, now: Instant) {
        let mut all = locked(&self.0);
        if all.len() >= ADDRESSES {
            all.retain(|_, wrong| now.duration_since(wrong.last) < FORGOTTEN_AFTER);
        }
        if all.len() >= ADDRESSES {
            all.clear();
        }
        let wrong = all.entry(from.to_owned()).or_insert(Wrong {
            times: 0,
            last: now,
            until: now,
        });
        if now.duration_since(wrong.last) >= FORGOTTEN_AFTER {
            wrong.times = 0;
        }
        wrong.times = wrong.times.saturating_add(1);
        wrong.last = now;
        if let Some(over) = wrong.times.checked_sub(FREE) {
            let wait = FIRST_WAIT
                .saturating_mul(1 << over.min(6))
                .min(LONGEST_WAIT);
            wrong.until = now + wait;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waits_grow_and_are_forgotten() {
        let guesses = Guesses::default();
        let begun = Instant::now();
        for _ in 1..FREE {
            guesses.wrong("192.0.2.7", begun);
        }
        assert_eq!(guesses.wait("192.0.2.7", begun), None);
        let mut waits = Vec::new();
        for _ in 0..6 {
            guesses.wrong("192.0.2.7", begun);
            waits.push(guesses.wait("192.0.2.7", begun).expect("waits").as_secs());
        }
        assert_eq!(waits, [5, 10, 20, 40, 60, 60]);
        assert_eq!(guesses.wait("192.0.2.8", begun), None, "others do not wait");
        let later = begun + FORGOTTEN_AFTER;
        assert_eq!(guesses.wait("192.0.2.7", later), None);
        guesses.wrong("192.0.2.7", later);
        assert_eq!(guesses.wait("192.0.2.7", later), None);
    }

    #[test]
    fn a_code_is_not_found_in_an_afternoon() {
        // Four hours of one code a minute, 5 bits a letter.
        let guesses_in_an_afternoon = 4.0 * 60.0 + f64::from(FREE);
        assert!(guesses_in_an_afternoon / 2f64.powi(30) < 1e-6);
    }
}
