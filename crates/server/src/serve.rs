//! Serving a book on this machine until told to stop.

use crate::limits::FAREWELL;
use crate::router::app;
use crate::state::AppState;
use meltrange_labbook::{Access, Book, BookError};
use std::io;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use tokio::net::TcpListener;

/// Port tried first when none is asked for, and how many after it.
const FIRST_PORT: u16 = 8437;
const PORTS: u16 = 20;

/// What to serve.
#[derive(Debug, Clone)]
pub struct ServeOptions {
    /// The book's folder.
    pub folder: PathBuf,
    /// Port; some free one if not said, 0 for any.
    pub port: Option<u16>,
    /// Open the listener for phones at once.
    pub share_camera: bool,
}

/// Where a book is served.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ready {
    /// On this machine.
    pub address: String,
    /// Fingerprint of the certificate and addresses for phones, when they were asked for.
    pub phones: Option<(String, Vec<String>)>,
}

/// Why a book could not be served.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ServeError {
    /// The book cannot be opened.
    #[error(transparent)]
    Book(#[from] BookError),
    /// Somebody else has the port.
    #[error("port {port} is taken by another program; name another with --port, or leave it out")]
    PortTaken {
        /// Which.
        port: u16,
    },
    /// The port may not be used.
    #[error("port {port} of this machine cannot be used")]
    Port {
        /// Which.
        port: u16,
        /// What the system said.
        #[source]
        source: io::Error,
    },
    /// The listener for phones cannot be opened.
    #[error("phones cannot be let in: {0}")]
    Share(String),
    /// The machine gave out.
    #[error("the server could not go on")]
    Machine(#[source] io::Error),
}

/// Open the book, serve it on loopback, and end when interrupted or terminated.
///
/// `ready` hears the addresses as soon as pages can be fetched.
///
/// # Errors
/// [`ServeError`]: the book cannot be opened to write (in use, read-only, newer), or the port is taken.
pub fn serve(options: &ServeOptions, ready: impl FnOnce(&Ready)) -> Result<(), ServeError> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(ServeError::Machine)?;
    let served = runtime.block_on(run(options, ready));
    // A reading under way is given up; what it had not recorded yet was never there.
    runtime.shutdown_background();
    served
}

async fn run(options: &ServeOptions, ready: impl FnOnce(&Ready)) -> Result<(), ServeError> {
    // The port first: taking it leaves no trace in the book.
    let listener = listen(options.port).await?;
    let address = listener.local_addr().map_err(ServeError::Machine)?;
    let book = Book::open(&options.folder, Access::Serve).await?;
    let state = AppState::new(book)?;
    let mut phones = None;
    if options.share_camera {
        let shared = state
            .share()
            .open(&state, true)
            .await
            .map_err(|error| ServeError::Share(crate::problem::in_full(&error)))?;
        let addresses = shared.addresses.iter();
        let addresses = addresses.map(|ip| format!("https://{ip}:{}/", shared.port));
        phones = Some((shared.fingerprint.clone(), addresses.collect()));
    }
    ready(&Ready {
        address: format!("http://127.0.0.1:{}/", address.port()),
        phones,
    });
    let stopping = state.clone();
    let serving = axum::serve(listener, app(state.clone())).with_graceful_shutdown(async move {
        told_to_stop().await;
        stopping.close();
    });
    let mut closing = state.closing();
    let late = async move {
        // Ends together with the state at the latest.
        let _ = closing.wait_for(|closing| *closing).await;
        tokio::time::sleep(FAREWELL).await;
    };
    tokio::select! {
        served = serving.into_future() => served.map_err(ServeError::Machine)?,
        () = late => tracing::debug!("requests under way were given up"),
    }
    state.close_book().await;
    Ok(())
}

/// The port asked for, or the first free one of a few, or any.
async fn listen(port: Option<u16>) -> Result<TcpListener, ServeError> {
    let at = |port| SocketAddr::from((Ipv4Addr::LOCALHOST, port));
    if let Some(port) = port {
        return TcpListener::bind(at(port))
            .await
            .map_err(|source| match source.kind() {
                io::ErrorKind::AddrInUse => ServeError::PortTaken { port },
                _ => ServeError::Port { port, source },
            });
    }
    for port in FIRST_PORT..FIRST_PORT + PORTS {
        if let Ok(listener) = TcpListener::bind(at(port)).await {
            return Ok(listener);
        }
    }
    TcpListener::bind(at(0))
        .await
        .map_err(|source| ServeError::Port { port: 0, source })
}

/// Returns when the person or the system wants the program to end.
async fn told_to_stop() {
    let interrupted = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminated) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = interrupted => {}
                _ = terminated.recv() => {}
            }
            return;
        }
    }
    // Without handlers the system ends the program in its own way.
    let _ = interrupted.await;
}
