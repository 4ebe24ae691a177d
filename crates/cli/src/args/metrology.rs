//! Arguments of `calibrate` and `determine`.

use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// What `calibrate` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
The correction is reference - indicated, a polynomial in (indicated - origin). Values of reference substances
belong to a lot: take them from your own certificate or label, with its convention. Further optional columns
of STANDARDS.csv: convention (thermodynamic or at_rate), rate_c_per_min (of an at_rate value), read_at_c_per_min (how
fast it was heated here), lot, expires (YYYY-MM-DD).
Exit status: 0 done, 1 the data could not be used, 2 wrong usage.

Example: meltrange calibrate standards.csv --at 122.4 --json > bench-a.json")]
pub(crate) struct CalibrateArguments {
    /// Columns substance, reference_c, indicated_c and optional reference_u_c, indicated_u_c [°C]
    #[arg(value_name = "STANDARDS.csv")]
    pub standards: PathBuf,

    /// Degree of the correction; by evidence if not given
    #[arg(long, value_name = "0|1|2", value_parser = clap::value_parser!(u8).range(0..=2))]
    pub degree: Option<u8>,

    /// Where the powers are zero [°C]; the mean indicated temperature in whole degrees if not given
    #[arg(long, value_name = "C", value_parser = temperature, allow_negative_numbers = true)]
    pub origin: Option<f64>,

    /// Give the correction at this indicated temperature [°C]; may be repeated
    #[arg(long, value_name = "C", value_parser = temperature, allow_negative_numbers = true)]
    pub at: Vec<f64>,

    /// Convention of all reference values, where the file does not say
    #[arg(long, value_name = "CONVENTION")]
    pub convention: Option<ConventionArgument>,

    /// Day on which certificates are to be in force; today if not given
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub on: Option<jiff::civil::Date>,

    /// Print one JSON object, which determine --calibration reads
    #[arg(long)]
    pub json: bool,
}

/// Convention of reference values.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum ConventionArgument {
    /// At zero heating rate
    Thermodynamic,
    /// At a heating rate, as pharmacopoeias define it
    AtRate,
}

/// What `determine` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Readings are as indicated; the correction is applied here, once. Tubes of one run are averaged first, and only
runs count as repeats. Exit status: 0 done (also when the runs do not agree yet), 1 the data could not be used,
2 wrong usage.

Example: meltrange determine readings.csv --calibration bench-a.json")]
pub(crate) struct DetermineArguments {
    /// Columns run, tube, first_liquid_c, last_crystal_c and optional u_first_c, u_last_c [°C]
    #[arg(value_name = "READINGS.csv")]
    pub readings: PathBuf,

    /// What calibrate --json printed
    #[arg(long, value_name = "CAL.json")]
    pub calibration: Option<PathBuf>,

    /// Runs agree when both ends are within this [°C]; common practice
    #[arg(long, value_name = "C", default_value = "0.5", value_parser = above_zero)]
    pub agree_within: f64,

    /// Standard deviation of one run known from past runs [°C], pooled with that of these
    #[arg(long, value_name = "C", value_parser = above_zero)]
    pub repeatability: Option<f64>,

    /// Degrees of freedom of --repeatability; taken as exactly known if not given
    #[arg(long, value_name = "N", value_parser = above_zero, requires = "repeatability")]
    pub repeatability_freedom: Option<f64>,

    /// Emergent column of a total-immersion thermometer, in degrees of its scale; not with --calibration
    #[arg(long, value_name = "C", value_parser = not_below_zero, requires = "stem_temperature")]
    pub stem_length: Option<f64>,

    /// Mean temperature of the emergent column [°C]
    #[arg(long, value_name = "C", value_parser = temperature, allow_negative_numbers = true, requires = "stem_length")]
    pub stem_temperature: Option<f64>,

    /// What the thermometer is filled with
    #[arg(
        long,
        value_name = "LIQUID",
        default_value = "mercury",
        requires = "stem_length"
    )]
    pub stem_liquid: LiquidArgument,

    /// How far the sample is behind the thermometer [s]; needs the column rate_c_per_min
    #[arg(long, value_name = "S", value_parser = not_below_zero)]
    pub lag: Option<f64>,

    /// Standard uncertainty of --lag [s]
    #[arg(long, value_name = "S", default_value = "0", value_parser = not_below_zero, requires = "lag")]
    pub lag_u: f64,

    /// Give the corrected ends in this convention as well: thermodynamic, or a rate in °C/min; needs runs at two rates
    #[arg(long, value_name = "CONVENTION", value_parser = target, requires = "calibration")]
    pub convert_to: Option<Target>,

    /// Required range, lower limit of the first liquid [°C]
    #[arg(long, value_name = "C", value_parser = temperature, allow_negative_numbers = true, requires = "required_to")]
    pub required_from: Option<f64>,

    /// Required range, upper limit of the last crystal [°C]
    #[arg(long, value_name = "C", value_parser = temperature, allow_negative_numbers = true, requires = "required_from")]
    pub required_to: Option<f64>,

    /// Guard band: probability with which a value at its edge meets the limit; 0.5 is no guard band
    #[arg(long, value_name = "P", default_value = "0.95", value_parser = half_to_one, requires = "required_to")]
    pub guard: f64,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// A convention to convert to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Target {
    /// Zero rate.
    Thermodynamic,
    /// At a rate [°C/min].
    AtRate(f64),
}

