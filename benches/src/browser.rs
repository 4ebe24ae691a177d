//! What a page asks for, over a connection of its own: enough of a browser to load a server with.

use http_body_util::{BodyExt as _, Empty};
use hyper::body::{Bytes, Incoming};
use hyper::client::conn::http1::{SendRequest, handshake};
use hyper::{Request, Response};
use hyper_util::rt::TokioIo;
use std::error::Error;
use std::net::SocketAddr;
use tokio::net::TcpStream;

/// An error of any kind that can go to another task.
pub type Failed = Box<dyn Error + Send + Sync>;

/// One connection.
#[derive(Debug)]
pub struct Browser {
    at: SocketAddr,
    sender: SendRequest<Empty<Bytes>>,
}

impl Browser {
    /// Connect.
    ///
    /// # Errors
    /// Nobody listens.
    pub async fn open(at: SocketAddr) -> Result<Self, Failed> {
        let (sender, connection) = handshake(TokioIo::new(TcpStream::connect(at).await?)).await?;
        tokio::spawn(connection);
        Ok(Self { at, sender })
    }

    /// Ask; the answer's head is there, its body may still come.
    ///
    /// # Errors
    /// No answer, or one that is no success.
    pub async fn ask(&mut self, path: &str) -> Result<Response<Incoming>, Failed> {
        self.sender.ready().await?;
        let request = Request::get(path)
            .header("host", self.at.to_string())
            .body(Empty::new())?;
        let answer = self.sender.send_request(request).await?;
        if !answer.status().is_success() && answer.status() != 304 {
            return Err(format!("{path}: {}", answer.status()).into());
        }
        Ok(answer)
    }

    /// Ask, and take the answer in whole.
    ///
    /// # Errors
    /// As [`Browser::ask`].
    pub async fn get(&mut self, path: &str) -> Result<Bytes, Failed> {
        let answer = self.ask(path).await?;
        Ok(answer.into_body().collect().await?.to_bytes())
    }
}

/// The value below which this part of all lies; 0 where there are none.
pub fn quantile(sorted: &[f64], part: f64) -> f64 {
    let at = (part * sorted.len() as f64).ceil() as usize;
    sorted
        .get(at.saturating_sub(1).min(sorted.len().saturating_sub(1)))
        .copied()
        .unwrap_or(0.0)
}
