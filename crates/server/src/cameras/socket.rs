//! The WebSocket of a camera page.

use super::link::{Connected, Link, Newcomer, NoTurn, Over};
use super::message::{FromPage, Hello, ToPage, VERSION, shown};
use super::page_clock::Exchange;
use crate::extract::somebody;
use crate::limits::{CAMERA_LABEL_CHARS, CAMERA_MESSAGE_BYTES, CAMERA_PING, CAMERA_SILENT};
use crate::state::AppState;
use axum::extract::ws::{CloseFrame, Message, WebSocket, WebSocketUpgrade, close_code};
use axum::response::Response;
use meltrange_labbook::{PersonId, Role};
use std::collections::BTreeMap;
use std::pin::Pin;
use std::sync::Arc;
use tokio::time::{Instant, interval, timeout};

/// Exchanges of clocks before pictures are let in.
const FIRST_PINGS: usize = 8;

/// How a page came.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Via {
    /// As one of this machine's own pages: it says who shows.
    Here,
    /// By a pass, through the listener for phones.
    Pass,
}

/// Who shows.
pub(crate) enum Showing {
    /// Whoever one of this machine's own pages says.
    Here,
    /// Somebody who was let in, until they are let in no more.
    LetIn {
        /// Who.
        person: PersonId,
        /// Ends when they are let in no more.
        until: Pin<Box<dyn Future<Output = ()> + Send>>,
    },
    /// Whoever holds a pass.
    ByPass,
}

/// Take the connection of a camera page for this bench.
pub(crate) fn camera_socket(
    upgrade: WebSocketUpgrade,
    state: AppState,
    link: Arc<Link>,
    who: Showing,
) -> Response {
    let (via, let_in, until): (_, _, Pin<Box<dyn Future<Output = ()> + Send>>) = match who {
        Showing::Here => (Via::Here, None, Box::pin(std::future::pending())),
        Showing::LetIn { person, until } => (Via::Here, Some(person), until),
        Showing::ByPass => (Via::Pass, None, Box::pin(std::future::pending())),
    };
    upgrade
        .max_message_size(CAMERA_MESSAGE_BYTES)
        .max_frame_size(CAMERA_MESSAGE_BYTES)
        .on_upgrade(move |socket| async move {
            let mut page = Page { socket };
            let mut closing = state.closing();
            let served = async {
                let end = serve(&mut page, &state, &link, via, let_in).await;
                page.end(end).await;
            };
            tokio::select! {
                () = served => {}
                () = until => {}
                // Everything else waits for this task to end.
                _ = closing.wait_for(|closing| *closing) => {}
            }
        })
}

/// How a connection ended.
#[derive(Debug)]
enum End {
    /// The page left, or cannot be reached.
    Left,
    /// It is told why it cannot stay.
    Refused(&'static str, String),
}

impl From<Over> for End {
    fn from(over: Over) -> Self {
        match over {
            Over::TakenOver => Self::Refused(
                "taken_over",
                "another camera, or another connection of this one, has taken over".into(),
            ),
            Over::Closed => Self::Refused("closed", "the bench is closed".into()),
        }
    }
}

#[derive(Debug)]
struct Page {
    socket: WebSocket,
}

impl Page {
    async fn say(&mut self, message: &ToPage) -> Result<(), End> {
        // Texts and numbers only: it can always be written.
        let text = serde_json::to_string(message).unwrap_or_default();
        match timeout(CAMERA_SILENT, self.socket.send(Message::Text(text.into()))).await {
            Ok(Ok(())) => Ok(()),
            _ => Err(End::Left),
        }
    }

    /// The next message; `Left` when the page is silent for too long.
    async fn hear(&mut self) -> Result<Message, End> {
        match timeout(CAMERA_SILENT, self.socket.recv()).await {
            Ok(Some(Ok(Message::Close(_)))) => Err(End::Left),
            Ok(Some(Ok(message))) => Ok(message),
            Ok(Some(Err(error))) => Err(End::Refused(
                "message",
                format!("a message cannot be taken: {error}"),
            )),
            Ok(None) | Err(_) => Err(End::Left),
        }
    }

    /// The next text or picture.
    async fn text(&mut self) -> Result<FromPage, End> {
        loop {
            match self.hear().await? {
                Message::Text(text) => return parsed(text.as_str()),
                Message::Binary(_) => {
                    return Err(End::Refused(
                        "message",
                        "a picture before the welcome".into(),
                    ));
                }
                _ => {}
            }
        }
    }

