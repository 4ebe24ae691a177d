//! The bench file: one TOML for each bench.

mod camera;
mod connection;
mod devices;
mod display;
mod field;
mod heater;
mod learned;
mod limits;
mod thermometer;

pub use camera::{
    CameraSpec, FfmpegCameraSpec, MjpegCameraSpec, PicturesAre, SimulatedCamera, V4l2CameraSpec,
};
pub use connection::{
    ModbusConnection, Parity, RegisterQuantity, RegisterTable, SerialPort, WordOrder, WordType,
};
pub use display::DisplayThermometerSpec;
pub use heater::{
    CoilSpec, HeaterSpec, ModbusHeaterSpec, RefreshSpec, SerialHeaterSpec, SwitchRegisterSpec,
    SwitchSpec, WriteFunction,
};
pub use limits::Limits;
pub use thermometer::{
    BluetoothCharacteristic, BluetoothThermometerSpec, CsvThermometerSpec, HttpThermometerSpec,
    ModbusThermometerSpec, MqttThermometerSpec, SerialThermometerSpec, SimulatedThermometer,
    ThermometerSpec,
};

use crate::error::BenchFileError;
use meltrange_planning::{BenchHeat, HeatingAbility, LearnedBench};
use serde::{Deserialize, Serialize};
use std::path::Path;

/// What a bench file says. Only `name`, `places`, `room_c` and `max_c` must be there: without devices
/// temperatures are keyed in, a person turns the knob, and a browser is the camera.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BenchFile {
    /// What the bench is called; unique in a lab book.
    pub name: String,
    /// How many tubes it takes, 1..=3.
    pub places: u8,
    /// Room temperature [°C].
    pub room_c: f64,
    /// The block must not be heated above this [°C].
    pub max_c: f64,
    /// How fast it heats in an approach [°C/min].
    #[serde(default = "heat_rate")]
    pub heat_rate_c_per_min: f64,
    /// Newton cooling towards the room, fan on [min].
    #[serde(default = "cool_time_constant")]
    pub cool_time_constant_min: f64,
    /// What tells the temperature.
    #[serde(default)]
    pub thermometer: ThermometerSpec,
    /// What heats.
    #[serde(default)]
    pub heater: HeaterSpec,
    /// What takes the pictures.
    #[serde(default)]
    pub camera: CameraSpec,
    /// When to step in.
    #[serde(default)]
    pub limits: Limits,
    /// What was learned from its runs; written by `bench learn`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub learned: Option<LearnedBench>,
}

fn heat_rate() -> f64 {
    HeatingAbility::default().heat_rate_c_per_min
}

fn cool_time_constant() -> f64 {
    HeatingAbility::default().cool_time_constant_min
}

impl BenchFile {
    /// Read and check a bench file.
    ///
    /// # Errors
    /// [`BenchFileError`] names the file, the key or line, what was found and what was expected.
    pub fn read(path: &Path) -> Result<Self, BenchFileError> {
        let text = std::fs::read_to_string(path).map_err(|source| BenchFileError::Unreadable {
            path: path.into(),
            source,
        })?;
        Self::parse(&text, path)
    }

    /// Check the text of a bench file; `path` is what errors call it.
    ///
    /// # Errors
    /// As [`BenchFile::read`].
    pub fn parse(text: &str, path: &Path) -> Result<Self, BenchFileError> {
        let file: Self = toml::from_str(text).map_err(|error| BenchFileError::Form {
            path: path.into(),
            found: error.to_string().trim_end().to_owned(),
        })?;
        file.check(path)?;
        Ok(file)
    }

    /// How fast it heats and cools, as learned or else as the file says.
    pub fn ability(&self) -> HeatingAbility {
        self.heat().ability()
    }

    /// How it heats and cools, as learned or else as the file says.
    pub fn heat(&self) -> BenchHeat {
        match &self.learned {
            Some(learned) => BenchHeat::Learned(Box::new(learned.clone())),
            None => BenchHeat::Ordinary(HeatingAbility {
                room_c: self.room_c,
                heat_rate_c_per_min: self.heat_rate_c_per_min,
                cool_time_constant_min: self.cool_time_constant_min,
            }),
        }
    }

    /// Whether all its devices are simulated, so that its clock may run fast.
    pub fn is_simulated(&self) -> bool {
        matches!(self.thermometer, ThermometerSpec::Simulated(_))
            && matches!(self.heater, HeaterSpec::Simulated)
            && matches!(self.camera, CameraSpec::Simulated(_))
    }

