//! Setpoint controllers with a map of Modbus registers.
//!
//! Nothing is written unless it is asked for: a program that hangs stops refreshing, and a controller with
//! a dead-man time then falls back to off.

use super::COMMAND;
use crate::bench_file::{ModbusHeaterSpec, RegisterQuantity, RegisterTable, SwitchSpec};
use crate::device::{Accepted, Heater, HeaterCommand, HeaterTraits};
use crate::error::DeviceError;
use crate::modbus::{
    ModbusBus, ModbusDevice, quantity_from_words, word_count, words_from_quantity,
};
use async_trait::async_trait;
use tokio::time::timeout;

/// A setpoint controller with registers.
pub(crate) struct ModbusHeater {
    device: ModbusDevice,
    spec: ModbusHeaterSpec,
    refreshed: usize,
}

/// What a controller says of itself.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct HeaterState {
    /// The words in the setpoint's register.
    pub words: Vec<u16>,
    /// The setpoint [°C].
    pub setpoint_c: f64,
    /// Whether it may heat; none if that cannot be told.
    pub runs: Option<bool>,
}

impl ModbusHeater {
    pub fn new(spec: &ModbusHeaterSpec, bus: &ModbusBus) -> Self {
        Self {
            device: bus.device("heater", spec.unit),
            spec: spec.clone(),
            refreshed: 0,
        }
    }

    /// What it says of itself; nothing is written.
    ///
    /// # Errors
    /// [`DeviceError`] when it cannot be reached, or answers otherwise than expected.
    pub async fn state(&self) -> Result<HeaterState, DeviceError> {
        let (words, setpoint_c) = self.read_quantity(&self.spec.setpoint).await?;
        if let Some(ramp) = &self.spec.ramp {
            self.read_quantity(ramp).await?;
        }
        if let Some(fan) = self.spec.fan {
            self.read_switch(fan).await?;
        }
        let runs = match self.spec.run {
            None => None,
            Some(run) => Some(self.read_switch(run).await? == Position::On),
        };
        Ok(HeaterState {
            words,
            setpoint_c,
            runs,
        })
    }

    fn answer(&self, found: String, expected: String) -> DeviceError {
        DeviceError::Answer {
            device: self.device.name().into(),
            found,
            expected,
        }
    }

    async fn read_quantity(
        &self,
        quantity: &RegisterQuantity,
    ) -> Result<(Vec<u16>, f64), DeviceError> {
        let count = word_count(quantity.word_type);
        let words = self
            .device
            .read(RegisterTable::Holding, quantity.register, count)
            .await?;
        let value = quantity_from_words(&words, quantity)
            .map_err(|found| self.answer(found, "a number".into()))?;
        Ok((words, value))
    }

    /// Write a quantity and read back what is in force.
    async fn write_quantity(
        &self,
        quantity: &RegisterQuantity,
        value: f64,
        what: &str,
    ) -> Result<f64, DeviceError> {
        let words = words_from_quantity(value, quantity)
            .map_err(|found| self.answer(format!("nothing: {found}"), what.into()))?;
        self.device
            .write(quantity.register, &words, self.spec.write)
            .await?;
        let (_, in_force) = self.read_quantity(quantity).await?;
        let step = quantity.scale.abs();
        let tolerance = self.spec.readback_within_c.unwrap_or(step).max(step / 2.0);
        // Not a number is not near anything.
        if (in_force - value).abs() <= tolerance + 1e-9 * value.abs() {
            return Ok(in_force);
        }
        Err(self.answer(
            format!("{in_force} in register {}", quantity.register),
            format!("{what} {value} within {tolerance} as written; look at its limits and at scale, type and word_order"),
        ))
    }

    async fn read_switch(&self, switch: SwitchSpec) -> Result<Position, DeviceError> {
        match switch {
            SwitchSpec::Coil(coil) => Ok(if self.device.read_coil(coil.coil).await? {
                Position::On
            } else {
                Position::Off
            }),
            SwitchSpec::Register(register) => {
                let words = self
                    .device
                    .read(RegisterTable::Holding, register.register, 1)
                    .await?;
                Ok(match words.first() {
                    Some(&word) if word == register.on => Position::On,
                    Some(&word) if word == register.off => Position::Off,
                    other => Position::Other(other.copied()),
                })
            }
        }
    }

