//! A camera that sends motion JPEG over HTTP (`multipart/x-mixed-replace`), as network cameras and
//! small camera boards do.

use super::jpeg_stream::{Found, JpegSplitter};
use super::teller::{LARGEST_PICTURE, NobodyListens, STALLED, Teller};
use crate::bench_file::MjpegCameraSpec;
use crate::clock::BenchClock;
use crate::device::{Camera, CameraNews};
use async_trait::async_trait;
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use http_body_util::{BodyExt as _, Empty};
use hyper::body::{Bytes, Incoming};
use hyper::{Request, Uri, header};
use hyper_util::rt::TokioIo;
use tokio::net::TcpStream;
use tokio::sync::mpsc::Sender;
use tokio::time::timeout;

/// A network camera.
#[derive(Debug, Clone)]
pub struct MjpegCamera {
    host: String,
    port: u16,
    path: String,
    /// Name and password, as the header wants them.
    pass: Option<String>,
}

impl MjpegCamera {
    /// The camera at this address.
    ///
    /// # Errors
    /// What is wrong with the address: not `http://`, or without a host.
    pub fn new(spec: &MjpegCameraSpec) -> Result<Self, String> {
        let uri: Uri = spec
            .url
            .parse()
            .map_err(|error| format!("no address: {error}"))?;
        match uri.scheme_str() {
            Some("http") => {}
            Some("https") => {
                return Err("https, which is not spoken here; cameras are reached by http on their own network".into());
            }
            _ => return Err("not an http:// address".into()),
        }
        let authority = uri.authority().ok_or("without a host")?;
        let pass = authority
            .as_str()
            .rsplit_once('@')
            .map(|(pass, _)| format!("Basic {}", STANDARD.encode(unescaped(pass))));
        let path = uri.path_and_query().map_or("/", |path| path.as_str());
        Ok(Self {
            host: authority.host().to_owned(),
            port: authority.port_u16().unwrap_or(80),
            path: path.to_owned(),
            pass,
        })
    }

    /// Show pictures until the connection ends; why it ended.
    async fn show_once(&self, teller: &mut Teller) -> Result<String, NobodyListens> {
        let mut body = tokio::select! {
            body = timeout(STALLED, self.connect()) => match body {
                Ok(Ok(body)) => body,
                Ok(Err(why)) => return Ok(why),
                Err(_) => return Ok(format!("no answer from {} within {} s", self.place(), STALLED.as_secs())),
            },
            () = teller.closed() => return Err(NobodyListens),
        };
        let mut splitter = JpegSplitter::new(LARGEST_PICTURE);
        // Bytes may trickle in without ever making a picture, so pictures are what is waited for.
        let mut deadline = tokio::time::Instant::now() + STALLED;
        loop {
            let frame = tokio::select! {
                frame = body.frame() => frame,
                () = tokio::time::sleep_until(deadline) => {
                    return Ok(format!("no picture for {} s", STALLED.as_secs()));
                }
                () = teller.closed() => return Err(NobodyListens),
            };
            let arrived_s = teller.now_s();
            let data = match frame {
                None => return Ok("the camera ended the connection".into()),
                Some(Err(error)) => {
                    return Ok(format!("the connection broke: {}", in_full(&error)));
                }
                // Trailers are none of ours.
                Some(Ok(frame)) => frame.into_data().unwrap_or_default(),
            };
            let mut whole = 0;
            for found in splitter.push(&data) {
                match found {
                    Found::Picture(jpeg) => {
                        whole += 1;
                        teller.picture(arrived_s, jpeg).await?;
                    }
                    Found::Broken(why) => {
                        teller
                            .doubt("broken", format!("a picture was left out: {why}"))
                            .await?;
                    }
                }
            }
            if whole > 0 {
                deadline = tokio::time::Instant::now() + STALLED;
            }
            if whole > 1 {
                teller
                    .doubt("bunched", format!("{whole} pictures arrived at once; times are those of arrival and can be late"))
                    .await?;
            }
        }
    }

