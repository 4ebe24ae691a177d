//! The listener for phones, over real TLS: who comes in, and that nothing else is reached through it.

use crate::camera_page::{Page, Socket, Wire};
use crate::workshop::{Served, text, wait};
use meltrange_bench::{BenchClock, pushed_camera};
use rustls::pki_types::pem::PemObject as _;
use rustls::pki_types::{CertificateDer, ServerName};
use serde_json::{Value, json};
use std::net::Ipv4Addr;
use std::sync::Arc;
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpStream;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_tungstenite::tungstenite::Error;
use tokio_tungstenite::tungstenite::client::IntoClientRequest as _;

/// A phone that trusts the certificate in the book's folder alone.
struct Phone {
    connector: TlsConnector,
    port: u16,
}

/// An answer in text.
struct Said {
    status: u16,
    head: String,
    body: String,
}

impl Phone {
    fn of(served: &Served, pass: &Value) -> Self {
        let path = served.folder.join("camera-certificate/certificate.pem");
        let certificate = CertificateDer::from_pem_file(path).expect("a certificate");
        let mut roots = rustls::RootCertStore::empty();
        roots.add(certificate).expect("trusted");
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let config = rustls::ClientConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .expect("versions")
            .with_root_certificates(roots)
            .with_no_client_auth();
        let url = text(&pass["ways"][0]["url"]);
        let port = url.split(['/', ':']).nth(4).expect("a port");
        Self {
            connector: TlsConnector::from(Arc::new(config)),
            port: port.parse().expect("a number"),
        }
    }

    async fn connect(&self) -> TlsStream<TcpStream> {
        let wire = TcpStream::connect((Ipv4Addr::LOCALHOST, self.port))
            .await
            .expect("the listener is open");
        // Also checks that the certificate stands for this name.
        let name = ServerName::try_from("127.0.0.1").expect("a name");
        self.connector.connect(name, wire).await.expect("TLS")
    }

    async fn ask(&self, method: &str, path: &str, more: &str, body: &str) -> Said {
        let mut stream = self.connect().await;
        let port = self.port;
        let request = format!(
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\nContent-Type: application/json\r\nContent-Length: {}\r\n{more}\r\n{body}",
            body.len()
        );
        stream.write_all(request.as_bytes()).await.expect("sent");
        let mut answer = Vec::new();
        // Some ends come without TLS's own goodbye.
        let _ = stream.read_to_end(&mut answer).await;
        let answer = String::from_utf8_lossy(&answer).into_owned();
        let (head, body) = answer.split_once("\r\n\r\n").expect("an answer");
        let status = head.split(' ').nth(1).expect("a status");
        Said {
            status: status.parse().expect("a number"),
            head: head.to_owned(),
            body: body.to_owned(),
        }
    }

    async fn redeem(&self, code: &str) -> Said {
        let body = json!({ "code": code }).to_string();
        self.ask("POST", "/api/camera-pass", "", &body).await
    }

    async fn socket(&self, bench: &str, cookie: &str, origin: &str) -> Result<Socket, Error> {
        let url = format!("wss://127.0.0.1:{}/api/live/{bench}/camera", self.port);
        let mut request = url.into_client_request().expect("a request");
        let headers = request.headers_mut();
        headers.insert("cookie", cookie.parse().expect("a value"));
        headers.insert("origin", origin.parse().expect("a value"));
        let wire: Box<dyn Wire> = Box::new(self.connect().await);
        let (socket, _) = tokio_tungstenite::client_async(request, wire).await?;
        Ok(socket)
    }
}

impl Said {
    fn cookie(&self) -> String {
        let line = self
            .head
            .lines()
            .find(|line| line.to_ascii_lowercase().starts_with("set-cookie:"))
            .expect("a cookie");
        for attribute in ["Secure", "HttpOnly", "SameSite=Strict", "Path=/"] {
            assert!(line.contains(attribute), "{line}");
        }
        assert!(!line.contains("Domain"), "{line}");
        let value = line.split_once(':').expect("a value").1.trim();
        value.split(';').next().expect("a pair").to_owned()
    }
}

fn open(served: &Served, bench: &str) -> meltrange_bench::PushedCamera {
    let (camera, inlet) = pushed_camera();
    served
        .state
        .camera_links()
        .offer(bench, inlet, BenchClock::start());
    camera
}

async fn pass(served: &Served, bench: &str) -> Value {
    let path = format!("/api/live/{bench}/camera-pass");
    served.post(&path, json!({})).await.expect(201)
}

fn code(pass: &Value) -> String {
    let url = text(&pass["ways"][0]["url"]);
    url.split_once("?code=").expect("a code").1.to_owned()
}

