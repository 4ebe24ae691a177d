//! `[heater]`.

use super::connection::{ModbusConnection, RegisterQuantity, SerialPort, check_unit};
use super::field::{Wrong, within, wrong};
use crate::heater::template::Template;
use crate::modbus::words_from_quantity;
use regex::Regex;
use serde::{Deserialize, Serialize};

/// What heats. `docs/bench.md` describes the keys of each kind and what a controller must support.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum HeaterSpec {
    /// A person turns the knob; the coach says how.
    #[default]
    ByHand,
    /// A setpoint controller, over Modbus.
    Modbus(Box<ModbusHeaterSpec>),
    /// A setpoint controller that takes lines of text on a serial port.
    Serial(Box<SerialHeaterSpec>),
    /// Of the simulated bench.
    Simulated,
}

/// The registers of a setpoint controller.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ModbusHeaterSpec {
    /// Where.
    pub connection: ModbusConnection,
    /// The controller's unit id.
    #[serde(default = "unit")]
    pub unit: u8,
    /// Holding register of the setpoint [°C]; it is read back after each writing.
    pub setpoint: RegisterQuantity,
    /// How far what is read back may be from what was written [°C]; none: one step of the register.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub readback_within_c: Option<f64>,
    /// Setpoint to write for off [°C]; needed where there is no `run`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub off_setpoint_c: Option<f64>,
    /// Holding register of the ramp rate [°C/min], for controllers that ramp by themselves.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ramp: Option<RegisterQuantity>,
    /// What lets it heat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub run: Option<SwitchSpec>,
    /// What lets it blow.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fan: Option<SwitchSpec>,
    /// What has to be written so that it goes on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub refresh: Option<RefreshSpec>,
    /// It falls back to off by itself when it is not written to for this long [s]; none if it does not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dead_man_s: Option<f64>,
    /// How registers are written.
    #[serde(default)]
    pub write: WriteFunction,
}

/// A coil, or a holding register with one value for on and one for off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum SwitchSpec {
    /// A coil.
    Coil(CoilSpec),
    /// A holding register.
    Register(SwitchRegisterSpec),
}

/// A coil that is a switch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CoilSpec {
    /// Its address, from 0 as on the wire.
    pub coil: u16,
}

/// A holding register that is a switch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SwitchRegisterSpec {
    /// Its address, from 0 as on the wire.
    pub register: u16,
    /// What is written for on.
    #[serde(default = "on")]
    pub on: u16,
    /// What is written for off.
    #[serde(default)]
    pub off: u16,
}

/// A holding register that keeps the controller from falling back to off.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RefreshSpec {
    /// Its address, from 0 as on the wire.
    pub register: u16,
    /// What is written, one after the other and over again.
    #[serde(default = "refresh_values")]
    pub values: Vec<u16>,
}

/// How registers are written; controllers know one of the two or both.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WriteFunction {
    /// Function 6 for one register, function 16 for two.
    #[default]
    Single,
    /// Function 16.
    Multiple,
}

/// The lines of a setpoint controller. Texts are sent as they stand, with `{setpoint_c:.1}` and
/// `{rate_c_per_min:.2}` filled in (decimals after the point; `{{` and `}}` for brackets).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SerialHeaterSpec {
    /// Where.
    pub connection: SerialPort,
    /// What is sent for a setpoint, one after the other, each with its line end.
    pub setpoint: Vec<String>,
    /// What is sent for off.
    pub off: Vec<String>,
    /// What is sent to blow.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fan_on: Vec<String>,
    /// What is sent to stop blowing.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fan_off: Vec<String>,
    /// Regular expression of the line that answers each text; none: no answer is waited for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reply: Option<String>,
    /// What asks for the setpoint in force; none: it is not read back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub readback: Option<String>,
    /// Regular expression of its answer with a group `temperature`; none: the first number by itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub readback_pattern: Option<String>,
    /// How far what is read back may be from what was sent [°C].
    #[serde(default = "readback_within")]
    pub readback_within_c: f64,
    /// How long an answer is waited for [s].
    #[serde(default = "timeout")]
    pub timeout_s: f64,
    /// It falls back to off by itself when it is not written to for this long [s]; none if it does not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dead_man_s: Option<f64>,
}

fn unit() -> u8 {
    1
}

fn on() -> u16 {
    1
}

