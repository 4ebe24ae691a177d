//! The listener for phones: TLS on all interfaces, opened only when somebody asks for it.

use super::certificate::{Certificate, addresses, names};
use super::shared_pages::shared_app;
use crate::limits::FAREWELL;
use crate::state::AppState;
use axum_server::Handle;
use axum_server::tls_rustls::RustlsConfig;
use rustls::ServerConfig;
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener};
use std::sync::Arc;
use tokio::sync::Mutex;

/// Port tried first, and how many after it.
const FIRST_PORT: u16 = 8538;
const PORTS: u16 = 20;

/// The listener, when it is open.
#[derive(Debug, Default)]
pub(crate) struct Share(Mutex<Option<Open>>);

#[derive(Debug)]
struct Open {
    shared: Shared,
    handle: Handle<SocketAddr>,
    /// Asked for when the program was started: it stays open.
    is_lasting: bool,
}

/// How phones reach this machine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Shared {
    /// The port.
    pub port: u16,
    /// Addresses of this machine, the likeliest first.
    pub addresses: Vec<IpAddr>,
    /// SHA-256 of the certificate.
    pub fingerprint: String,
}

impl Shared {
    /// The page for this bench at each address, with a code.
    pub fn urls(&self, bench: &str, code: &str) -> Vec<String> {
        let bench = escaped(bench);
        self.addresses
            .iter()
            .map(|ip| format!("https://{ip}:{}/#/camera/{bench}?code={code}", self.port))
            .collect()
    }
}

/// Why the listener cannot be opened.
#[derive(Debug, thiserror::Error)]
pub(crate) enum ShareError {
    /// No certificate.
    #[error("the certificate for phones cannot be made or read in the book's folder")]
    Certificate(#[source] io::Error),
    /// The TLS library refuses it.
    #[error("the certificate for phones cannot be used")]
    Tls(#[from] rustls::Error),
    /// No port.
    #[error("no port from {FIRST_PORT} on can be opened to the network")]
    Port(#[source] io::Error),
}

impl Share {
    /// Open the listener unless it is.
    pub async fn open(&self, state: &AppState, is_lasting: bool) -> Result<Shared, ShareError> {
        let mut open = self.0.lock().await;
        if let Some(open) = &mut *open {
            open.is_lasting |= is_lasting;
            return Ok(open.shared.clone());
        }
        let addresses = addresses();
        let certificate = Certificate::kept_or_new(state.folder(), &names(&addresses))
            .map_err(ShareError::Certificate)?;
        let fingerprint = certificate.fingerprint();
        let config = tls(certificate)?;
        let listener = listen().map_err(ShareError::Port)?;
        let port = listener.local_addr().map_err(ShareError::Port)?.port();
        let handle = Handle::new();
        let server = axum_server::from_tcp_rustls(listener, RustlsConfig::from_config(config))
            .map_err(ShareError::Port)?
            .handle(handle.clone())
            .serve(shared_app(state.clone()).into_make_service());
        tokio::spawn(async move {
            if let Err(error) = server.await {
                tracing::error!(%error, "the listener for phones ended");
            }
        });
        let (ending, mut closing) = (handle.clone(), state.closing());
        tokio::spawn(async move {
            let _ = closing.wait_for(|closing| *closing).await;
            ending.graceful_shutdown(Some(FAREWELL));
        });
        let shared = Shared {
            port,
            addresses,
            fingerprint,
        };
        *open = Some(Open {
            shared: shared.clone(),
            handle,
            is_lasting,
        });
        Ok(shared)
    }

    /// Close the listener, unless it was asked for at the start.
    pub async fn close(&self) {
        let mut open = self.0.lock().await;
        if open.as_ref().is_some_and(|open| !open.is_lasting)
            && let Some(open) = open.take()
        {
            open.handle.graceful_shutdown(Some(FAREWELL));
        }
    }
}

/// How a listener speaks with this certificate.
pub(crate) fn tls(certificate: Certificate) -> Result<Arc<ServerConfig>, rustls::Error> {
    // The provider is named: nothing hangs on what another library installed for the process.
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let mut config = ServerConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()?
        .with_no_client_auth()
        .with_single_cert(certificate.chain, certificate.key)?;
    // WebSockets are upgrades of HTTP/1.1.
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    Ok(Arc::new(config))
}

fn listen() -> io::Result<TcpListener> {
    let at = |port| TcpListener::bind(SocketAddr::from((Ipv4Addr::UNSPECIFIED, port)));
    let listener = (FIRST_PORT..FIRST_PORT + PORTS)
        .find_map(|port| at(port).ok())
        .map_or_else(|| at(0), Ok)?;
    listener.set_nonblocking(true)?;
    Ok(listener)
}

/// As a part of an address (RFC 3986): all but unreserved characters as percent signs.
fn escaped(text: &str) -> String {
    text.bytes()
        .map(|byte| match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => {
                char::from(byte).to_string()
            }
            _ => format!("%{byte:02X}"),
        })
        .collect()
}
