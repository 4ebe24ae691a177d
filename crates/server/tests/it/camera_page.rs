//! A camera page as a program: a clock of its own, and the messages of docs/server.md.

use futures_util::{SinkExt as _, StreamExt as _};
use serde_json::{Value, json};
use std::time::{Duration, Instant};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::Message;

/// What any connection can be.
pub trait Wire: AsyncRead + AsyncWrite + Unpin + Send + std::fmt::Debug {}
impl<T: AsyncRead + AsyncWrite + Unpin + Send + std::fmt::Debug> Wire for T {}

pub type Socket = WebSocketStream<Box<dyn Wire>>;

/// A page.
#[derive(Clone)]
pub struct Page {
    pub session: String,
    pub person: Option<String>,
    /// Its monotonic clock is this much ahead of the test's [s].
    pub ahead_s: f64,
    /// And its wall clock of that [s].
    pub wall_ahead_s: f64,
    opened: Instant,
}

impl Page {
    pub fn new(session: &str, person: &str) -> Self {
        Self {
            session: session.into(),
            person: Some(person.into()),
            ahead_s: 777.0,
            wall_ahead_s: 1.7e9,
            opened: Instant::now(),
        }
    }

    /// Its monotonic clock [s].
    pub fn now_s(&self) -> f64 {
        self.opened.elapsed().as_secs_f64() + self.ahead_s
    }

    pub fn hello(&self, take_over: bool) -> Value {
        let mut hello = json!({
            "type": "hello", "version": 1, "session": self.session,
            "camera": format!("Camera of {}", self.session), "size": [640, 480],
            "take_over": take_over,
        });
        if let Some(person) = &self.person {
            hello["person"] = json!(person);
        }
        hello
    }

    /// Say hello and answer pings until something else comes.
    pub async fn greet(&self, socket: &mut Socket, hello: Value) -> Value {
        say(socket, hello).await;
        self.hear(socket).await
    }

    /// What comes next that is no ping and no news of the clocks.
    pub async fn hear(&self, socket: &mut Socket) -> Value {
        loop {
            let message = tokio::time::timeout(Duration::from_secs(15), socket.next())
                .await
                .expect("a message within 15 s")
                .expect("the connection holds")
                .expect("a message");
            let Message::Text(text) = message else {
                continue;
            };
            let heard: Value = serde_json::from_str(&text).expect("JSON");
            match heard["type"].as_str() {
                Some("ping") => {
                    let now_s = self.now_s();
                    let pong = json!({
                        "type": "pong", "number": heard["number"],
                        "page_ms": now_s * 1000.0, "wall_ms": (now_s + self.wall_ahead_s) * 1000.0,
                    });
                    say(socket, pong).await;
                }
                Some("clock") => {}
                _ => return heard,
            }
        }
    }

    /// Show a picture captured at this page time; the number acknowledged.
    pub async fn show(&self, socket: &mut Socket, sequence: u64, page_s: f64) -> u64 {
        send(socket, sequence, page_s).await;
        let heard = self.hear(socket).await;
        assert_eq!(heard["type"], "acknowledged", "{heard}");
        heard["sequence"].as_u64().expect("a number")
    }
}

async fn say(socket: &mut Socket, message: Value) {
    let text = message.to_string();
    socket.send(Message::text(text)).await.expect("sent");
}

/// Send a picture whose bytes end in its number.
pub async fn send(socket: &mut Socket, sequence: u64, page_s: f64) {
    let mut message = sequence.to_le_bytes().to_vec();
    message.extend((page_s * 1000.0).to_le_bytes());
    message.extend(jpeg(sequence));
    socket.send(Message::binary(message)).await.expect("sent");
}

/// Not a picture that can be seen; the server looks at its first bytes alone.
pub fn jpeg(number: u64) -> Vec<u8> {
    let mut jpeg = vec![0xFF, 0xD8, 0xFF, 0xE0];
    jpeg.extend(number.to_le_bytes());
    jpeg
}