fn refresh_values() -> Vec<u16> {
    vec![1]
}

fn readback_within() -> f64 {
    0.1
}

fn timeout() -> f64 {
    0.3
}

impl HeaterSpec {
    /// `max_c`: the highest setpoint that will be asked for [°C].
    pub(super) fn check(&self, max_c: f64) -> Result<(), Wrong> {
        match self {
            Self::ByHand | Self::Simulated => Ok(()),
            Self::Modbus(spec) => spec.check(max_c),
            Self::Serial(spec) => spec.check(),
        }
    }
}

fn check_dead_man(dead_man_s: Option<f64>) -> Result<(), Wrong> {
    // It is refreshed every second; two may come late.
    within(
        "heater.dead_man_s",
        dead_man_s.unwrap_or(3.0),
        [3.0, 600.0],
        "s",
    )
}

impl ModbusHeaterSpec {
    fn check(&self, max_c: f64) -> Result<(), Wrong> {
        self.connection.check("heater.connection")?;
        check_unit("heater.unit", self.unit)?;
        self.setpoint.check("heater.setpoint")?;
        if words_from_quantity(max_c, &self.setpoint).is_err() {
            return wrong(
                "heater.setpoint",
                format_args!(
                    "a {:?} in steps of {}",
                    self.setpoint.word_type, self.setpoint.scale
                ),
                &format!("a register that can hold max_c, {max_c} °C"),
            );
        }
        if let Some(ramp) = &self.ramp {
            ramp.check("heater.ramp")?;
        }
        if let Some(tolerance_c) = self.readback_within_c {
            within("heater.readback_within_c", tolerance_c, [0.0, 5.0], "°C")?;
        }
        match self.off_setpoint_c {
            Some(off_c) => within("heater.off_setpoint_c", off_c, [-90.0, 40.0], "°C")?,
            None if self.run.is_none() => {
                return wrong(
                    "heater.run",
                    "missing, and so is heater.off_setpoint_c",
                    "one of them, so that the heater can be put off",
                );
            }
            None => {}
        }
        for (field, switch) in [("heater.run", self.run), ("heater.fan", self.fan)] {
            if let Some(SwitchSpec::Register(register)) = switch
                && register.on == register.off
            {
                return wrong(field, "the same for on and off", "two values");
            }
        }
        if let Some(refresh) = &self.refresh
            && refresh.values.is_empty()
        {
            return wrong("heater.refresh.values", "empty", "at least one value");
        }
        check_dead_man(self.dead_man_s)
    }
}

impl SerialHeaterSpec {
    fn check(&self) -> Result<(), Wrong> {
        self.connection.check("heater.connection")?;
        for (field, texts) in [
            ("heater.setpoint", &self.setpoint),
            ("heater.off", &self.off),
            ("heater.fan_on", &self.fan_on),
            ("heater.fan_off", &self.fan_off),
        ] {
            for text in texts {
                if let Err(found) = Template::new(text) {
                    return wrong(
                        field,
                        found,
                        "text with {setpoint_c:.1} or {rate_c_per_min:.1} in it",
                    );
                }
            }
        }
        if !self
            .setpoint
            .iter()
            .any(|text| text.contains("{setpoint_c"))
        {
            return wrong(
                "heater.setpoint",
                "without {setpoint_c:.1}",
                "one text that carries the setpoint",
            );
        }
        if self.off.is_empty() {
            return wrong("heater.off", "empty", "what puts the heater off");
        }
        if self.fan_on.is_empty() != self.fan_off.is_empty() {
            return wrong(
                "heater.fan_on",
                "without its opposite",
                "fan_on and fan_off",
            );
        }
        let reply = self.reply.as_deref().map(Regex::new);
        if let Some(Err(error)) = reply {
            return wrong("heater.reply", error, "a regular expression");
        }
        if let Err(found) =
            crate::pattern::TemperaturePattern::new(self.readback_pattern.as_deref())
        {
            return wrong(
                "heater.readback_pattern",
                found,
                "a regular expression with a group (?<temperature>…)",
            );
        }
        within(
            "heater.readback_within_c",
            self.readback_within_c,
            [0.0, 5.0],
            "°C",
        )?;
        within("heater.timeout_s", self.timeout_s, [0.02, 0.8], "s")?;
        check_dead_man(self.dead_man_s)
    }
}