    fn check(&self, path: &Path) -> Result<(), BenchFileError> {
        let wrong = |field: &str, found: String, expected: &str| {
            Err(BenchFileError::Field {
                path: path.into(),
                field: field.into(),
                found,
                expected: expected.into(),
            })
        };
        let within = |field: &str, found: f64, least: f64, most: f64, unit: &str| {
            if found >= least && found <= most {
                return Ok(());
            }
            wrong(
                field,
                found.to_string(),
                &format!("{least} to {most} {unit}"),
            )
        };
        if self.name.trim().is_empty() || self.name.chars().count() > 100 {
            return wrong("name", format!("\"{}\"", self.name), "1 to 100 characters");
        }
        if !(1..=3).contains(&self.places) {
            return wrong("places", self.places.to_string(), "1, 2 or 3");
        }
        within("room_c", self.room_c, -20.0, 60.0, "°C")?;
        within(
            "max_c",
            self.max_c,
            self.room_c + 10.0,
            500.0,
            "°C, at least 10 above room_c",
        )?;
        within(
            "heat_rate_c_per_min",
            self.heat_rate_c_per_min,
            0.1,
            100.0,
            "°C/min",
        )?;
        within(
            "cool_time_constant_min",
            self.cool_time_constant_min,
            0.1,
            300.0,
            "min",
        )?;
        for (field, found, least, most, unit) in self.limits.ranges() {
            within(&format!("limits.{field}"), found, least, most, unit)?;
        }
        if let Some(Err((field, found, expected))) = self.learned.as_ref().map(LearnedBench::check)
        {
            return wrong(&format!("learned.{field}"), found, expected);
        }
        devices::check(self).or_else(|found| wrong(&found.field, found.found, &found.expected))?;
        if let Some((field, found, expected)) = self.camera.wrong() {
            return wrong(&format!("camera.{field}"), found, expected);
        }
        let simulated = [
            matches!(self.thermometer, ThermometerSpec::Simulated(_)),
            matches!(self.heater, HeaterSpec::Simulated),
            matches!(self.camera, CameraSpec::Simulated(_)),
        ];
        if simulated[0] != simulated[1] || (simulated[2] && !simulated[0]) {
            return wrong(
                "heater.kind",
                "not of one simulated bench with the thermometer and the camera".into(),
                "a simulated thermometer and heater together, and a simulated camera only with them",
            );
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parse(text: &str) -> Result<BenchFile, BenchFileError> {
        BenchFile::parse(text, Path::new("north.toml"))
    }

    const LEAST: &str = "name = \"North\"\nplaces = 3\nroom_c = 22.0\nmax_c = 300.0\n";

    #[test]
    fn four_lines_are_enough() {
        let file = parse(LEAST).expect("all that is needed");
        assert_eq!(file.thermometer, ThermometerSpec::Keyed);
        assert_eq!(file.heater, HeaterSpec::ByHand);
        assert_eq!(file.camera, CameraSpec::Browser);
        assert!(!file.is_simulated());
        let printed = toml::to_string(&file).expect("prints");
        assert_eq!(parse(&printed).expect("reads back"), file);
    }

    #[test]
    fn errors_name_file_key_and_what_would_do() {
        for (text, parts) in [
            (
                LEAST.replace("places = 3", "places = 4"),
                ["places is 4", "1, 2 or 3"],
            ),
            (
                LEAST.replace("300.0", "25.0"),
                ["max_c is 25", "above room_c"],
            ),
            (
                format!("{LEAST}[limits]\nsilent_s = 0.0\n"),
                ["limits.silent_s is 0", "s"],
            ),
            (format!("{LEAST}colour = 1\n"), ["colour", "unknown field"]),
            (
                format!("{LEAST}[heater]\nkind = \"simulated\"\n"),
                ["heater.kind", "together"],
            ),
            ("places = 3".to_owned(), ["missing field", "name"]),
            (LEAST.replace("22.0", "\"warm\""), ["line 3", "room_c"]),
        ] {
            let error = parse(&text).expect_err(&text).to_string();
            assert!(error.starts_with("north.toml"), "{error}");
            for part in parts {
                assert!(error.contains(part), "{part} not in: {error}");
            }
        }
    }
}