    async fn connect(&self) -> Result<Incoming, String> {
        let address = (self.host.trim_matches(['[', ']']), self.port);
        let stream = TcpStream::connect(address)
            .await
            .map_err(|error| format!("{} cannot be reached: {error}", self.place()))?;
        // Nothing but the request is ever sent; a delay of it would not matter either.
        let _ = stream.set_nodelay(true);
        let (mut sender, connection) = hyper::client::conn::http1::Builder::new()
            .allow_spaces_after_header_name_in_responses(true)
            .allow_obsolete_multiline_headers_in_responses(true)
            .ignore_invalid_headers_in_responses(true)
            .handshake(TokioIo::new(stream))
            .await
            .map_err(|error| in_full(&error))?;
        // Ends when the body is dropped, or the camera hangs up.
        tokio::spawn(connection);
        let mut request = Request::get(&self.path)
            .header(header::HOST, format!("{}:{}", self.host, self.port))
            .header(header::ACCEPT, "multipart/x-mixed-replace, image/jpeg");
        if let Some(pass) = &self.pass {
            request = request.header(header::AUTHORIZATION, pass);
        }
        let request = request
            .body(Empty::<Bytes>::new())
            .map_err(|error| error.to_string())?;
        let answer = sender.send_request(request).await.map_err(|error| {
            format!(
                "{} did not answer as HTTP does: {}",
                self.place(),
                in_full(&error)
            )
        })?;
        if !answer.status().is_success() {
            return Err(format!(
                "{} answered {}; expected 200 and pictures",
                self.place(),
                answer.status()
            ));
        }
        let kind = answer
            .headers()
            .get(header::CONTENT_TYPE)
            .and_then(|kind| kind.to_str().ok())
            .unwrap_or("");
        let lower = kind.to_ascii_lowercase();
        // A page or one picture is no stream. No type at all is given by some boards.
        if lower.starts_with("text/") || lower.starts_with("image/") {
            return Err(format!(
                "{} sends {kind}; expected multipart/x-mixed-replace: the camera's manual names the address of its motion JPEG stream",
                self.place()
            ));
        }
        Ok(answer.into_body())
    }

    /// As errors name it: without name and password.
    fn place(&self) -> String {
        format!("http://{}:{}{}", self.host, self.port, self.path)
    }
}

/// Percent signs of a name or password resolved (RFC 3986, 2.1).
fn unescaped(text: &str) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes();
    while let [first, after @ ..] = rest {
        let escaped = after
            .get(..2)
            .and_then(|two| std::str::from_utf8(two).ok())
            .filter(|_| *first == b'%')
            .and_then(|two| u8::from_str_radix(two, 16).ok());
        bytes.push(escaped.unwrap_or(*first));
        rest = if escaped.is_some() {
            &after[2..]
        } else {
            after
        };
    }
    bytes
}

fn in_full(error: &dyn std::error::Error) -> String {
    match error.source() {
        Some(cause) => format!("{error}: {cause}"),
        None => error.to_string(),
    }
}

#[async_trait]
impl Camera for MjpegCamera {
    async fn show(self: Box<Self>, clock: BenchClock, to: Sender<CameraNews>) {
        let mut teller = Teller::new(clock, to);
        loop {
            let Ok(why) = self.show_once(&mut teller).await else {
                return;
            };
            tracing::debug!(camera = self.place(), why, "no pictures");
            if teller.lost(why).await.is_err() || teller.pause().await.is_err() {
                return;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn camera(url: &str) -> Result<MjpegCamera, String> {
        MjpegCamera::new(&MjpegCameraSpec { url: url.into() })
    }

    #[test]
    fn addresses_are_taken_apart() {
        let plain = camera("http://10.0.0.9/stream?x=1").expect("an address");
        assert_eq!(
            (plain.host.as_str(), plain.port, plain.path.as_str()),
            ("10.0.0.9", 80, "/stream?x=1")
        );
        assert_eq!(plain.pass, None);
        let named = camera("http://lab:a%3Ab@[::1]:8081").expect("an address");
        assert_eq!(named.place(), "http://[::1]:8081/");
        // RFC 7617: base64 of "lab:a:b", by coreutils' base64.
        assert_eq!(named.pass.as_deref(), Some("Basic bGFiOmE6Yg=="));
        assert_eq!(unescaped("100%"), b"100%");
        for (url, part) in [
            ("https://a/", "https"),
            ("rtsp://a/", "not an http://"),
            ("a", "not an http://"),
            ("", "no address"),
        ] {
            let why = camera(url).expect_err(url);
            assert!(why.contains(part), "{url}: {why}");
        }
    }
}
