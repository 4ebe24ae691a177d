//! Arguments of `identify`, `mixture`, `mixed-melting`, `purity` and `library`.

use super::metrology::ConventionArgument;
use clap::{ArgGroup, Args, Subcommand};
use std::path::PathBuf;

/// What `identify` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
A melting range ranks and excludes; it does not identify. The next tests are named by what they are expected to tell. Columns of
LIST.csv: name or cas, and melting_c where the library lacks a substance or yours is known better. Exit status: 0 ranked,
1 the range or the list cannot be used, 2 wrong usage.

Example: meltrange identify --first-liquid 113.2 --last-crystal 114.1 --uncertainty 0.3 --candidates stock-room.csv")]
pub(crate) struct IdentifyArguments {
    /// First liquid, corrected [°C]
    #[arg(long, value_name = "C", value_parser = number, allow_negative_numbers = true)]
    pub first_liquid: f64,

    /// Last crystal, corrected [°C]
    #[arg(long, value_name = "C", value_parser = number, allow_negative_numbers = true)]
    pub last_crystal: f64,

    /// Standard uncertainty of either end [°C]
    #[arg(long, value_name = "C", value_parser = number, allow_negative_numbers = true, default_value = "0.5")]
    pub uncertainty: f64,

    /// Convention the range was corrected to; either is thought possible if not given
    #[arg(long, value_enum)]
    pub convention: Option<ConventionArgument>,

    /// Only these substances; what the list says of them goes before the library
    #[arg(long, value_name = "LIST.csv")]
    pub candidates: Option<PathBuf>,

    /// How probable it is beforehand that it is none of the candidates, 0 to 1
    #[arg(long, value_name = "P", value_parser = number, default_value = "0.05")]
    pub unlisted: f64,

    /// Print so many candidates; with --json all that are not negligible if not given
    #[arg(long, value_name = "N")]
    pub top: Option<usize>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `mixture` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
A and B: a name or CAS number of the library, or numbers, melting_c=80.2,hfus_j_per_mol=19010,molar_mass_g_per_mol=128.17; the
enthalpy may be left out, and is then that of its class. POINTS.csv has mole_fraction_b and liquidus_c or solidus_c, and fits
an interaction parameter. Exit status: 0 drawn, 1 a substance or point cannot be used, 2 wrong usage.

Example: meltrange mixture urea \"trans-cinnamic acid\" --mass-fraction-b 0.5")]
pub(crate) struct MixtureArguments {
    /// First substance
    #[arg(value_name = "A")]
    pub a: String,

    /// Second substance
    #[arg(value_name = "B")]
    pub b: String,

    /// How a mixture with this mole fraction of B melts, 0 to 1
    #[arg(long, value_name = "X", value_parser = number)]
    pub fraction_b: Option<f64>,

    /// The same by mass fraction
    #[arg(long, value_name = "W", value_parser = number, conflicts_with = "fraction_b")]
    pub mass_fraction_b: Option<f64>,

    /// Own points, which fit an interaction parameter
    #[arg(long, value_name = "POINTS.csv")]
    pub data: Option<PathBuf>,

    /// First liquid is seen when so much is molten, by mole, above 0 and below 1
    #[arg(long, value_name = "F", value_parser = number, default_value = "0.05")]
    pub visible_fraction: f64,

    /// Points of the drawn liquidus
    #[arg(long, value_name = "N", default_value = "101", value_parser = clap::value_parser!(u16).range(3..=10_000))]
    pub points: u16,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `mixed-melting` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Grind sample and reference about 1:1, set sample, reference and mixture in side by side, and read all three in one run. Exit
status: 0 judged, 1 a range cannot be used, 2 wrong usage.

Example: meltrange mixed-melting --sample 132.4 133.2 --reference 132.8 133.6 --mixture 95.0 118.0")]
pub(crate) struct MixedMeltingArguments {
    /// First liquid and last crystal of the sample [°C]
    #[arg(long, num_args = 2, value_names = ["C", "C"], value_parser = number, allow_negative_numbers = true, required = true)]
    pub sample: Vec<f64>,

    /// Of the reference [°C]
    #[arg(long, num_args = 2, value_names = ["C", "C"], value_parser = number, allow_negative_numbers = true, required = true)]
    pub reference: Vec<f64>,

    /// Of both ground together [°C]
    #[arg(long, num_args = 2, value_names = ["C", "C"], value_parser = number, allow_negative_numbers = true, required = true)]
    pub mixture: Vec<f64>,