#[test]
fn a_phone_comes_in_once_and_to_its_own_bench_only() {
    wait(async {
        let served = Served::new().await;
        let _cameras = (open(&served, "North"), open(&served, "South"));
        let made = pass(&served, "North").await;
        assert_eq!(made["lasts_s"], 600);
        let way = &made["ways"][0];
        assert!(text(&way["url"]).starts_with("https://"));
        assert!(text(&way["url"]).contains("/#/camera/North?code="));
        assert!(text(&way["qr_svg"]).contains("<svg"));
        let phone = Phone::of(&served, &made);
        let code = code(&made);
        // 128 bits in letters of six.
        assert!(code.len() >= 22);

        assert_eq!(phone.redeem("AAAAAAAAAAAAAAAAAAAAAA").await.status, 403);
        assert_eq!(
            phone.ask("GET", "/api/camera-pass", "", "").await.status,
            403
        );
        let other = "Origin: https://evil.example\r\n";
        let body = json!({ "code": code }).to_string();
        let elsewhere = phone.ask("POST", "/api/camera-pass", other, &body).await;
        assert_eq!(elsewhere.status, 403);
        let admitted = phone.redeem(&code).await;
        assert_eq!(admitted.status, 200, "{}", admitted.body);
        assert!(admitted.body.contains("North"));
        let cookie = admitted.cookie();
        let used = phone.redeem(&code).await;
        assert_eq!(used.status, 403);
        assert!(used.body.contains("/problems/pass"), "{}", used.body);
        let held = format!("Cookie: a=b; {cookie}\r\n");
        let kept = phone.ask("GET", "/api/camera-pass", &held, "").await;
        assert_eq!((kept.status, kept.body.contains("North")), (200, true));

        let own = format!("https://127.0.0.1:{}", phone.port);
        let status = |answer: Result<Socket, Error>| match answer {
            Err(Error::Http(answer)) => answer.status().as_u16(),
            Err(other) => panic!("{other}"),
            Ok(_) => 101,
        };
        assert_eq!(status(phone.socket("South", &cookie, &own).await), 403);
        assert_eq!(status(phone.socket("North", "a=b", &own).await), 403);
        let guessed = format!("{}A", &cookie[..cookie.len() - 1]);
        if guessed != cookie {
            assert_eq!(status(phone.socket("North", &guessed, &own).await), 403);
        }
        assert_eq!(
            status(phone.socket("North", &cookie, "https://evil.example").await),
            403
        );
        let mut socket = phone.socket("North", &cookie, &own).await.expect("let in");
        let mut page = Page::new("phone-page", "");
        page.person = None;
        let welcome = page.greet(&mut socket, page.hello(false)).await;
        assert_eq!(welcome["type"], "welcome", "{welcome}");
        page.show(&mut socket, 0, page.now_s()).await;

        // Taken back: the connection ends, the cookie is good for nothing, and nobody listens any more.
        let path = "/api/live/North/camera-pass";
        let request = served
            .request("DELETE", path)
            .header("x-person", &served.who)
            .body(axum::body::Body::empty())
            .expect("a request");
        served.send(request).await.expect(204);
        assert_eq!(page.hear(&mut socket).await["reason"], "taken_over");
        tokio::time::sleep(std::time::Duration::from_millis(300)).await;
        let closed = TcpStream::connect((Ipv4Addr::LOCALHOST, phone.port)).await;
        assert!(closed.is_err(), "the listener is closed");
    });
}

#[test]
fn nothing_but_the_camera_page_is_reached() {
    wait(async {
        let served = Served::new().await;
        let _camera = open(&served, "North");
        let made = pass(&served, "North").await;
        let phone = Phone::of(&served, &made);
        let cookie = phone.redeem(&code(&made)).await.cookie();
        let held = format!("Cookie: {cookie}\r\nx-person: {}\r\n", served.who);
        let description = serde_json::to_value(meltrange_server::description()).expect("JSON");
        let mut asked = 0;
        for (path, methods) in description["paths"].as_object().expect("paths") {
            let path = path
                .split('/')
                .map(|part| if part.starts_with('{') { "North" } else { part })
                .collect::<Vec<_>>()
                .join("/");
            for method in methods.as_object().expect("methods").keys() {
                let method = method.to_uppercase();
                if (method.as_str(), path.as_str()) == ("GET", "/api/live/North/camera") {
                    continue;
                }
                let said = phone.ask(&method, &path, &held, "").await;
                assert_eq!(said.status, 404, "{method} {path}");
                asked += 1;
            }
        }
        assert!(asked > 25, "{asked}");
        for path in [
            "/openapi.json",
            "/index.html",
            "/samples",
            "/book.sqlite",
            "/assets/../index.html",
            "/assets/none.js",
            "/.vite/manifest.json",
            "/camera-certificate/key.pem",
        ] {
            let said = phone.ask("GET", path, &held, "").await;
            assert_eq!(said.status, 404, "{path}");
            assert!(!said.body.contains("PRIVATE"));
        }
        let page = phone.ask("GET", "/", "", "").await;
        assert!(
            page.head.contains("content-security-policy"),
            "{}",
            page.head
        );
        // Too large a body is not read.
        let long = format!("{{\"code\":\"{}\"}}", "A".repeat(2000));
        let said = phone.ask("POST", "/api/camera-pass", "", &long).await;
        assert_eq!(said.status, 413);
    });
}

#[test]
fn only_who_answers_for_it_opens_the_program_to_the_network() {
    wait(async {
        let served = Served::new().await;
        let student = served.person("S. Drossel", "student").await;
        let analyst = served.person("M. Fink", "analyst").await;
        let path = "/api/live/North/camera-pass";
        let closed = served.post(path, json!({})).await;
        closed.problem(404, "unknown");
        let _camera = open(&served, "North");
        served
            .post_as(&student, path, json!({}))
            .await
            .problem(403, "role");
        assert!(!served.folder.join("camera-certificate").exists());
        let first = served.post_as(&analyst, path, json!({})).await.expect(201);
        let second = served.post_as(&analyst, path, json!({})).await.expect(201);
        assert_eq!(first["fingerprint"], second["fingerprint"]);
        assert_ne!(code(&first), code(&second));
        let port = |pass: &Value| {
            text(&pass["ways"][0]["url"])
                .split('/')
                .nth(2)
                .map(str::to_owned)
        };
        assert_eq!(port(&first), port(&second), "one listener");
        served.state.close();
    });
}
