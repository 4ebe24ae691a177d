//! Thermometers that send lines on a serial port, by themselves or when asked.
//!
//! Lines have no time of their own: a temperature's time is when its line had arrived.

use crate::bench_file::{SerialPort, SerialThermometerSpec};
use crate::clock::BenchClock;
use crate::device::{Thermometer, ThermometerNews};
use crate::error::DeviceError;
use crate::lines::{LineLink, Lines, Reply, read_some};
use crate::pattern::TemperaturePattern;
use crate::serial_port::{gone, open};
use crate::telling::{Backoff, NobodyListens, Telling, while_listened};
use async_trait::async_trait;
use std::convert::Infallible;
use std::time::Duration;
use tokio::sync::mpsc::Sender;
use tokio::time::{Instant, MissedTickBehavior, interval, timeout_at};

/// How long an answer is waited for.
const ANSWER: Duration = Duration::from_millis(500);

/// A thermometer on a serial port.
pub(crate) struct SerialThermometer {
    name: String,
    pattern: TemperaturePattern,
    how: How,
}

enum How {
    /// It sends by itself.
    Listen(SerialPort),
    /// It answers.
    Ask {
        link: LineLink,
        poll: String,
        every: Duration,
    },
}

impl SerialThermometer {
    /// # Errors
    /// What is wrong with the pattern; a checked bench file has none such.
    pub fn new(spec: &SerialThermometerSpec, link: LineLink) -> Result<Self, String> {
        Ok(Self {
            name: format!("thermometer at {}", link.port()),
            pattern: TemperaturePattern::new(spec.pattern.as_deref())?,
            how: match &spec.poll {
                None => How::Listen(spec.connection.clone()),
                Some(poll) => How::Ask {
                    link,
                    poll: poll.clone(),
                    every: Duration::from_secs_f64(spec.interval_s),
                },
            },
        })
    }

    /// What the line says [°C], or what is wrong with it.
    pub fn read(&self, line: &str) -> Result<f64, String> {
        self.pattern.read(line)
    }

    /// Its next whole line, for looking at.
    ///
    /// # Errors
    /// [`DeviceError`] when the port cannot be opened, or nothing comes within `wait`.
    pub async fn next_line(&self, wait: Duration) -> Result<String, DeviceError> {
        match &self.how {
            How::Ask { link, poll, .. } => {
                let reply = link
                    .ask(&self.name, poll, wait, |line| self.read(line).is_ok())
                    .await?;
                let (Reply::Line(line) | Reply::Other(line)) = reply;
                Ok(line)
            }
            How::Listen(serial) => {
                let mut stream = open(serial, &self.name)?;
                let deadline = Instant::now() + wait;
                let mut lines = Lines::default();
                let mut is_whole = false;
                loop {
                    while let Some(line) = lines.pop() {
                        if is_whole {
                            return Ok(line);
                        }
                        is_whole = true;
                    }
                    timeout_at(deadline, read_some(&mut stream, &mut lines))
                        .await
                        .map_err(|_| DeviceError::Silent {
                            device: self.name.clone(),
                            waited_s: wait.as_secs_f64(),
                        })?
                        .map_err(|error| gone(&self.name, &error))?;
                }
            }
        }
    }

    async fn run(&self, telling: &mut Telling) -> Result<Infallible, NobodyListens> {
        match &self.how {
            How::Listen(serial) => self.listen(serial, telling).await,
            How::Ask { link, poll, every } => self.ask(link, poll, *every, telling).await,
        }
    }

    async fn listen(
        &self,
        serial: &SerialPort,
        telling: &mut Telling,
    ) -> Result<Infallible, NobodyListens> {
        let mut backoff = Backoff::new();
        loop {
            match open(serial, &self.name) {
                Err(error) => telling.lost(error.to_string()).await?,
                Ok(mut stream) => {
                    // The port may have been opened in the middle of a line: 1.6 of 121.6.
                    let mut is_whole = false;
                    let mut lines = Lines::default();
                    let error = loop {
                        if let Err(error) = read_some(&mut stream, &mut lines).await {
                            break error;
                        }
                        let time_s = telling.now_s();
                        while let Some(line) = lines.pop() {
                            if is_whole {
                                backoff.reached();
                                telling.answer(time_s, self.read(&line)).await?;
                            }
                            is_whole = true;
                        }
                    };
                    telling.lost(gone(&self.name, &error).to_string()).await?;
                }
            }
            backoff.wait().await;
        }
    }

    async fn ask(
        &self,
        link: &LineLink,
        poll: &str,
        every: Duration,
        telling: &mut Telling,
    ) -> Result<Infallible, NobodyListens> {
        let mut backoff = Backoff::new();
        let mut ticks = interval(every);
        ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
        loop {
            ticks.tick().await;
            let reply = link
                .ask(&self.name, poll, ANSWER, |line| self.read(line).is_ok())
                .await;
            match reply {
                Ok(Reply::Line(line) | Reply::Other(line)) => {
                    backoff.reached();
                    telling.answer(telling.now_s(), self.read(&line)).await?;
                }
                Err(error) => {
                    telling.lost(error.to_string()).await?;
                    backoff.wait().await;
                }
            }
        }
    }
}

#[async_trait]
impl Thermometer for SerialThermometer {
    async fn tell(self: Box<Self>, clock: BenchClock, to: Sender<ThermometerNews>) {
        let mut telling = Telling::new(clock, to.clone());
        while_listened(&to, self.run(&mut telling)).await;
    }
}