fn target(text: &str) -> Result<Target, String> {
    if text == "thermodynamic" {
        return Ok(Target::Thermodynamic);
    }
    number(
        text,
        |rate| rate > 0.0 && rate <= 100.0,
        "thermodynamic, or a heating rate in °C/min above 0 and at most 100, e.g. 1.0",
    )
    .map(Target::AtRate)
}

/// What `drift` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Charted is indicated (corrected by --calibration, if given) less reference, in the order of the file. Rules: a point
beyond three standard deviations, a moving range beyond its limit, the exponentially weighted average beyond its
limits, eight points in a row on one side. Exit status: 0 done (also when the chart raises an alarm), 1 the data could
not be used, 2 wrong usage.

Example: meltrange drift checks.csv --calibration bench-a.json --every 90")]
pub(crate) struct DriftArguments {
    /// Columns reference_c, indicated_c and optional date (YYYY-MM-DD), substance
    #[arg(value_name = "CHECKS.csv")]
    pub checks: PathBuf,

    /// What calibrate --json printed
    #[arg(long, value_name = "CAL.json")]
    pub calibration: Option<PathBuf>,

    /// How many of the first checks set centre and limits; 20 at most and never the latest if not given
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(2..))]
    pub baseline: Option<u16>,

    /// Centre [°C], such as 0; the mean of the first checks if not given
    #[arg(long, value_name = "C", value_parser = temperature, allow_negative_numbers = true)]
    pub centre: Option<f64>,

    /// Weight of the newest check in the weighted average
    #[arg(long, value_name = "W", default_value = "0.3", value_parser = weight)]
    pub weight: f64,

    /// Days between checks; says whether one is due, from the last date
    #[arg(long, value_name = "DAYS", value_parser = clap::value_parser!(u32).range(1..=3650))]
    pub every: Option<u32>,

    /// Day to judge that by; today if not given
    #[arg(long, value_name = "YYYY-MM-DD", requires = "every")]
    pub on: Option<jiff::civil::Date>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `readers` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
A level is what is read under the same conditions: a recording, or a kind of recording read against its known moments.
Several values of one reader at one level are repetitions. Nothing is left out: stragglers and outliers are named, and
people decide. Exit status: 0 done (also when somebody stands out), 1 the data could not be used, 2 wrong usage.

Example: meltrange readers first-liquid.csv")]
pub(crate) struct ReadersArguments {
    /// Columns reader, level, value_c and optional reference_c, which is subtracted
    #[arg(value_name = "READINGS.csv")]
    pub readings: PathBuf,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

fn weight(text: &str) -> Result<f64, String> {
    number(
        text,
        |value| value > 0.0 && value <= 1.0,
        "a weight above 0 and at most 1, e.g. 0.3",
    )
}

/// What a thermometer is filled with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum LiquidArgument {
    /// Mercury
    Mercury,
    /// Alcohol, toluene and the like
    Organic,
}

fn number(text: &str, fits: impl Fn(f64) -> bool, expected: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() && fits(value) => Ok(value),
        _ => Err(format!("expected {expected}")),
    }
}

fn temperature(text: &str) -> Result<f64, String> {
    let possible = |value| (-273.15..=1000.0).contains(&value);
    number(
        text,
        possible,
        "degrees Celsius with a decimal point, -273.15 to 1000, e.g. 122.4",
    )
}

fn above_zero(text: &str) -> Result<f64, String> {
    number(
        text,
        |value| value > 0.0 && value <= 1e3,
        "a number above 0, at most 1000, with a decimal point, e.g. 0.5",
    )
}

fn not_below_zero(text: &str) -> Result<f64, String> {
    number(
        text,
        |value| value >= 0.0,
        "a number not below 0 with a decimal point, e.g. 80",
    )
}

fn half_to_one(text: &str) -> Result<f64, String> {
    number(
        text,
        |value| (0.5..1.0).contains(&value),
        "a probability from 0.5 to below 1, e.g. 0.95",
    )
}