    async fn set_switch(
        &self,
        switch: SwitchSpec,
        wanted: Position,
        what: &str,
    ) -> Result<(), DeviceError> {
        let is_on = wanted == Position::On;
        match switch {
            SwitchSpec::Coil(coil) => self.device.write_coil(coil.coil, is_on).await?,
            SwitchSpec::Register(register) => {
                let word = if is_on { register.on } else { register.off };
                self.device
                    .write(register.register, &[word], self.spec.write)
                    .await?;
            }
        }
        let found = self.read_switch(switch).await?;
        if found == wanted {
            return Ok(());
        }
        Err(self.answer(
            format!("{what} {found}"),
            format!("{what} {wanted} as written"),
        ))
    }

    async fn refresh(&mut self) -> Result<(), DeviceError> {
        let Some(refresh) = &self.spec.refresh else {
            return Ok(());
        };
        let values = &refresh.values;
        let value = values
            .get(self.refreshed % values.len().max(1))
            .copied()
            .unwrap_or(1);
        self.device
            .write(refresh.register, &[value], self.spec.write)
            .await?;
        self.refreshed = self.refreshed.wrapping_add(1);
        Ok(())
    }

    /// Everything that ends heating is tried, whatever fails; the first failure is told.
    async fn off(&mut self, fan: Position) -> Result<Accepted, DeviceError> {
        let mut results = Vec::new();
        if let Some(run) = self.spec.run {
            results.push(self.set_switch(run, Position::Off, "run is").await);
        }
        if let Some(off_c) = self.spec.off_setpoint_c {
            let setpoint = self.spec.setpoint;
            let written = self.write_quantity(&setpoint, off_c, "the setpoint").await;
            results.push(written.map(drop));
        }
        if let Some(switch) = self.spec.fan {
            results.push(self.set_switch(switch, fan, "the fan is").await);
        }
        // Also off: a controller that fell back for want of refreshing may want to be reset.
        results.push(self.refresh().await);
        results.into_iter().collect::<Result<Vec<()>, _>>()?;
        Ok(Accepted { setpoint_c: None })
    }

    /// The setpoint is in force before heating is let, so that it never heats to an old one.
    async fn heat(
        &mut self,
        setpoint_c: f64,
        rate_c_per_min: f64,
    ) -> Result<Accepted, DeviceError> {
        self.refresh().await?;
        if let Some(ramp) = self.spec.ramp {
            self.write_quantity(&ramp, rate_c_per_min, "the ramp rate")
                .await?;
        }
        let setpoint = self.spec.setpoint;
        let in_force = self
            .write_quantity(&setpoint, setpoint_c, "the setpoint")
            .await?;
        if let Some(fan) = self.spec.fan {
            self.set_switch(fan, Position::Off, "the fan is").await?;
        }
        if let Some(run) = self.spec.run {
            self.set_switch(run, Position::On, "run is").await?;
        }
        Ok(Accepted {
            setpoint_c: Some(in_force),
        })
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Position {
    On,
    Off,
    Other(Option<u16>),
}

impl std::fmt::Display for Position {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::On => f.write_str("on"),
            Self::Off => f.write_str("off"),
            Self::Other(Some(word)) => write!(f, "{word}"),
            Self::Other(None) => f.write_str("nothing"),
        }
    }
}

#[async_trait]
impl Heater for ModbusHeater {
    fn traits(&self) -> HeaterTraits {
        HeaterTraits {
            by_hand: false,
            dead_man_s: self.spec.dead_man_s,
        }
    }

    async fn command(&mut self, command: HeaterCommand) -> Result<Accepted, DeviceError> {
        let silent = DeviceError::Silent {
            device: self.device.name().into(),
            waited_s: COMMAND.as_secs_f64(),
        };
        let done = async {
            match command {
                HeaterCommand::Off { fan } => {
                    let fan = if fan { Position::On } else { Position::Off };
                    self.off(fan).await
                }
                HeaterCommand::Setpoint {
                    setpoint_c,
                    rate_c_per_min,
                } => self.heat(setpoint_c, rate_c_per_min).await,
            }
        };
        timeout(COMMAND, done).await.unwrap_or(Err(silent))
    }
}
