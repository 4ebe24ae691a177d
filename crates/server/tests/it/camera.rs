//! Camera pages over real WebSockets on loopback.

use crate::camera_page::{Page, Socket, Wire, jpeg, send};
use crate::workshop::{Served, wait};
use futures_util::SinkExt as _;
use meltrange_bench::{BenchClock, Camera as _, CameraNews, pushed_camera};
use std::net::SocketAddr;
use std::time::Duration;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::mpsc;
use tokio_tungstenite::tungstenite::client::IntoClientRequest as _;
use tokio_tungstenite::tungstenite::{Error, Message};

/// A book served on a socket, with an open bench "North 1" whose camera is a page.
struct Bench {
    served: Served,
    address: SocketAddr,
    clock: BenchClock,
    news: mpsc::Receiver<CameraNews>,
}

impl Bench {
    async fn open() -> Self {
        let served = Served::new().await;
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let address = listener.local_addr().expect("bound");
        let app = served.app.clone();
        tokio::spawn(async move { axum::serve(listener, app).await });
        let clock = BenchClock::start();
        let (camera, inlet) = pushed_camera();
        let (to, news) = mpsc::channel(64);
        tokio::spawn(Box::new(camera).show(clock, to));
        served.state.camera_links().offer("North 1", inlet, clock);
        Self {
            served,
            address,
            clock,
            news,
        }
    }

    fn page(&self, session: &str) -> Page {
        Page::new(session, &self.served.who)
    }

    async fn connect(&self) -> Socket {
        self.connect_from(None).await.expect("let in")
    }

    async fn connect_from(&self, origin: Option<&str>) -> Result<Socket, Error> {
        let wire = TcpStream::connect(self.address).await.expect("connects");
        let url = format!("ws://{}/api/live/North%201/camera", self.address);
        let mut request = url.into_client_request().expect("a request");
        if let Some(origin) = origin {
            let value = origin.parse().expect("a value");
            request.headers_mut().insert("origin", value);
        }
        let wire: Box<dyn Wire> = Box::new(wire);
        let (socket, _) = tokio_tungstenite::client_async(request, wire).await?;
        Ok(socket)
    }

    async fn next(&mut self) -> CameraNews {
        tokio::time::timeout(Duration::from_secs(15), self.news.recv())
            .await
            .expect("news within 15 s")
            .expect("the bench is open")
    }

    async fn picture(&mut self) -> (f64, Vec<u8>) {
        match self.next().await {
            CameraNews::Picture { time_s, jpeg } => (time_s, jpeg.to_vec()),
            other => panic!("a picture, not {other:?}"),
        }
    }

    async fn doubt(&mut self) -> String {
        match self.next().await {
            CameraNews::Doubt { what, .. } => what,
            other => panic!("a doubt, not {other:?}"),
        }
    }
}

#[test]
fn pictures_bear_the_bench_time_of_their_capture() {
    wait(async {
        let mut bench = Bench::open().await;
        let page = bench.page("page-one");
        let mut socket = bench.connect().await;
        let welcome = page.greet(&mut socket, page.hello(false)).await;
        assert_eq!(
            welcome,
            serde_json::json!({"type": "welcome", "after": null})
        );
        // Long enough for pictures that were captured a while ago.
        tokio::time::sleep(Duration::from_millis(500)).await;
        // Both clocks read at once: what the difference really is.
        let difference_s = bench.clock.now_s() - page.now_s();
        for sequence in 0..10 {
            // Captured 0.3 s before it is sent.
            let captured_s = page.now_s() - 0.3;
            assert_eq!(page.show(&mut socket, sequence, captured_s).await, sequence);
            let (time_s, bytes) = bench.picture().await;
            assert_eq!(bytes, jpeg(sequence));
            let wrong_s = time_s - captured_s - difference_s;
            assert!(wrong_s.abs() < 0.005, "{wrong_s}");
        }
        let seen = bench.served.state.camera_links().seen("North 1").await;
        let seen = seen.expect("a page shows");
        assert!(seen.connected && seen.pictures == 10, "{seen:?}");
        assert_eq!(
            (seen.camera.as_str(), seen.size),
            ("Camera of page-one", [640, 480])
        );
        let note = seen.clock.last().expect("compared");
        assert!(
            (note.offset_s - difference_s).abs() <= note.at_most_s + 1e-3,
            "{note:?}"
        );
        assert!(note.at_most_s < 0.05, "{note:?}");
    });
}

#[test]
fn a_page_that_comes_back_takes_up_where_it_was() {
    wait(async {
        let mut bench = Bench::open().await;
        let page = bench.page("page-one");
        let mut socket = bench.connect().await;
        page.greet(&mut socket, page.hello(false)).await;
        let begun_s = page.now_s();
        for sequence in 0..5 {
            page.show(&mut socket, sequence, begun_s + sequence as f64 * 0.01)
                .await;
            assert_eq!(bench.picture().await.1, jpeg(sequence));
        }
        drop(socket);
        let lost = bench.next().await;
        assert!(matches!(lost, CameraNews::Lost { .. }), "{lost:?}");

        let mut socket = bench.connect().await;
        let welcome = page.greet(&mut socket, page.hello(false)).await;
        assert_eq!(welcome["after"], 4);
        // Two that are there already, then those captured in the break.
        for sequence in [3, 4] {
            let page_s = begun_s + sequence as f64 * 0.01;
            assert_eq!(page.show(&mut socket, sequence, page_s).await, 4);
        }
        for sequence in 5..9 {
            page.show(&mut socket, sequence, begun_s + sequence as f64 * 0.01)
                .await;
        }
        let found = bench.next().await;
        assert!(matches!(found, CameraNews::Found { .. }), "{found:?}");
        let mut before_s = 0.0;
        for sequence in 5..9 {
            let (time_s, bytes) = bench.picture().await;
            assert_eq!(bytes, jpeg(sequence));
            assert!(time_s > before_s);
            before_s = time_s;
        }
        // The old connection hangs, unknown to the server: the new one counts at once.
        let mut again = bench.connect().await;
        assert_eq!(page.greet(&mut again, page.hello(false)).await["after"], 8);
        assert_eq!(page.hear(&mut socket).await["reason"], "taken_over");
        page.show(&mut again, 9, page.now_s()).await;
        assert_eq!(bench.picture().await.1, jpeg(9));
    });
}

