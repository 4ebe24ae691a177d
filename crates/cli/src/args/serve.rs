//! Arguments of the commands that serve a lab book.

use clap::Args;
use std::path::PathBuf;

/// What `serve` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
The pages can be reached from this machine only. Ctrl-C ends it. With --share-camera phones on the same
network reach the camera page, over TLS and with a code that a page of the book shows; nothing else.

Example: meltrange serve practical")]
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

    /// Do not open the browser
    #[arg(long)]
    pub no_open: bool,
}

/// What `demo` takes.
#[derive(Debug, Args)]
pub(crate) struct DemoArguments {
    /// New folder for the lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,
}
