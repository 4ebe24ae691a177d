//! Arguments of `display`.

use super::finite_seconds;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// What `display` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
A value counts when it is seen in at least two pictures in a row and heating can have brought it about;
everything else is left out, never guessed. Times are those of the video.

Example: meltrange display meter.mp4 --corners 412,300,640,306,638,380,410,372 --out temperature.csv")]
pub(crate) struct DisplayArguments {
    /// Video of a temperature display, or a folder of pictures with frames.csv
    #[arg(value_name = "MEDIA")]
    pub media: PathBuf,

    /// Temperature log to write, with the columns time_s and temperature_c
    #[arg(long, value_name = "LOG.csv")]
    pub out: PathBuf,

    /// Corners of the digits [px], x and y from the top left clockwise; the whole picture if not given
    #[arg(
        long,
        value_name = "X,Y,X,Y,X,Y,X,Y",
        value_delimiter = ',',
        num_args = 8,
        allow_negative_numbers = true
    )]
    pub corners: Option<Vec<f64>>,

    /// Most digits before the point
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u8).range(1..=4))]
    pub digits: u8,

    /// Digits after the point
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u8).range(0..=2))]
    pub decimals: u8,

    /// How the digits are made up
    #[arg(long, value_enum, default_value_t = StyleArgument::Either)]
    pub style: StyleArgument,

    /// Which is brighter, digits or face
    #[arg(long, value_enum, default_value_t = LitArgument::Either)]
    pub lit: LitArgument,

    /// The temperature changes no faster than this [°C/min]
    #[arg(long, value_name = "C_PER_MIN", default_value_t = 30.0, value_parser = finite_seconds)]
    pub fastest: f64,

    /// Print one JSON object instead of lines
    #[arg(long)]
    pub json: bool,
}

/// How the digits are made up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum StyleArgument {
    /// Seven segments
    SevenSegment,
    /// Five by seven dots
    DotMatrix,
    /// Not known
    Either,
}

/// Which is brighter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum LitArgument {
    /// Light-emitting digits
    BrightOnDark,
    /// Dark digits on a light face
    DarkOnBright,
    /// Not known
    Either,
}