    /// Standard uncertainty of a difference between two tubes of one run [°C]
    #[arg(long, value_name = "C", value_parser = number, allow_negative_numbers = true, default_value = "0.2")]
    pub uncertainty: f64,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `purity` takes.
#[derive(Debug, Args)]
#[command(
    group(ArgGroup::new("seen").required(true).args(["curve", "last_crystal"])),
    group(ArgGroup::new("beside").required(true).multiple(true).args(["curve", "pure", "first_liquid"])),
    group(ArgGroup::new("enthalpy").required(true).args(["hfus", "substance"])),
    after_help = "\
From a melting curve (MELT.csv: temperature_c, fraction_melted), from the last crystal beside what the pure substance melts at,
or from the width of the range. Meant for a main substance above 98.5 mol %; no number is given beyond 3 mol % of impurity.
Exit status: 0 told, 1 outside what the method is meant for or unusable, 2 wrong usage.

Examples: meltrange purity --curve melt.csv --hfus 18020 --molar-mass 122.12
          meltrange purity --last-crystal 121.6 --pure 122.4 --substance \"benzoic acid\" --uncertainty 0.2
          meltrange purity --first-liquid 119.0 --last-crystal 121.6 --hfus 18020"
)]
pub(crate) struct PurityArguments {
    /// Fraction melted at each temperature
    #[arg(long, value_name = "MELT.csv", conflicts_with_all = ["last_crystal", "first_liquid", "pure", "uncertainty"])]
    pub curve: Option<PathBuf>,

    /// Last crystal [°C]
    #[arg(long, value_name = "C", value_parser = number, allow_negative_numbers = true)]
    pub last_crystal: Option<f64>,

    /// First liquid [°C]: tells purity by the width of the range
    #[arg(long, value_name = "C", value_parser = number, allow_negative_numbers = true, requires = "last_crystal")]
    pub first_liquid: Option<f64>,

    /// What the pure substance melts at, in the convention of the last crystal [°C]
    #[arg(long, value_name = "C", value_parser = number, allow_negative_numbers = true, requires = "last_crystal")]
    pub pure: Option<f64>,

    /// Enthalpy of fusion [J/mol]
    #[arg(long, value_name = "J_PER_MOL", value_parser = number)]
    pub hfus: Option<f64>,

    /// Standard uncertainty of it [J/mol]; 3 % if not given
    #[arg(long, value_name = "J_PER_MOL", value_parser = number, requires = "hfus")]
    pub hfus_uncertainty: Option<f64>,

    /// Take enthalpy of fusion and molar mass of this substance from the library
    #[arg(long, value_name = "NAME", conflicts_with_all = ["hfus", "molar_mass"])]
    pub substance: Option<String>,

    /// Molar mass of the main substance [g/mol]
    #[arg(long, value_name = "G_PER_MOL", value_parser = number)]
    pub molar_mass: Option<f64>,

    /// Standard uncertainty of the difference of the two temperatures [°C]; 0.3 if not given
    #[arg(long, value_name = "C", value_parser = number, allow_negative_numbers = true)]
    pub uncertainty: Option<f64>,

    /// Width a pure substance shows in your apparatus at your rate [°C]
    #[arg(long, value_name = "C", value_parser = number, default_value = "0.5")]
    pub pure_width: f64,

    /// First liquid is seen when between these fractions are molten
    #[arg(long, num_args = 2, value_names = ["LEAST", "MOST"], value_parser = number)]
    pub seen_at: Option<Vec<f64>>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `library` takes.
#[derive(Debug, Args)]
pub(crate) struct LibraryArguments {
    /// What to look for.
    #[command(subcommand)]
    pub command: LibraryCommand,
}

/// What to look for.
#[derive(Debug, Subcommand)]
pub(crate) enum LibraryCommand {
    /// By name, synonym, CAS number or formula
    Find(LibraryFindArguments),
    /// By melting temperature
    Near(LibraryNearArguments),
}

/// What `library find` takes.
#[derive(Debug, Args)]
pub(crate) struct LibraryFindArguments {
    /// Name or a part of it, CAS number, or formula
    #[arg(value_name = "TEXT")]
    pub text: String,

    #[command(flatten)]
    pub shown: LibraryShownArguments,
}

/// What `library near` takes.
#[derive(Debug, Args)]
pub(crate) struct LibraryNearArguments {
    /// Melting temperature [°C]
    #[arg(value_name = "C", value_parser = number, allow_negative_numbers = true)]
    pub at: f64,

    /// As far on either side [°C]
    #[arg(long, value_name = "C", value_parser = number, default_value = "2")]
    pub within: f64,

    #[command(flatten)]
    pub shown: LibraryShownArguments,
}

/// How what was found is shown.
#[derive(Debug, Args)]
pub(crate) struct LibraryShownArguments {
    /// An own list, which goes before the library: CSV with name or cas, and melting_c, hfus_j_per_mol, molar_mass_g_per_mol, formula
    #[arg(long, value_name = "LIST.csv")]
    pub own: Option<PathBuf>,

    /// So many at most
    #[arg(long, value_name = "N", default_value = "50")]
    pub top: usize,

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
