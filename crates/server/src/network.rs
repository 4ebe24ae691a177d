//! Serving a book to people with accounts: in a network over TLS, or on loopback.

use crate::admission::{Guarded, Wire, now_s};
use crate::cameras::{Certificate, addresses, names, tls};
use crate::limits::{ACCOUNTS_SWEPT, SAID_WITHIN};
use crate::serve::ServeError;
use crate::sign_in::{SignIn, SignInOptions};
use crate::state::AppState;
use axum_server::tls_rustls::RustlsConfig;
use hyper_util::rt::TokioTimer;
use meltrange_accounts::{Accounts, Place};
use meltrange_labbook::{Book, Role};
use std::collections::BTreeSet;
use std::io;
use std::net::{IpAddr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};

/// Where people with accounts reach the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Listen {
    /// On loopback, without TLS: for a program that stands between here and the network.
    Loopback,
    /// At this address of this machine, over TLS.
    Network {
        /// Address and port.
        at: SocketAddr,
        /// Files (PEM) of a certificate and its key; without them the one that the book's folder keeps.
        certificate: Option<(PathBuf, PathBuf)>,
    },
}

/// How a book is served to people with accounts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GuardOptions {
    /// Where.
    pub listen: Listen,
    /// Further names of this machine, as browsers are to call it.
    pub names: Vec<String>,
    /// Where accounts are kept, if not in the book's folder: `postgres://…`.
    pub accounts: Option<String>,
    /// The organisation whose accounts let people in, too.
    pub sign_in: Option<SignInOptions>,
}

impl GuardOptions {
    /// Everything this machine may be called.
    fn hosts(&self) -> BTreeSet<String> {
        let mut hosts: BTreeSet<String> = self.names.iter().cloned().collect();
        if let Listen::Network { at, .. } = &self.listen {
            hosts.extend(names(&reached_at(at.ip())));
            if !at.ip().is_unspecified() {
                hosts.insert(at.ip().to_string());
            }
        }
        hosts
    }

    /// Open the accounts of a book, and see that somebody could come in.
    pub(crate) async fn open(&self, book: &Book) -> Result<Guarded, ServeError> {
        let sign_in = self.sign_in.clone().map(SignIn::new).transpose()?;
        let place = match &self.accounts {
            Some(address) => Place::Address(address.clone()),
            None => Place::Folder(book.folder().into()),
        };
        let accounts = Accounts::open(&place).await?;
        let people = book.store().people().await?;
        let supervisors: Vec<String> = people
            .into_iter()
            .filter(|person| person.role == Role::Supervisor)
            .map(|person| person.id.to_string())
            .collect();
        if !accounts.any_ready(&supervisors, now_s()).await? {
            return Err(ServeError::NoSupervisor {
                folder: book.folder().into(),
            });
        }
        let wire = match self.listen {
            Listen::Loopback => Wire::Loopback,
            Listen::Network { .. } => Wire::Tls,
        };
        let hosts = self.hosts();
        Ok(Guarded::signing_in(
            accounts,
            book.folder(),
            wire,
            hosts,
            sign_in,
        ))
    }
}

/// The addresses that somebody reaches when the listener is at this one.
fn reached_at(at: IpAddr) -> Vec<IpAddr> {
    if at.is_unspecified() {
        addresses()
    } else {
        vec![at]
    }
}

/// Take an address of this machine; nobody is answered yet.
pub(crate) fn listen(at: SocketAddr) -> Result<TcpListener, ServeError> {
    let listener = TcpListener::bind(at).map_err(|source| match source.kind() {
        io::ErrorKind::AddrInUse => ServeError::PortTaken { port: at.port() },
        _ => ServeError::Listen { at, source },
    })?;
    listener
        .set_nonblocking(true)
        .map_err(ServeError::Machine)?;
    Ok(listener)
}

/// A listener in the network, not yet answering.
#[derive(Debug)]
pub(crate) struct Door {
    listener: TcpListener,
    config: RustlsConfig,
    /// SHA-256 of the certificate.
    pub fingerprint: String,
    /// Where browsers find it, the likeliest first.
    pub addresses: Vec<String>,
}

impl Door {
    /// With a certificate, which may be made in the book's folder.
    pub fn new(
        listener: TcpListener,
        options: &GuardOptions,
        certificate: Option<&(PathBuf, PathBuf)>,
        book: &Path,
    ) -> Result<Self, ServeError> {
        let at = listener.local_addr().map_err(ServeError::Machine)?;
        let port = at.port();
        let kept = match certificate {
            Some((certificate, key)) => {
                Certificate::of_files(certificate, key).map_err(|source| ServeError::Certificate {
                    path: certificate.clone(),
                    source,
                })
            }
            None => Certificate::kept_or_new(book, &options.hosts()).map_err(|source| {
                ServeError::Certificate {
                    path: book.into(),
                    source,
                }
            }),
        }?;
        let fingerprint = kept.fingerprint();
        let config = tls(kept).map_err(|error| ServeError::Certificate {
            path: certificate.map_or_else(|| book.into(), |(path, _)| path.clone()),
            source: io::Error::other(error),
        })?;
        let named = options.names.iter().cloned();
        let reached = reached_at(at.ip()).into_iter().map(|ip| match ip {
            IpAddr::V4(ip) => ip.to_string(),
            IpAddr::V6(ip) => format!("[{ip}]"),
        });
        Ok(Self {
            listener,
            config: RustlsConfig::from_config(config),
            fingerprint,
            addresses: named
                .chain(reached)
                .map(|host| format!("https://{host}:{port}/"))
                .collect(),
        })
    }

    /// Answer until the state closes.
    pub async fn serve(self, state: &AppState) -> io::Result<()> {
        let handle = axum_server::Handle::new();
        let (ending, mut closing) = (handle.clone(), state.closing());
        tokio::spawn(async move {
            let _ = closing.wait_for(|closing| *closing).await;
            ending.graceful_shutdown(Some(crate::limits::FAREWELL));
        });
        let mut server = axum_server::from_tcp_rustls(self.listener, self.config)?.handle(handle);
        // A connection that never says what it wants does not stay.
        server
            .http_builder()
            .http1()
            .timer(TokioTimer::new())
            .header_read_timeout(SAID_WITHIN);
        server
            .serve(
                crate::router::app(state.clone())
                    .into_make_service_with_connect_info::<SocketAddr>(),
            )
            .await
    }
}

/// Sweep what is over away from time to time, until the state closes.
pub(crate) fn keep_swept(state: &AppState, guarded: Guarded) {
    let mut closing = state.closing();
    tokio::spawn(async move {
        loop {
            if let Err(error) = guarded.accounts().sweep(now_s()).await {
                tracing::warn!(%error, "sessions and invitations that are over were not swept away");
            }
            tokio::select! {
                () = tokio::time::sleep(ACCOUNTS_SWEPT) => {}
                _ = closing.wait_for(|closing| *closing) => return,
            }
        }
    });
}
