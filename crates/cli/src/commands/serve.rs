//! `meltrange serve`: the pages of a lab book on this machine; `meltrange openapi`: their interface.

use crate::args::{LogArgument, LogFormatArgument, ServeArguments};
use crate::book_access::beside_book;
use crate::failure::Failure;
use crate::output::Output;
use meltrange_labbook::{BookError, shown_place};
use meltrange_server::{GuardOptions, Listen, ServeError, ServeOptions, SignInOptions};

/// Serve a book until interrupted.
pub(crate) fn run(arguments: &ServeArguments, output: &Output) -> Result<(), Failure> {
    let options = ServeOptions {
        folder: arguments.book.clone(),
        port: arguments.port,
        share_camera: arguments.share_camera,
        guard: guard(arguments)?,
        observe: arguments.observe,
        keep_local_days: arguments.keep_local_days,
    };
    log_to_stderr(arguments.log, arguments.log_format);
    let mut printed = Ok(());
    meltrange_server::serve(&options, |ready| {
        let address = &ready.address;
        let network = ready.network.as_ref().map_or_else(String::new, network);
        let phones = ready.phones.as_ref().map_or_else(String::new, phones);
        let observed = ready.observed_at.map_or_else(String::new, |at| {
            format!("Health and numbers: http://{at}/health/ready and http://{at}/metrics\n")
        });
        printed = output.text(&format!(
            "{} is served at {address}\n{network}{phones}{observed}Ctrl-C ends it.\n",
            shown_place(&arguments.book)
        ));
        // A browser on the machine that serves others is in nobody's way, but of no use either.
        if !arguments.no_open && arguments.listen.is_none() {
            // Without a browser the address that was printed has to do.
            let _ = open::that_detached(address);
        }
    })
    .map_err(|error| failed(&error))?;
    printed
}

/// What an organisation is shown; no argument, which everybody on the machine can read.
const SECRET: &str = "MELTRANGE_OIDC_SECRET";

/// Who is let in, and where; none: whoever is on this machine.
fn guard(arguments: &ServeArguments) -> Result<Option<GuardOptions>, Failure> {
    let listen = match arguments.listen {
        Some(at) => Listen::Network {
            at,
            certificate: arguments.certificate.clone().zip(arguments.key.clone()),
        },
        None if arguments.guarded => Listen::Loopback,
        None if arguments.sign_in.is_some() => {
            return Err(Failure::new(
                "--sign-in lets people with accounts in, and this book is open to whoever is on this machine",
            )
            .hint("add --listen ADDRESS:PORT, or --guarded"));
        }
        None => return Ok(None),
    };
    let sign_in = arguments
        .sign_in
        .as_deref()
        .map(|file| SignInOptions::read(file, std::env::var(SECRET).ok()))
        .transpose()
        .map_err(|error| {
            Failure::of(&error)
                .hint("docs/people.md describes the file, section \"Accounts of an organisation\"")
        })?;
    Ok(Some(GuardOptions {
        listen,
        names: arguments.names.clone(),
        accounts: arguments
            .accounts
            .clone()
            .or_else(|| beside_book(&arguments.book)),
        sign_in,
    }))
}

/// Where people find the book, and how they know that it is it.
fn network((fingerprint, addresses): &(String, Vec<String>)) -> String {
    let more = match addresses.get(1..) {
        Some(more) if !more.is_empty() => format!("and at {}\n", more.join(", ")),
        _ => String::new(),
    };
    format!("{more}SHA-256 of its certificate: {fingerprint}\n")
}

/// Where phones find the camera page; what they are let in by is shown in the pages.
fn phones((fingerprint, addresses): &(String, Vec<String>)) -> String {
    format!(
        "Phones reach the camera page at {}\nwith a code from the pages; its certificate is {fingerprint}\n",
        addresses.join(" or ")
    )
}

/// What failed inside is told here in full; the pages say only that something did.
fn log_to_stderr(level: LogArgument, form: LogFormatArgument) {
    let lines = tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        .with_ansi(false)
        .with_max_level(match level {
            LogArgument::Warn => tracing::Level::WARN,
            LogArgument::Info => tracing::Level::INFO,
            LogArgument::Debug => tracing::Level::DEBUG,
        });
    // Where somebody listens already they go on listening.
    let _ = match form {
        LogFormatArgument::Text => lines.try_init(),
        LogFormatArgument::Json => lines.json().flatten_event(true).try_init(),
    };
}

fn failed(error: &ServeError) -> Failure {
    let failure = Failure::of(error);
    match error {
        ServeError::Book(BookError::NotABook { path, .. }) => failure.hint(format!(
            "\"meltrange book new {}\" makes a new one",
            path.display()
        )),
        ServeError::NoSupervisor { folder } => failure.hint(format!(
            "\"meltrange person invite {} NAME\" prints a code with which a supervisor chooses a passphrase; then serve it again",
            folder.display()
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
