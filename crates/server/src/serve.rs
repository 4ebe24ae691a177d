//! Serving a book until told to stop: on this machine, or to people with accounts.

use crate::limits::FAREWELL;
use crate::network::{self, Door, GuardOptions, Listen, keep_swept};
use crate::observing::Observer;
use crate::router::app;
use crate::state::AppState;
use meltrange_accounts::{AccountError, ProviderError};
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
    /// Serve it to people with accounts; if not, to whoever is on this machine.
    pub guard: Option<GuardOptions>,
    /// Where health and numbers are told, if anywhere.
    pub observe: Option<SocketAddr>,
    /// For how many days recordings that the store of a shared book has are kept on this machine unlooked at; if not
    /// said, for ever.
    pub keep_local_days: Option<u32>,
}

/// Where a book is served.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ready {
    /// Where browsers find it first.
    pub address: String,
    /// Where it is served in a network: SHA-256 of the certificate, and all addresses.
    pub network: Option<(String, Vec<String>)>,
    /// Fingerprint of the certificate and addresses for phones, when they were asked for.
    pub phones: Option<(String, Vec<String>)>,
    /// Where health and numbers are told.
    pub observed_at: Option<SocketAddr>,
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
    /// The address may not be used.
    #[error(
        "{at} cannot be listened at; expected an address of this machine and a port that may be used, e.g. 0.0.0.0:8443"
    )]
    Listen {
        /// Which.
        at: SocketAddr,
        /// What the system said.
        #[source]
        source: io::Error,
    },
    /// The certificate is none.
    #[error(
        "the certificate or its key cannot be used; expected PEM files as an authority gives them, found in {path}"
    )]
    Certificate {
        /// The file, or the book's folder.
        path: PathBuf,
        /// What is wrong.
        #[source]
        source: io::Error,
    },
    /// Nobody could come in who lets others in.
    #[error("no supervisor of {folder} has an account, so nobody could let others in")]
    NoSupervisor {
        /// The book.
        folder: PathBuf,
    },
    /// Accounts cannot be had.
    #[error(transparent)]
    Accounts(#[from] AccountError),
    /// The organisation whose accounts are to let people in cannot be asked.
    #[error(transparent)]
    SignIn(#[from] ProviderError),
    /// The listener for phones cannot be opened.
    #[error("phones cannot be let in: {0}")]
    Share(String),
    /// The machine gave out.
    #[error("the server could not go on")]
    Machine(#[source] io::Error),
}

/// Open the book, serve it, and end when interrupted or terminated.
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
    let bound = Bound::open(options).await?;
    let observer = match options.observe {
        Some(at) => Some(
            Observer::at(at)
                .await
                .map_err(|source| ServeError::Listen { at, source })?,
        ),
        None => None,
    };
    let book = Book::open(&options.folder, Access::Serve).await?;
    let state = match &options.guard {
        None => AppState::new(book)?,
        Some(guard) => match guard.open(&book).await {
            Ok(guarded) => {
                let state = AppState::guarded_by(book, guarded.clone())?;
                keep_swept(&state, guarded);
                state
            }
            Err(error) => {
                book.close().await;
                return Err(error);
            }
        },
    };
    let entrance = match bound.with_certificate(options) {
        Ok(entrance) => entrance,
        Err(error) => {
            state.close();
            state.close_book().await;
            return Err(error);
        }
    };
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
    let observed_at = observer.as_ref().and_then(|one| one.address().ok());
    if let Some(observer) = observer {
        observer.answer(&state);
    }
    if let Some(days) = options.keep_local_days {
        crate::local_copies::keep_for(&state, days);
    }
    ready(&Ready {
        phones,
        observed_at,
        ..entrance.ready()?
    });
    let stopping = state.clone();
    tokio::spawn(async move {
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
        served = entrance.serve(&state) => served.map_err(ServeError::Machine)?,
        () = late => tracing::debug!("requests under way were given up"),
    }
    let accounts = state.guarded().map(|guarded| guarded.accounts().clone());
    state.close_book().await;
    if let Some(accounts) = accounts {
        accounts.close().await;
    }
    Ok(())
}

/// Where requests come in, not answering yet.
enum Entrance {
    Loopback(TcpListener),
    Network(Box<Door>),
}

/// An address that was taken, and nothing else done yet.
enum Bound {
    Loopback(TcpListener),
    Network(std::net::TcpListener),
}

impl Bound {
    async fn open(options: &ServeOptions) -> Result<Self, ServeError> {
        match options.guard.as_ref().map(|guard| &guard.listen) {
            Some(Listen::Network { at, .. }) => Ok(Self::Network(network::listen(*at)?)),
            Some(Listen::Loopback) | None => Ok(Self::Loopback(listen(options.port).await?)),
        }
    }

    fn with_certificate(self, options: &ServeOptions) -> Result<Entrance, ServeError> {
        Ok(match (self, &options.guard) {
            (Self::Loopback(listener), _) => Entrance::Loopback(listener),
            (Self::Network(listener), Some(guard)) => {
                let certificate = match &guard.listen {
                    Listen::Network { certificate, .. } => certificate.as_ref(),
                    Listen::Loopback => None,
                };
                let door = Door::new(listener, guard, certificate, &options.folder)?;
                Entrance::Network(Box::new(door))
            }
            // Only accounts are served in a network.
            (Self::Network(_), None) => {
                return Err(ServeError::Machine(io::Error::other(
                    "a network without accounts",
                )));
            }
        })
    }
}

impl Entrance {
    fn ready(&self) -> Result<Ready, ServeError> {
        Ok(match self {
            Self::Loopback(listener) => {
                let address = listener.local_addr().map_err(ServeError::Machine)?;
                Ready {
                    address: format!("http://127.0.0.1:{}/", address.port()),
                    network: None,
                    phones: None,
                    observed_at: None,
                }
            }
            Self::Network(door) => Ready {
                address: door.addresses.first().cloned().unwrap_or_default(),
                network: Some((door.fingerprint.clone(), door.addresses.clone())),
                phones: None,
                observed_at: None,
            },
        })
    }

    /// Answer until the state closes.
    async fn serve(self, state: &AppState) -> io::Result<()> {
        match self {
            Self::Loopback(listener) => {
                let mut closing = state.closing();
                let service =
                    app(state.clone()).into_make_service_with_connect_info::<SocketAddr>();
                axum::serve(listener, service)
                    .with_graceful_shutdown(async move {
                        let _ = closing.wait_for(|closing| *closing).await;
                    })
                    .await
            }
            Self::Network(door) => door.serve(state).await,
        }
    }
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
pub async fn told_to_stop() {
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