    async fn end(mut self, end: End) {
        if let End::Refused(reason, why) = end {
            // Whoever is gone does not hear it.
            let _ = self.say(&ToPage::Refused { reason, why }).await;
            let close = CloseFrame {
                code: close_code::NORMAL,
                reason: reason.into(),
            };
            let _ = timeout(CAMERA_SILENT, self.socket.send(Message::Close(Some(close)))).await;
        }
    }
}

fn parsed(text: &str) -> Result<FromPage, End> {
    serde_json::from_str(text)
        .map_err(|error| End::Refused("message", format!("a message is not as described: {error}")))
}

async fn serve(
    page: &mut Page,
    state: &AppState,
    link: &Arc<Link>,
    via: Via,
    let_in: Option<PersonId>,
) -> End {
    let mut connected = match greet(page, state, link, via, let_in).await {
        Ok(connected) => connected,
        Err(end) => return end,
    };
    let mut clocks = Clocks::default();
    let end = match show(page, &mut connected, &mut clocks).await {
        Ok(never) => match never {},
        Err(end) => end,
    };
    let why = match &end {
        End::Left => "the camera page lost its connection, or was closed".to_owned(),
        End::Refused(_, why) => why.clone(),
    };
    connected.gone(why).await;
    end
}

async fn greet(
    page: &mut Page,
    state: &AppState,
    link: &Arc<Link>,
    via: Via,
    let_in: Option<PersonId>,
) -> Result<Connected, End> {
    let FromPage::Hello(hello) = page.text().await? else {
        return Err(End::Refused(
            "hello",
            "the first message has to be a hello".into(),
        ));
    };
    let hello = checked(hello)?;
    if via == Via::Here {
        may_show(state, hello.person.as_deref(), let_in).await?;
    }
    let newcomer = Newcomer {
        session: hello.session,
        via,
        camera: hello.camera,
        size: hello.size,
        takes_over: hello.take_over,
    };
    link.take(newcomer).await.map_err(|no| match no {
        NoTurn::Held(camera) => End::Refused(
            "held",
            format!("another camera shows at this bench: {camera}"),
        ),
        NoTurn::Closed => Over::Closed.into(),
    })
}

fn checked(mut hello: Hello) -> Result<Hello, End> {
    if hello.version != VERSION {
        let why = format!(
            "the page speaks version {}, this program {VERSION}; load the page anew",
            hello.version
        );
        return Err(End::Refused("version", why));
    }
    if !(8..=64).contains(&hello.session.len()) || hello.size.iter().any(|&px| px > 65_535) {
        let why = "expected a session of 8 to 64 bytes and a size of at most 65535 px".into();
        return Err(End::Refused("hello", why));
    }
    hello.camera = hello
        .camera
        .chars()
        .filter(|c| !c.is_control())
        .take(CAMERA_LABEL_CHARS)
        .collect();
    Ok(hello)
}

/// Pictures are recorded: who shows them is somebody of the book, and not one who only looks.
async fn may_show(
    state: &AppState,
    person: Option<&str>,
    let_in: Option<PersonId>,
) -> Result<(), End> {
    let let_in = let_in.map(|person| person.to_string());
    if let (Some(said), Some(let_in)) = (person, &let_in)
        && said != let_in
    {
        return Err(End::Refused(
            "person",
            "somebody else is logged in than the page says".into(),
        ));
    }
    let person = let_in.as_deref().or(person);
    let who = somebody(state, person.unwrap_or_default()).await;
    match who {
        Ok(who) if who.role != Role::Viewer => Ok(()),
        Ok(_) => Err(End::Refused("person", "viewers only look".into())),
        Err(problem) => Err(End::Refused("person", problem.detail)),
    }
}

/// Pings on their way.
#[derive(Debug, Default)]
struct Clocks {
    next: u64,
    asked: BTreeMap<u64, f64>,
}

impl Clocks {
    /// A new ping at this bench time; those that were never answered are forgotten.
    fn ping(&mut self, now_s: f64) -> ToPage {
        let number = self.next;
        self.next += 1;
        self.asked.insert(number, now_s);
        while self.asked.len() > 32 {
            self.asked.pop_first();
        }
        ToPage::Ping { number }
    }

    fn answered(&mut self, number: u64, heard_s: f64, page_ms: f64) -> Option<Exchange> {
        let asked_s = self.asked.remove(&number)?;
        Some(Exchange {
            asked_s,
            heard_s,
            page_s: page_ms / 1000.0,
        })
    }
}

/// Compare clocks, then take pictures until one side ends it.
async fn show(
    page: &mut Page,
    connected: &mut Connected,
    clocks: &mut Clocks,
) -> Result<std::convert::Infallible, End> {
    let mut note = None;
    for _ in 0..FIRST_PINGS {
        page.say(&clocks.ping(connected.now_s())).await?;
        let FromPage::Pong {
            number,
            page_ms,
            wall_ms,
        } = page.text().await?
        else {
            return Err(End::Refused(
                "message",
                "expected the answer to a ping".into(),
            ));
        };
        if let Some(exchange) = clocks.answered(number, connected.now_s(), page_ms) {
            note = connected.pong(exchange, wall_ms / 1000.0).await?.or(note);
        }
    }
    connected.judge_clock(note).await?;
    let after = connected.last().await;
    page.say(&ToPage::Welcome { after }).await?;
    let mut pinging = interval(CAMERA_PING);
    pinging.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    let mut heard = Instant::now();
    loop {
        tokio::select! {
            over = connected.over() => return Err(over.into()),
            _ = pinging.tick() => {
                if heard.elapsed() > CAMERA_SILENT {
                    return Err(End::Left);
                }
                page.say(&clocks.ping(connected.now_s())).await?;
            }
            message = page.hear() => {
                let arrived_s = connected.now_s();
                heard = Instant::now();
                match message? {
                    Message::Text(text) => {
                        let FromPage::Pong { number, page_ms, wall_ms } = parsed(text.as_str())? else {
                            return Err(End::Refused("message", "a second hello".into()));
                        };
                        let Some(exchange) = clocks.answered(number, arrived_s, page_ms) else { continue };
                        if let Some(note) = connected.pong(exchange, wall_ms / 1000.0).await? {
                            let (offset_s, at_most_s) = (note.offset_s, note.at_most_s);
                            page.say(&ToPage::Clock { offset_s, at_most_s }).await?;
                        }
                    }
                    Message::Binary(bytes) => {
                        let shown = shown(&bytes).map_err(|why| End::Refused("message", why.into()))?;
                        let sequence = connected.picture(shown).await?;
                        page.say(&ToPage::Acknowledged { sequence }).await?;
                    }
                    _ => {}
                }
            }
        }
    }
}
