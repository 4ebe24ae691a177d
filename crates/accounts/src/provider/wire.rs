//! Requests to an organisation: over TLS, to where they are sent and nowhere else, and not for ever.

use super::error::ProviderError;
use crate::limits::{PROVIDER_BYTES, PROVIDER_WAIT_S};
use openidconnect::http::Response;
use openidconnect::url::{Host, Url};
use openidconnect::{HttpRequest, HttpResponse};
use reqwest::redirect::Policy;
use std::time::Duration;

/// What asks.
#[derive(Debug, Clone)]
pub(super) struct Wire {
    client: reqwest::Client,
    /// The organisation is on this machine itself, for trying it out.
    is_here: bool,
}

/// Why nothing came back.
#[derive(Debug, thiserror::Error)]
pub(super) enum Unasked {
    #[error("it points to {0}, which is not reached by https://")]
    Elsewhere(String),
    #[error("the request failed")]
    Failed(#[from] reqwest::Error),
    #[error("the answer is longer than {PROVIDER_BYTES} bytes")]
    Long,
    #[error("the answer is none")]
    None(#[from] openidconnect::http::Error),
}

impl Wire {
    pub fn new(is_here: bool) -> Result<Self, ProviderError> {
        // Somebody may have chosen one already: any will do.
        let _ = rustls::crypto::ring::default_provider().install_default();
        let wait = Duration::from_secs(PROVIDER_WAIT_S);
        let client = reqwest::Client::builder()
            // An answer must not send this program to an address of its own network.
            .redirect(Policy::none())
            .https_only(!is_here)
            .connect_timeout(wait)
            .timeout(wait)
            .user_agent("meltrange")
            .build()
            .map_err(|error| ProviderError::Tls {
                found: super::error::in_full(&error),
            })?;
        Ok(Self { client, is_here })
    }

    /// Whether this may be asked, or a browser be sent there.
    pub fn may_go(&self, address: &Url) -> bool {
        may_be_asked(address) && (self.is_here || address.scheme() == "https")
    }

    /// One question.
    pub fn ask(
        &self,
        request: HttpRequest,
    ) -> impl Future<Output = Result<HttpResponse, Unasked>> + Send + 'static {
        let wire = self.clone();
        async move {
            let address = request.uri().to_string();
            let fits = Url::parse(&address).is_ok_and(|address| wire.may_go(&address));
            if !fits {
                return Err(Unasked::Elsewhere(address));
            }
            let mut answer = wire
                .client
                .execute(reqwest::Request::try_from(request)?)
                .await?;
            let mut made = Response::builder().status(answer.status());
            for (name, value) in answer.headers() {
                made = made.header(name, value);
            }
            let mut body = Vec::new();
            while let Some(part) = answer.chunk().await? {
                if body.len() + part.len() > PROVIDER_BYTES {
                    return Err(Unasked::Long);
                }
                body.extend_from_slice(&part);
            }
            Ok(made.body(body)?)
        }
    }
}

/// Whether nobody on the way reads along: over TLS, or on this machine itself.
pub(super) fn may_be_asked(address: &Url) -> bool {
    let is_here = match address.host() {
        Some(Host::Domain(name)) => name == "localhost",
        Some(Host::Ipv4(ip)) => ip.is_loopback(),
        Some(Host::Ipv6(ip)) => ip.is_loopback(),
        None => return false,
    };
    let is_nobodys = address.username().is_empty() && address.password().is_none();
    is_nobodys && (address.scheme() == "https" || (address.scheme() == "http" && is_here))
}
