//! `[thermometer]`.

use super::connection::{
    ModbusConnection, RegisterTable, SerialPort, WordOrder, WordType, check_unit,
};
use super::display::DisplayThermometerSpec;
use super::field::{Wrong, filled, within, wrong};
use crate::pattern::TemperaturePattern;
use serde::{Deserialize, Serialize};
use std::path::PathBuf;

/// What tells the temperature. `docs/bench.md` describes the keys of each kind.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum ThermometerSpec {
    /// A person keys it in.
    #[default]
    Keyed,
    /// A program sends it to the server.
    Sent,
    /// Lines on a serial port.
    Serial(SerialThermometerSpec),
    /// A register, over Modbus.
    Modbus(ModbusThermometerSpec),
    /// Messages of a broker.
    Mqtt(MqttThermometerSpec),
    /// A web address that answers with it.
    Http(HttpThermometerSpec),
    /// A CSV file that another program writes.
    Csv(CsvThermometerSpec),
    /// Bluetooth Low Energy.
    Bluetooth(BluetoothThermometerSpec),
    /// A camera pointed at the apparatus's own display.
    Display(Box<DisplayThermometerSpec>),
    /// Of the simulated bench.
    Simulated(SimulatedThermometer),
}

/// A thermometer that sends lines, by itself or when asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SerialThermometerSpec {
    /// Where.
    pub connection: SerialPort,
    /// Regular expression with a group `temperature`, and perhaps a group `unit` (C, F or K). None:
    /// the first number that stands by itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pattern: Option<String>,
    /// What is sent to ask for a line, with its line end; none: lines come by themselves.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub poll: Option<String>,
    /// Between askings [s].
    #[serde(default = "interval")]
    pub interval_s: f64,
}

/// A thermometer with a register.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ModbusThermometerSpec {
    /// Where.
    pub connection: ModbusConnection,
    /// The device's unit id.
    #[serde(default = "unit")]
    pub unit: u8,
    /// Address of the (first) register, from 0 as on the wire.
    pub register: u16,
    /// Input or holding registers.
    #[serde(default)]
    pub table: RegisterTable,
    /// How the number lies there.
    #[serde(default, rename = "type")]
    pub word_type: WordType,
    /// Which of two registers comes first.
    #[serde(default)]
    pub word_order: WordOrder,
    /// One step of the number [°C].
    #[serde(default = "one")]
    pub scale: f64,
    /// What the number 0 means [°C].
    #[serde(default)]
    pub offset: f64,
    /// Between askings [s].
    #[serde(default = "interval")]
    pub interval_s: f64,
}

/// A thermometer that publishes to an MQTT broker.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MqttThermometerSpec {
    /// The broker's host.
    pub host: String,
    /// Its port, without TLS.
    #[serde(default = "mqtt_port")]
    pub port: u16,
    /// What to subscribe to.
    pub topic: String,
    /// Where in a JSON message the number stands (RFC 6901); none: the message is the number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub json_pointer: Option<String>,
    /// User name, where the broker wants one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub user: Option<String>,
    /// File whose first line is the password, so that it does not stand here.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub password_file: Option<PathBuf>,
}

/// A thermometer that is asked over HTTP.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HttpThermometerSpec {
    /// What is fetched, `http://…`.
    pub url: String,
    /// Where in a JSON answer the number stands (RFC 6901); none: the answer is the number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub json_pointer: Option<String>,
    /// Between askings [s].
    #[serde(default = "interval")]
    pub interval_s: f64,
}

/// A CSV file that grows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CsvThermometerSpec {
    /// Where it is, or will be.
    pub path: PathBuf,
    /// Name of the column with the temperature [°C].
    #[serde(default = "csv_column")]
    pub column: String,
    /// What stands between columns.
    #[serde(default = "csv_separator")]
    pub separator: char,
    /// Between looks for new rows [s].
    #[serde(default = "csv_interval")]
    pub interval_s: f64,
}

/// A thermometer over Bluetooth Low Energy, by the Environmental Sensing or the Health Thermometer service.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BluetoothThermometerSpec {
    /// Its address or the name it goes by.
    pub device: String,
    /// Which characteristic tells.
    #[serde(default)]
    pub characteristic: BluetoothCharacteristic,
    /// It counts as lost after this long without a temperature [s].
    #[serde(default = "bluetooth_silent")]
    pub silent_s: f64,
}

/// A characteristic that tells temperatures.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BluetoothCharacteristic {
    /// Temperature, 0x2A6E, of the Environmental Sensing service.
    #[default]
    Temperature,
    /// Temperature Measurement, 0x2A1C, of the Health Thermometer service.
    TemperatureMeasurement,
}

fn interval() -> f64 {
    0.5
}

fn unit() -> u8 {
    1
}

fn one() -> f64 {
    1.0
}

