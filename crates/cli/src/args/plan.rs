//! Arguments of `plan`.

use clap::Args;
use std::path::PathBuf;

/// What `plan` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Starts a few degrees below the expected range, soaks, scans at 1 °C/min, stops a little above, and cools 20 °C below: common
practice; your procedure and your own edition of it come first. While nothing was learned from the bench, the time of
the approach is that of an ordinary block, and the uncertainty says so. Exit status: 0 planned, 1 no such programme, 2
wrong usage.

Examples: meltrange plan --first-liquid 121.5 --last-crystal 122.5 --bench north.toml --within 15
          meltrange plan --first-liquid 118 --last-crystal 121 --scouted-at 10
          meltrange plan --substance \"benzoic acid\" --procedure usp-741-ia
Procedures are starting points with numbers to check against your own edition; --procedure list names them.")]
pub(crate) struct PlanArguments {
    /// Expected first liquid [°C]
    #[arg(long, value_name = "C", value_parser = number, allow_negative_numbers = true, required_unless_present_any = ["scouting", "substance", "procedure"], conflicts_with = "scouting", requires = "last_crystal")]
    pub first_liquid: Option<f64>,

    /// Expected last crystal [°C]
    #[arg(long, value_name = "C", value_parser = number, allow_negative_numbers = true, requires = "first_liquid")]
    pub last_crystal: Option<f64>,

    /// One fast ramp to find out roughly where it melts; the tube is discarded
    #[arg(long)]
    pub scouting: bool,

    /// The expected range was read in a scouting run at this rate [°C/min]: the margins are wider
    #[arg(long, value_name = "C_PER_MIN", value_parser = number, requires = "first_liquid")]
    pub scouted_at: Option<f64>,

    /// What it is or is thought to be; refused or flagged where it should not be heated, and its range taken from the
    /// list of usual reference substances or the library where none is given
    #[arg(long, value_name = "NAME")]
    pub substance: Option<String>,

    /// Hazard statements from its label, for example "H302 H351"
    #[arg(long, value_name = "CODES")]
    pub hazards: Option<String>,

    /// A published procedure as starting point, by its id; `list` names them
    #[arg(long, value_name = "ID", conflicts_with = "scouting")]
    pub procedure: Option<String>,

    /// Calibration, as calibrate --json prints it: says where the scan leaves its range
    #[arg(long, value_name = "CAL.json")]
    pub calibration: Option<PathBuf>,

    /// The scan starts this far below the first liquid [°C]; 3
    #[arg(long, value_name = "C", value_parser = number, conflicts_with = "scouting")]
    pub start_below: Option<f64>,

    /// And stops this far above the last crystal [°C]; 2
    #[arg(long, value_name = "C", value_parser = number, conflicts_with = "scouting")]
    pub stop_above: Option<f64>,

    /// As far as a scouting run may go [°C]; the bench's limit if not given
    #[arg(long, value_name = "C", value_parser = number, requires = "scouting")]
    pub up_to: Option<f64>,

    /// The bench file; an ordinary bench in a room of 22 °C if not given
    #[arg(long, value_name = "BENCH.toml")]
    pub bench: Option<PathBuf>,

    /// Temperature of the block at the start [°C]; that of the room if not given
    #[arg(long, value_name = "C", value_parser = number, allow_negative_numbers = true)]
    pub from: Option<f64>,

    /// Heating rate of the scan [°C/min]; 1, scouting 10
    #[arg(long, value_name = "C_PER_MIN", value_parser = number)]
    pub rate: Option<f64>,

    /// Soak before the scan [min]; 3
    #[arg(long, value_name = "MIN", value_parser = number, conflicts_with = "scouting")]
    pub soak: Option<f64>,

    /// Time there is [min]: what must be given up to fit is said, and never a rate, soak or margin that is given here
    #[arg(long, value_name = "MIN", value_parser = number, conflicts_with = "scouting")]
    pub within: Option<f64>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

fn number(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        _ => Err("expected a number with a decimal point, e.g. 121.5".to_owned()),
    }
}