#[test]
fn one_page_shows_at_a_time() {
    wait(async {
        let mut bench = Bench::open().await;
        let (one, two) = (bench.page("page-one"), bench.page("page-two"));
        let mut first = bench.connect().await;
        one.greet(&mut first, one.hello(false)).await;
        one.show(&mut first, 0, one.now_s()).await;
        bench.picture().await;
        let mut second = bench.connect().await;
        let refused = two.greet(&mut second, two.hello(false)).await;
        assert_eq!(refused["reason"], "held");
        assert!(
            refused["why"]
                .as_str()
                .expect("words")
                .contains("Camera of page-one")
        );
        let mut second = bench.connect().await;
        let welcome = two.greet(&mut second, two.hello(true)).await;
        assert_eq!(welcome["type"], "welcome");
        assert_eq!(one.hear(&mut first).await["reason"], "taken_over");
        two.show(&mut second, 0, two.now_s()).await;
        // The camera was never lost: another took its place.
        bench.picture().await;
        bench.served.state.camera_links().withdraw("North 1");
        assert_eq!(two.hear(&mut second).await["reason"], "closed");
        let gone = bench.connect_from(None).await;
        assert!(
            matches!(&gone, Err(Error::Http(answer)) if answer.status() == 404),
            "{gone:?}"
        );
    });
}

#[test]
fn doubts_are_told() {
    wait(async {
        let mut bench = Bench::open().await;
        let mut page = bench.page("page-one");
        let mut socket = bench.connect().await;
        page.greet(&mut socket, page.hello(false)).await;
        page.show(&mut socket, 0, page.now_s()).await;
        bench.picture().await;
        // Numbers that never come were given up by the page.
        page.show(&mut socket, 4, page.now_s()).await;
        assert!(bench.doubt().await.contains("3 pictures before this one"));
        let (before_s, _) = bench.picture().await;
        // The device's clock is set by five minutes: told, and without effect.
        page.wall_ahead_s += 300.0;
        let told = async {
            loop {
                let news = bench.next().await;
                if let CameraNews::Doubt { what, .. } = news {
                    return what;
                }
            }
        };
        let answering = async {
            let mut sequence = 5;
            loop {
                page.show(&mut socket, sequence, page.now_s()).await;
                sequence += 1;
                tokio::time::sleep(Duration::from_millis(100)).await;
            }
        };
        let what = tokio::select! { what = told => what, () = answering => unreachable!() };
        assert!(what.contains("+300.0 s"), "{what}");
        let difference_s = bench.clock.now_s() - page.now_s();
        let captured_s = page.now_s();
        send(&mut socket, 1000, captured_s).await;
        let time_s = loop {
            match bench.next().await {
                CameraNews::Picture {
                    time_s,
                    jpeg: found,
                } if *found == *jpeg(1000) => break time_s,
                _ => {}
            }
        };
        assert!(time_s > before_s);
        assert!((time_s - captured_s - difference_s).abs() < 0.02);
    });
}

#[test]
fn who_may_not_show_is_refused() {
    wait(async {
        let bench = Bench::open().await;
        // Pages elsewhere.
        for origin in ["http://evil.example", "null", "https://127.0.0.1"] {
            let refused = bench.connect_from(Some(origin)).await;
            assert!(
                matches!(&refused, Err(Error::Http(answer)) if answer.status() == 403),
                "{origin}"
            );
        }
        let own = format!("http://{}", bench.address);
        bench.connect_from(Some(&own)).await.expect("its own page");
        // Plain requests, and benches that are not open.
        let plain = bench.served.get("/api/live/North%201/camera").await;
        plain.problem(426, "socket");
        bench
            .served
            .get("/api/live/South/camera")
            .await
            .problem(404, "unknown");
        // Nobody, nobody of the book, and viewers.
        let viewer = bench.served.person("B. Looks", "viewer").await;
        for person in [None, Some("x".to_owned()), Some(viewer)] {
            let mut page = bench.page("page-one");
            page.person = person;
            let mut socket = bench.connect().await;
            let refused = page.greet(&mut socket, page.hello(false)).await;
            assert_eq!(refused["reason"], "person", "{refused}");
        }
        // Messages that are none.
        let page = bench.page("page-one");
        let mut hello = page.hello(false);
        hello["version"] = 2.into();
        let mut socket = bench.connect().await;
        assert_eq!(page.greet(&mut socket, hello).await["reason"], "version");
        let mut socket = bench.connect().await;
        let refused = page
            .greet(&mut socket, serde_json::json!({"type": "x"}))
            .await;
        assert_eq!(refused["reason"], "message");
        let mut socket = bench.connect().await;
        page.greet(&mut socket, page.hello(false)).await;
        let text = Message::binary(vec![7; 40]);
        socket.send(text).await.expect("sent");
        assert_eq!(page.hear(&mut socket).await["reason"], "message");
    });
}
