//! How devices are reached: serial ports, and Modbus over one or over TCP.

use super::field::{Wrong, filled, within, wrong};
use serde::{Deserialize, Serialize};

/// A serial port.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SerialPort {
    /// As the system names it: `/dev/ttyUSB0`, `/dev/serial/by-id/…`, `COM3`.
    pub port: String,
    /// Bits a second.
    #[serde(default = "baud")]
    pub baud: u32,
    /// 5 to 8.
    #[serde(default = "data_bits")]
    pub data_bits: u8,
    /// Whether and how a parity bit is sent.
    #[serde(default)]
    pub parity: Parity,
    /// 1 or 2.
    #[serde(default = "stop_bits")]
    pub stop_bits: u8,
}

/// Parity bit of a serial port.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Parity {
    /// Not sent.
    #[default]
    None,
    /// The number of ones is odd.
    Odd,
    /// The number of ones is even.
    Even,
}

fn baud() -> u32 {
    9600
}

fn data_bits() -> u8 {
    8
}

fn stop_bits() -> u8 {
    1
}

impl SerialPort {
    pub(super) fn check(&self, table: &str) -> Result<(), Wrong> {
        filled(&format!("{table}.port"), &self.port)?;
        within(
            &format!("{table}.baud"),
            f64::from(self.baud),
            [300.0, 4_000_000.0],
            "bits/s",
        )?;
        if !(5..=8).contains(&self.data_bits) {
            return wrong(&format!("{table}.data_bits"), self.data_bits, "5 to 8");
        }
        if !(1..=2).contains(&self.stop_bits) {
            return wrong(&format!("{table}.stop_bits"), self.stop_bits, "1 or 2");
        }
        Ok(())
    }
}

/// Where Modbus is spoken. Devices of one bench with the same port or address share one connection.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ModbusConnection {
    /// Host and port, as in `192.168.0.20:502`.
    Tcp(String),
    /// RTU frames on a serial port.
    Rtu(SerialPort),
}

impl ModbusConnection {
    /// What tells one connection from another.
    pub fn address(&self) -> &str {
        match self {
            Self::Tcp(address) => address,
            Self::Rtu(serial) => &serial.port,
        }
    }

    pub(super) fn check(&self, table: &str) -> Result<(), Wrong> {
        match self {
            Self::Tcp(address) => {
                let sound = address
                    .rsplit_once(':')
                    .is_some_and(|(host, port)| !host.is_empty() && port.parse::<u16>().is_ok());
                if !sound {
                    return wrong(
                        &format!("{table}.tcp"),
                        format_args!("\"{address}\""),
                        "host and port, as in \"192.168.0.20:502\"",
                    );
                }
                Ok(())
            }
            Self::Rtu(serial) => serial.check(&format!("{table}.rtu")),
        }
    }
}

/// How a number lies in registers of 16 bits.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WordType {
    /// One register, two's complement.
    #[default]
    I16,
    /// One register.
    U16,
    /// Two registers, two's complement.
    I32,
    /// Two registers.
    U32,
    /// Two registers, IEEE 754 binary32.
    F32,
}

/// Which of two registers comes first.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WordOrder {
    /// The high word.
    #[default]
    Big,
    /// The low word.
    Little,
}

/// Which registers are read.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RegisterTable {
    /// Input registers, function 4.
    #[default]
    Input,
    /// Holding registers, function 3.
    Holding,
}

/// A quantity in registers: `quantity = number × scale + offset`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RegisterQuantity {
    /// Address of the (first) register, from 0 as on the wire.
    pub register: u16,
    /// How the number lies there.
    #[serde(default, rename = "type")]
    pub word_type: WordType,
    /// Which of two registers comes first.
    #[serde(default)]
    pub word_order: WordOrder,
    /// One step of the number, in the quantity's unit.
    #[serde(default = "one")]
    pub scale: f64,
    /// What the number 0 means, in the quantity's unit.
    #[serde(default)]
    pub offset: f64,
}

fn one() -> f64 {
    1.0
}

impl RegisterQuantity {
    pub(super) fn check(&self, table: &str) -> Result<(), Wrong> {
        let sound = self.scale.is_finite() && self.scale != 0.0 && self.scale.abs() <= 1e6;
        if !sound {
            return wrong(
                &format!("{table}.scale"),
                self.scale,
                "a number other than 0, at most 1000000",
            );
        }
        within(
            &format!("{table}.offset"),
            self.offset,
            [-1e6, 1e6],
            "in the quantity's unit",
        )
    }
}

pub(super) fn check_unit(field: &str, unit: u8) -> Result<(), Wrong> {
    // Modbus over Serial Line V1.02, 2.2: 1 to 247 are single devices; 0 and 255 are used over TCP.
    if (248..=254).contains(&unit) {
        return wrong(field, unit, "1 to 247, or 0 or 255 over TCP");
    }
    Ok(())
}