fn mqtt_port() -> u16 {
    1883
}

fn csv_column() -> String {
    "temperature_c".into()
}

fn csv_separator() -> char {
    ','
}

fn csv_interval() -> f64 {
    0.2
}

fn bluetooth_silent() -> f64 {
    10.0
}

/// A person keys temperatures in no faster than this [s].
const KEYED_S: f64 = 90.0;
/// A display may be unreadable for so long under glare, or while it changes fast [s].
const DISPLAY_S: f64 = 15.0;

impl ThermometerSpec {
    /// No silence shorter than this is a fault of a thermometer of this kind [s].
    pub(crate) fn least_silence_s(&self) -> f64 {
        match self {
            Self::Keyed => KEYED_S,
            Self::Display(_) => DISPLAY_S,
            _ => 0.0,
        }
    }

    pub(super) fn check(&self) -> Result<(), Wrong> {
        match self {
            Self::Keyed | Self::Sent | Self::Simulated(_) => Ok(()),
            Self::Display(spec) => spec.check(),
            Self::Serial(spec) => {
                spec.connection.check("thermometer.connection")?;
                if let Some(poll) = &spec.poll {
                    filled("thermometer.poll", poll)?;
                }
                if let Err(found) = TemperaturePattern::new(spec.pattern.as_deref()) {
                    return wrong(
                        "thermometer.pattern",
                        found,
                        "a regular expression with a group (?<temperature>…)",
                    );
                }
                check_interval(spec.interval_s)
            }
            Self::Modbus(spec) => {
                spec.connection.check("thermometer.connection")?;
                check_unit("thermometer.unit", spec.unit)?;
                spec.quantity().check("thermometer")?;
                check_interval(spec.interval_s)
            }
            Self::Mqtt(spec) => {
                filled("thermometer.host", &spec.host)?;
                filled("thermometer.topic", &spec.topic)?;
                if spec.topic.contains(['#', '+']) {
                    return wrong(
                        "thermometer.topic",
                        format_args!("\"{}\"", spec.topic),
                        "the topic of one thermometer, without # and +",
                    );
                }
                if spec.password_file.is_some() && spec.user.is_none() {
                    return wrong("thermometer.user", "missing", "a user for the password");
                }
                check_pointer(spec.json_pointer.as_deref())
            }
            Self::Http(spec) => {
                if !spec.url.starts_with("http://") || spec.url.len() == "http://".len() {
                    return wrong(
                        "thermometer.url",
                        format_args!("\"{}\"", spec.url),
                        "an address that starts with http:// (a thermometer in the same network; there is no TLS here)",
                    );
                }
                check_pointer(spec.json_pointer.as_deref())?;
                check_interval(spec.interval_s)
            }
            Self::Csv(spec) => {
                filled("thermometer.path", &spec.path.to_string_lossy())?;
                filled("thermometer.column", &spec.column)?;
                if !matches!(spec.separator, ',' | ';' | '\t') {
                    return wrong(
                        "thermometer.separator",
                        format_args!("\"{}\"", spec.separator),
                        "\",\", \";\" or \"\\t\"",
                    );
                }
                within("thermometer.interval_s", spec.interval_s, [0.05, 10.0], "s")
            }
            Self::Bluetooth(spec) => {
                filled("thermometer.device", &spec.device)?;
                within("thermometer.silent_s", spec.silent_s, [1.0, 120.0], "s")
            }
        }
    }
}

fn check_interval(interval_s: f64) -> Result<(), Wrong> {
    within("thermometer.interval_s", interval_s, [0.05, 60.0], "s")
}

fn check_pointer(pointer: Option<&str>) -> Result<(), Wrong> {
    match pointer {
        Some(pointer) if !pointer.is_empty() && !pointer.starts_with('/') => wrong(
            "thermometer.json_pointer",
            format_args!("\"{pointer}\""),
            "a JSON pointer, as in \"/block/temperature_c\"",
        ),
        _ => Ok(()),
    }
}

impl ModbusThermometerSpec {
    /// The register with how its number is to be taken.
    pub(crate) fn quantity(&self) -> super::connection::RegisterQuantity {
        super::connection::RegisterQuantity {
            register: self.register,
            word_type: self.word_type,
            word_order: self.word_order,
            scale: self.scale,
            offset: self.offset,
        }
    }
}

/// How the simulated thermometer tells.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct SimulatedThermometer {
    /// Between temperatures [s].
    pub interval_s: f64,
    /// Resolution [°C].
    pub resolution_c: f64,
    /// Standard deviation of one temperature [°C].
    pub noise_c: f64,
}

impl Default for SimulatedThermometer {
    fn default() -> Self {
        Self {
            interval_s: 0.5,
            resolution_c: 0.1,
            noise_c: 0.02,
        }
    }
}
