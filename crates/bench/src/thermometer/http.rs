//! Thermometers that are asked over HTTP.
//!
//! A temperature's time is half-way between asking and answer.

use crate::bench_file::HttpThermometerSpec;
use crate::clock::BenchClock;
use crate::device::{Thermometer, ThermometerNews};
use crate::payload;
use crate::telling::{Backoff, NobodyListens, Telling, while_listened};
use async_trait::async_trait;
use std::convert::Infallible;
use std::time::Duration;
use tokio::sync::mpsc::Sender;
use tokio::time::{MissedTickBehavior, interval};

/// How long an answer is waited for.
const ANSWER: Duration = Duration::from_secs(2);

/// Longest answer that is read [bytes].
const LONGEST: u64 = 64 * 1024;

/// A thermometer with a web address.
pub(crate) struct HttpThermometer {
    spec: HttpThermometerSpec,
    agent: ureq::Agent,
}

impl HttpThermometer {
    pub fn new(spec: &HttpThermometerSpec) -> Self {
        let agent = ureq::Agent::config_builder()
            .timeout_global(Some(ANSWER))
            // Each asking on its own connection: one that the device closed meanwhile is no fault.
            .max_idle_connections(0)
            .proxy(None)
            .build()
            .new_agent();
        Self {
            spec: spec.clone(),
            agent,
        }
    }

    async fn fetch(&self) -> Result<Vec<u8>, ureq::Error> {
        let (agent, url) = (self.agent.clone(), self.spec.url.clone());
        let fetched = tokio::task::spawn_blocking(move || {
            let mut response = agent.get(&url).call()?;
            let body = response.body_mut().with_config().limit(LONGEST);
            body.read_to_vec()
        });
        // A task that cannot be joined was ended from outside, with the program.
        fetched
            .await
            .unwrap_or_else(|error| Err(ureq::Error::Io(std::io::Error::other(error))))
    }

    async fn run(&self, telling: &mut Telling) -> Result<Infallible, NobodyListens> {
        let mut backoff = Backoff::new();
        let mut ticks = interval(Duration::from_secs_f64(self.spec.interval_s));
        ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
        loop {
            ticks.tick().await;
            let asked_s = telling.now_s();
            let fetched = self.fetch().await;
            let time_s = f64::midpoint(asked_s, telling.now_s());
            let found = match fetched {
                Ok(body) => payload::temperature(&body, self.spec.json_pointer.as_deref()),
                Err(ureq::Error::StatusCode(status)) => {
                    Err(format!("status {status}; expected 200 with a temperature"))
                }
                Err(error) => {
                    telling.lost(format!("{}: {error}", self.spec.url)).await?;
                    backoff.wait().await;
                    continue;
                }
            };
            backoff.reached();
            telling.answer(time_s, found).await?;
        }
    }
}

#[async_trait]
impl Thermometer for HttpThermometer {
    async fn tell(self: Box<Self>, clock: BenchClock, to: Sender<ThermometerNews>) {
        let mut telling = Telling::new(clock, to.clone());
        while_listened(&to, self.run(&mut telling)).await;
    }
}
