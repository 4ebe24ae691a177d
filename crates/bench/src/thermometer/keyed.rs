//! Temperatures that a person keys in or a program sends.

use crate::clock::BenchClock;
use crate::device::{Sample, Thermometer, ThermometerNews};
use crate::telling::plausible;
use async_trait::async_trait;
use std::sync::{Arc, Mutex, PoisonError};
use tokio::sync::mpsc::Sender;
use tokio::sync::mpsc::error::TrySendError;

/// How far a time that was sent along may be ahead of the bench's clock [s].
const AHEAD_S: f64 = 1.0;

/// Why a temperature was not taken.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum KeyedError {
    /// It can be no temperature of a block.
    #[error("the temperature is {found}")]
    Temperature {
        /// What was found and what was expected.
        found: String,
    },
    /// Its time does not come after the last one's, or has not come yet.
    #[error(
        "the time is {found_s:.3} s; expected one after {after_s:.3} s and at most {now_s:.3} s, the bench's clock now"
    )]
    Time {
        /// As given, bench clock [s].
        found_s: f64,
        /// Of the last temperature, bench clock [s].
        after_s: f64,
        /// Bench clock [s].
        now_s: f64,
    },
    /// No run is going on at the bench.
    #[error("nothing listens to this thermometer now; start the run first")]
    NobodyListens,
    /// More were sent than could be taken.
    #[error("temperatures come faster than they are taken; send at most ten a second")]
    TooFast,
}

struct Listener {
    clock: BenchClock,
    to: Sender<ThermometerNews>,
    last_s: f64,
}

type Shared = Arc<Mutex<Option<Listener>>>;

/// A thermometer without a wire: what is put into its [`KeyedInlet`] is what it tells.
#[derive(Default)]
pub struct KeyedThermometer {
    listener: Shared,
}

/// Where temperatures are keyed in or sent to.
#[derive(Clone, Default)]
pub struct KeyedInlet {
    listener: Shared,
}

/// A thermometer and where its temperatures are put in.
pub fn keyed() -> (KeyedThermometer, KeyedInlet) {
    let listener = Shared::default();
    (
        KeyedThermometer {
            listener: Arc::clone(&listener),
        },
        KeyedInlet { listener },
    )
}

impl KeyedInlet {
    /// Put in a temperature.
    ///
    /// # Arguments
    /// * `temperature_c`: as indicated [°C], -90 to 600.
    /// * `at`: when it was indicated, bench clock [s]; none: now.
    ///
    /// # Errors
    /// [`KeyedError`] says what was found and what was expected; nothing was taken then.
    pub fn put(&self, temperature_c: f64, at: Option<f64>) -> Result<Sample, KeyedError> {
        let temperature_c =
            plausible(temperature_c).map_err(|found| KeyedError::Temperature { found })?;
        // Nothing can panic while this is locked half-way through a change.
        let mut slot = self.listener.lock().unwrap_or_else(PoisonError::into_inner);
        let listener = slot.as_mut().ok_or(KeyedError::NobodyListens)?;
        let now_s = listener.clock.now_s();
        let time_s = at.unwrap_or(now_s);
        if !(time_s > listener.last_s && time_s <= now_s + AHEAD_S) {
            return Err(KeyedError::Time {
                found_s: time_s,
                after_s: listener.last_s,
                now_s,
            });
        }
        let sample = Sample {
            time_s,
            temperature_c,
        };
        match listener.to.try_send(ThermometerNews::Sample(sample)) {
            Ok(()) => {
                listener.last_s = time_s;
                Ok(sample)
            }
            Err(TrySendError::Full(_)) => Err(KeyedError::TooFast),
            Err(TrySendError::Closed(_)) => {
                *slot = None;
                Err(KeyedError::NobodyListens)
            }
        }
    }
}

#[async_trait]
impl Thermometer for KeyedThermometer {
    async fn tell(self: Box<Self>, clock: BenchClock, to: Sender<ThermometerNews>) {
        let set = |listener| {
            *self.listener.lock().unwrap_or_else(PoisonError::into_inner) = listener;
        };
        set(Some(Listener {
            clock,
            to: to.clone(),
            // A temperature from before the bench was opened tells nothing about it.
            last_s: -f64::MIN_POSITIVE,
        }));
        to.closed().await;
        set(None);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tokio::sync::mpsc;

    #[tokio::test]
    async fn what_is_put_in_is_told() {
        let (thermometer, inlet) = keyed();
        assert_eq!(inlet.put(21.0, None), Err(KeyedError::NobodyListens));
        let (to, mut news) = mpsc::channel(4);
        let clock = BenchClock::start();
        let telling = tokio::spawn(Box::new(thermometer).tell(clock, to));
        while inlet.put(21.0, Some(0.0)) == Err(KeyedError::NobodyListens) {
            tokio::task::yield_now().await;
        }
        let now = inlet.put(22.5, None).expect("taken");
        let Some(ThermometerNews::Sample(first)) = news.recv().await else {
            panic!("a temperature was put in");
        };
        assert_eq!((first.time_s, first.temperature_c), (0.0, 21.0));
        assert_eq!(news.recv().await, Some(ThermometerNews::Sample(now)));
        assert!(now.time_s > 0.0);

        for (temperature_c, at, part) in [
            (f64::NAN, None, "expected -90 to 600"),
            (601.0, None, "601 °C"),
            (23.0, Some(0.0), "expected one after"),
            (23.0, Some(1e6), "at most"),
            (23.0, Some(f64::NAN), "NaN"),
        ] {
            let error = inlet.put(temperature_c, at).expect_err(part).to_string();
            assert!(error.contains(part), "{part} not in: {error}");
        }
        let taken = (0..9).filter(|_| inlet.put(24.0, None).is_ok()).count();
        assert_eq!(taken, 4, "as many as the channel holds");
        assert_eq!(inlet.put(24.0, None), Err(KeyedError::TooFast));

        drop(news);
        telling.await.expect("ends when nobody listens");
        assert_eq!(inlet.put(24.0, None), Err(KeyedError::NobodyListens));
    }
}
