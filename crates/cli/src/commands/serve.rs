//! `meltrange serve`: the pages of a lab book on this machine; `meltrange openapi`: their interface.

use crate::args::ServeArguments;
use crate::failure::Failure;
use crate::output::Output;
use meltrange_labbook::{BookError, shown_place};
use meltrange_server::{ServeError, ServeOptions};

/// Serve a book until interrupted.
pub(crate) fn run(arguments: &ServeArguments, output: &Output) -> Result<(), Failure> {
    let options = ServeOptions {
        folder: arguments.book.clone(),
        port: arguments.port,
        share_camera: arguments.share_camera,
    };
    log_to_stderr();
    let mut printed = Ok(());
    meltrange_server::serve(&options, |ready| {
        let address = &ready.address;
        let phones = ready.phones.as_ref().map_or_else(String::new, phones);
        printed = output.text(&format!(
            "{} is served at {address}\n{phones}Ctrl-C ends it.\n",
            shown_place(&arguments.book)
        ));
        if !arguments.no_open {
            // Without a browser the address that was printed has to do.
            let _ = open::that_detached(address);
        }
    })
    .map_err(|error| failed(&error))?;
    printed
}

/// Where phones find the camera page; what they are let in by is shown in the pages.
fn phones((fingerprint, addresses): &(String, Vec<String>)) -> String {
    format!(
        "Phones reach the camera page at {}\nwith a code from the pages; its certificate is {fingerprint}\n",
        addresses.join(" or ")
    )
}

/// What failed inside is told here in full; the pages say only that something did.
fn log_to_stderr() {
    // Where somebody listens already they go on listening.
    let _ = tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        .with_ansi(false)
        .with_max_level(tracing::Level::WARN)
        .try_init();
}

fn failed(error: &ServeError) -> Failure {
    let failure = Failure::of(error);
    match error {
        ServeError::Book(BookError::NotABook { path, .. }) => failure.hint(format!(
            "\"meltrange book new {}\" makes a new one",
            path.display()
        )),
        _ => failure,
    }
}

/// Print the interface's description.
pub(crate) fn describe(output: &Output) -> Result<(), Failure> {
    let text = meltrange_server::description()
        .to_pretty_json()
        .map_err(|error| Failure::of(&error))?;
    output.text(&format!("{text}\n"))
}
