//! Thermometers with a Modbus register.
//!
//! A temperature's time is half-way between asking and answer.

use crate::bench_file::{ModbusThermometerSpec, RegisterQuantity, RegisterTable};
use crate::clock::BenchClock;
use crate::device::{Thermometer, ThermometerNews};
use crate::error::DeviceError;
use crate::modbus::{ModbusBus, ModbusDevice, quantity_from_words, word_count};
use crate::telling::{Backoff, NobodyListens, Telling, while_listened};
use async_trait::async_trait;
use std::convert::Infallible;
use std::time::Duration;
use tokio::sync::mpsc::Sender;
use tokio::time::{MissedTickBehavior, interval};

/// A thermometer with a register.
pub(crate) struct ModbusThermometer {
    device: ModbusDevice,
    table: RegisterTable,
    quantity: RegisterQuantity,
    every: Duration,
}

impl ModbusThermometer {
    pub fn new(spec: &ModbusThermometerSpec, bus: &ModbusBus) -> Self {
        Self {
            device: bus.device("thermometer", spec.unit),
            table: spec.table,
            quantity: spec.quantity(),
            every: Duration::from_secs_f64(spec.interval_s),
        }
    }

    /// The words in its register.
    ///
    /// # Errors
    /// [`DeviceError`] when it cannot be reached, or answers otherwise than expected.
    pub async fn words(&self) -> Result<Vec<u16>, DeviceError> {
        let count = word_count(self.quantity.word_type);
        self.device
            .read(self.table, self.quantity.register, count)
            .await
    }

    /// What they say [°C], or what is wrong with them.
    pub fn read(&self, words: &[u16]) -> Result<f64, String> {
        quantity_from_words(words, &self.quantity)
    }

    async fn run(&self, telling: &mut Telling) -> Result<Infallible, NobodyListens> {
        let mut backoff = Backoff::new();
        let mut ticks = interval(self.every);
        ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
        loop {
            ticks.tick().await;
            let asked_s = telling.now_s();
            let words = self.words().await;
            let time_s = f64::midpoint(asked_s, telling.now_s());
            match words {
                Ok(words) => {
                    backoff.reached();
                    telling.answer(time_s, self.read(&words)).await?;
                }
                // An exception is an answer.
                Err(DeviceError::Answer {
                    found, expected, ..
                }) => {
                    backoff.reached();
                    let why = format!("{found}; expected {expected}");
                    telling.answer(time_s, Err(why)).await?;
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
impl Thermometer for ModbusThermometer {
    async fn tell(self: Box<Self>, clock: BenchClock, to: Sender<ThermometerNews>) {
        let mut telling = Telling::new(clock, to.clone());
        while_listened(&to, self.run(&mut telling)).await;
    }
}
