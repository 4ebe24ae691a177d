//! Setpoint controllers that take lines of text on a serial port.

use super::COMMAND;
use super::template::Template;
use crate::bench_file::SerialHeaterSpec;
use crate::device::{Accepted, Heater, HeaterCommand, HeaterTraits};
use crate::error::DeviceError;
use crate::lines::{LineLink, Reply};
use crate::pattern::{TemperaturePattern, quoted};
use async_trait::async_trait;
use regex::Regex;
use std::time::Duration;
use tokio::time::timeout;

/// A setpoint controller that takes lines.
pub(crate) struct SerialHeater {
    name: String,
    link: LineLink,
    setpoint: Vec<Template>,
    off: Vec<Template>,
    fan_on: Vec<Template>,
    fan_off: Vec<Template>,
    reply: Option<Regex>,
    readback: Option<(String, TemperaturePattern)>,
    readback_within_c: f64,
    wait: Duration,
    dead_man_s: Option<f64>,
}

impl SerialHeater {
    /// # Errors
    /// What is wrong with a text or an expression; a checked bench file has none such.
    pub fn new(spec: &SerialHeaterSpec, link: LineLink) -> Result<Self, String> {
        let templates = |texts: &[String]| -> Result<Vec<Template>, String> {
            texts.iter().map(|text| Template::new(text)).collect()
        };
        let readback = match &spec.readback {
            None => None,
            Some(text) => Some((
                text.clone(),
                TemperaturePattern::new(spec.readback_pattern.as_deref())?,
            )),
        };
        Ok(Self {
            name: format!("heater at {}", link.port()),
            link,
            setpoint: templates(&spec.setpoint)?,
            off: templates(&spec.off)?,
            fan_on: templates(&spec.fan_on)?,
            fan_off: templates(&spec.fan_off)?,
            reply: spec
                .reply
                .as_deref()
                .map(Regex::new)
                .transpose()
                .map_err(|error| error.to_string())?,
            readback,
            readback_within_c: spec.readback_within_c,
            wait: Duration::from_secs_f64(spec.timeout_s),
            dead_man_s: spec.dead_man_s,
        })
    }

    /// Send texts, each answered as expected before the next; the last answer.
    async fn send(
        &self,
        templates: &[Template],
        setpoint_c: f64,
        rate_c_per_min: f64,
    ) -> Result<Option<String>, DeviceError> {
        let mut last = None;
        for template in templates {
            let text = template.fill(setpoint_c, rate_c_per_min);
            let Some(expected) = &self.reply else {
                self.link.send(&self.name, &text).await?;
                continue;
            };
            let reply = self
                .link
                .ask(&self.name, &text, self.wait, |line| expected.is_match(line))
                .await?;
            match reply {
                Reply::Line(line) => last = Some(line),
                Reply::Other(line) => {
                    return Err(DeviceError::Answer {
                        device: self.name.clone(),
                        found: format!("{} to {}", quoted(&line), quoted(&text)),
                        expected: format!("a line that matches {expected}"),
                    });
                }
            }
        }
        Ok(last)
    }

    /// The setpoint in force [°C] with the line that says so; none if it cannot be asked for.
    ///
    /// # Errors
    /// [`DeviceError`] when it cannot be reached, or answers otherwise than expected.
    pub async fn in_force(&self) -> Result<Option<(String, f64)>, DeviceError> {
        let Some((text, pattern)) = &self.readback else {
            return Ok(None);
        };
        let reply = self
            .link
            .ask(&self.name, text, self.wait, |line| {
                pattern.read(line).is_ok()
            })
            .await?;
        let (Reply::Line(line) | Reply::Other(line)) = reply;
        match pattern.read(&line) {
            Ok(setpoint_c) => Ok(Some((line, setpoint_c))),
            Err(found) => Err(DeviceError::Answer {
                device: self.name.clone(),
                found,
                expected: format!("its setpoint, asked for with {}", quoted(text)),
            }),
        }
    }

    /// Everything that ends heating is tried, whatever fails; the first failure is told. The last
    /// answer, where answers are waited for.
    ///
    /// # Errors
    /// [`DeviceError`] when it cannot be reached, or answers otherwise than expected.
    pub async fn off(&self, fan: &[Template]) -> Result<Option<String>, DeviceError> {
        let mut results = Vec::new();
        for template in &self.off {
            let one = std::slice::from_ref(template);
            results.push(self.send(one, 0.0, 0.0).await);
        }
        let blown = self.send(fan, 0.0, 0.0).await;
        let answers = results.into_iter().collect::<Result<Vec<_>, _>>()?;
        blown?;
        Ok(answers.into_iter().flatten().next_back())
    }

    async fn heat(&self, setpoint_c: f64, rate_c_per_min: f64) -> Result<Accepted, DeviceError> {
        self.send(&self.fan_off, setpoint_c, rate_c_per_min).await?;
        self.send(&self.setpoint, setpoint_c, rate_c_per_min)
            .await?;
        let Some((line, in_force_c)) = self.in_force().await? else {
            return Ok(Accepted {
                setpoint_c: Some(setpoint_c),
            });
        };
        if (in_force_c - setpoint_c).abs() <= self.readback_within_c + 1e-9 {
            return Ok(Accepted {
                setpoint_c: Some(in_force_c),
            });
        }
        Err(DeviceError::Answer {
            device: self.name.clone(),
            found: format!("{}, a setpoint of {in_force_c} °C", quoted(&line)),
            expected: format!(
                "{setpoint_c:.2} °C within {} °C as sent; look at its limits and at readback_within_c",
                self.readback_within_c
            ),
        })
    }
}

#[async_trait]
impl Heater for SerialHeater {
    fn traits(&self) -> HeaterTraits {
        HeaterTraits {
            by_hand: false,
            dead_man_s: self.dead_man_s,
        }
    }

    async fn command(&mut self, command: HeaterCommand) -> Result<Accepted, DeviceError> {
        let done = async {
            match command {
                HeaterCommand::Off { fan } => {
                    let fan = if fan { &self.fan_on } else { &self.fan_off };
                    self.off(fan).await?;
                    Ok(Accepted { setpoint_c: None })
                }
                HeaterCommand::Setpoint {
                    setpoint_c,
                    rate_c_per_min,
                } => self.heat(setpoint_c, rate_c_per_min).await,
            }
        };
        timeout(COMMAND, done).await.unwrap_or_else(|_| {
            Err(DeviceError::Silent {
                device: self.name.clone(),
                waited_s: COMMAND.as_secs_f64(),
            })
        })
    }
}
