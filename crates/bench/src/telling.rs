//! What all thermometers tell in the same way: what can be a temperature, and lost and found.

use crate::clock::BenchClock;
use crate::device::{Sample, ThermometerNews};
use std::future::Future;
use std::time::Duration;
use tokio::sync::mpsc::Sender;

/// What a thermometer at a block can indicate [°C]; anything else is a fault of wire or device, such
/// as the end of the range with which converters report a broken sensor.
pub(crate) const PLAUSIBLE_C: std::ops::RangeInclusive<f64> = -90.0..=600.0;

/// Least distance of two times of one thermometer [s].
const LEAST_STEP_S: f64 = 1e-3;

/// Nobody listens any more: time to end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct NobodyListens;

/// A temperature as far as it is one.
///
/// # Errors
/// What was found and what was expected, in words.
pub(crate) fn plausible(temperature_c: f64) -> Result<f64, String> {
    if PLAUSIBLE_C.contains(&temperature_c) {
        return Ok(temperature_c);
    }
    Err(format!(
        "{temperature_c} °C; expected {} to {} °C",
        PLAUSIBLE_C.start(),
        PLAUSIBLE_C.end()
    ))
}

/// One thermometer telling.
#[derive(Debug)]
pub(crate) struct Telling {
    clock: BenchClock,
    to: Sender<ThermometerNews>,
    is_lost: bool,
    last_s: f64,
}

impl Telling {
    pub fn new(clock: BenchClock, to: Sender<ThermometerNews>) -> Self {
        Self {
            clock,
            to,
            is_lost: false,
            last_s: f64::NEG_INFINITY,
        }
    }

    /// Now, bench clock [s].
    pub fn now_s(&self) -> f64 {
        self.clock.now_s()
    }

    /// Tell what it answered at a time, after telling that it is found again if it was lost.
    pub async fn answer(
        &mut self,
        time_s: f64,
        temperature: Result<f64, String>,
    ) -> Result<(), NobodyListens> {
        if self.is_lost {
            let time_s = self.rising(time_s);
            self.send(ThermometerNews::Found { time_s }).await?;
            self.is_lost = false;
        }
        let time_s = self.rising(time_s);
        let news = match temperature.and_then(plausible) {
            Ok(temperature_c) => ThermometerNews::Sample(Sample {
                time_s,
                temperature_c,
            }),
            Err(why) => ThermometerNews::Unreadable { time_s, why },
        };
        self.send(news).await
    }

    /// Tell that it is lost, unless it is told already.
    pub async fn lost(&mut self, why: String) -> Result<(), NobodyListens> {
        if self.is_lost {
            return Ok(());
        }
        self.is_lost = true;
        let time_s = self.rising(self.clock.now_s());
        self.send(ThermometerNews::Lost { time_s, why }).await
    }

    fn rising(&mut self, time_s: f64) -> f64 {
        self.last_s = time_s.max(self.last_s + LEAST_STEP_S);
        self.last_s
    }

    async fn send(&self, news: ThermometerNews) -> Result<(), NobodyListens> {
        self.to.send(news).await.map_err(|_| NobodyListens)
    }
}

/// Do `work` until nobody listens, even where it waits for a device.
pub(crate) async fn while_listened(
    to: &Sender<ThermometerNews>,
    work: impl Future<Output = Result<std::convert::Infallible, NobodyListens>> + Send,
) {
    tokio::select! {
        () = to.closed() => {}
        Err(NobodyListens) = work => {}
    }
}

/// Waits between attempts to reach a device, 0.2 s doubling to 2 s.
#[derive(Debug)]
pub(crate) struct Backoff {
    next: Duration,
}

impl Backoff {
    const FIRST: Duration = Duration::from_millis(200);
    const LONGEST: Duration = Duration::from_secs(2);

    pub fn new() -> Self {
        Self { next: Self::FIRST }
    }

    /// Wait, longer each time.
    pub async fn wait(&mut self) {
        tokio::time::sleep(self.next).await;
        self.next = (self.next * 2).min(Self::LONGEST);
    }

    /// It was reached: start over the next time.
    pub fn reached(&mut self) {
        self.next = Self::FIRST;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tokio::sync::mpsc;

    #[tokio::test]
    async fn lost_is_told_once_and_times_rise() {
        let (to, mut news) = mpsc::channel(16);
        let mut telling = Telling::new(BenchClock::start(), to);
        telling.answer(5.0, Ok(20.0)).await.expect("heard");
        telling.lost("pulled".into()).await.expect("heard");
        telling.lost("still".into()).await.expect("heard");
        telling.answer(5.0, Ok(21.0)).await.expect("heard");
        for nonsense in [f64::NAN, f64::INFINITY, 600.1, -327.68] {
            telling.answer(6.0, Ok(nonsense)).await.expect("heard");
        }
        drop(telling);
        let mut last_s = 0.0;
        let mut kinds = Vec::new();
        while let Some(news) = news.recv().await {
            let (time_s, kind) = match news {
                ThermometerNews::Sample(sample) => (sample.time_s, "sample"),
                ThermometerNews::Unreadable { time_s, .. } => (time_s, "unreadable"),
                ThermometerNews::Lost { time_s, .. } => (time_s, "lost"),
                ThermometerNews::Found { time_s } => (time_s, "found"),
            };
            assert!(time_s > last_s);
            last_s = time_s;
            kinds.push(kind);
        }
        assert_eq!(kinds[..4], ["sample", "lost", "found", "sample"]);
        assert_eq!(kinds[4..], ["unreadable"; 4]);
    }
}
