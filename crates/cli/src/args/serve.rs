//! Arguments of the commands that serve a lab book.

use clap::Args;
use std::path::PathBuf;

/// What `serve` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
The pages can be reached from this machine only, and whoever sits at it says who they are. Ctrl-C ends it.
With --share-camera phones on the same network reach the camera page, over TLS and with a code that a page
of the book shows; nothing else.

With --listen people in the network reach the book, over TLS and with accounts: \"meltrange person invite BOOK NAME\"
makes the first one. Without --certificate this machine makes a certificate for itself; compare the fingerprint that is
printed with what the browser shows. docs/people.md says what to see to.

Example: meltrange serve practical
In a network: meltrange serve practical --listen 0.0.0.0:8443 --name bench.example.edu")]
pub(crate) struct ServeArguments {
    /// The lab book's folder
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// Port on this machine; if not given, the first free one from 8437 on
    #[arg(long, value_name = "N", env = "MELTRANGE_PORT")]
    pub port: Option<u16>,

    /// Let phones on the network be cameras; the codes for it are shown by the pages
    #[arg(long)]
    pub share_camera: bool,

    /// Serve it in the network at this address and port, to people with accounts
    #[arg(long, value_name = "ADDRESS:PORT", conflicts_with = "port")]
    pub listen: Option<std::net::SocketAddr>,

    /// Certificate of this machine, with those that vouch for it (PEM)
    #[arg(long, value_name = "FILE", requires_all = ["listen", "key"])]
    pub certificate: Option<PathBuf>,

    /// Key of the certificate (PEM)
    #[arg(long, value_name = "FILE", requires = "certificate")]
    pub key: Option<PathBuf>,

    /// A further name by which browsers reach this machine; once for each
    #[arg(long = "name", value_name = "HOST", value_parser = host_name)]
    pub names: Vec<String>,

    /// Ask for accounts on this machine, too: for a program that stands between it and the network
    #[arg(long, conflicts_with = "listen")]
    pub guarded: bool,

    /// Where accounts are kept, if not in the book's folder or a shared book's database
    #[arg(
        long,
        value_name = "postgres://…",
        env = "MELTRANGE_ACCOUNTS",
        hide_env_values = true
    )]
    pub accounts: Option<String>,

    /// Tell health and numbers at this address and port: /health/live, /health/ready, /metrics
    #[arg(long, value_name = "ADDRESS:PORT", env = "MELTRANGE_OBSERVE")]
    pub observe: Option<std::net::SocketAddr>,

    /// Remove this machine's copies of recordings that the store of a shared book has, once nobody has opened them for so
    /// many days
    #[arg(long, value_name = "DAYS", env = "MELTRANGE_KEEP_LOCAL_DAYS", value_parser = clap::value_parser!(u32).range(1..))]
    pub keep_local_days: Option<u32>,

    /// What is told on standard error: "info" has every request with who asked
    #[arg(
        long,
        value_enum,
        value_name = "LEVEL",
        default_value = "warn",
        env = "MELTRANGE_LOG"
    )]
    pub log: LogArgument,

    /// How it is told: lines for people, or one JSON object a line
    #[arg(
        long,
        value_enum,
        value_name = "FORM",
        default_value = "text",
        env = "MELTRANGE_LOG_FORMAT"
    )]
    pub log_format: LogFormatArgument,

    /// Let people in with accounts of their organisation, too (OpenID Connect), as this file says
    #[arg(long, value_name = "FILE.toml")]
    pub sign_in: Option<PathBuf>,

    /// Do not open the browser
    #[arg(long)]
    pub no_open: bool,
}

/// How much is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum LogArgument {
    /// What failed
    Warn,
    /// And every request
    Info,
    /// And what helps to find faults
    Debug,
}

/// How it is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum LogFormatArgument {
    /// For people
    Text,
    /// For programs
    Json,
}

/// A name or an address, without scheme and port.
fn host_name(text: &str) -> Result<String, String> {
    let is_name = !text.is_empty()
        && text.len() <= 253
        && text
            .bytes()
            .all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'.'));
    if is_name || text.parse::<std::net::IpAddr>().is_ok() {
        return Ok(text.to_ascii_lowercase());
    }
    Err("expected a name such as bench.example.edu, without https:// and without a port".to_owned())
}

/// What `demo` takes.
#[derive(Debug, Args)]
pub(crate) struct DemoArguments {
    /// New folder for the lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,
}
