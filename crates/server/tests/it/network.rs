//! A book served in the network, over real TLS, as `meltrange serve --listen` does it.

use crate::guarded::GOOD;
use crate::workshop::wait;
use meltrange_accounts::{AccessKind, Accounts, Knock, Place};
use meltrange_labbook::{Book, Person, Role};
use meltrange_server::{GuardOptions, Listen, Ready, ServeError, ServeOptions, serve};
use rustls::pki_types::pem::PemObject as _;
use rustls::pki_types::{CertificateDer, ServerName};
use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};
use std::net::{Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::sync::{Arc, mpsc};
use std::time::Duration;
use tempfile::TempDir;
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpStream;
use tokio_rustls::TlsConnector;

/// A new book of R. Amsel; and their id.
pub async fn new_book(room: &TempDir) -> (PathBuf, String) {
    let folder = room.path().join("book");
    let first = Person {
        name: "R. Amsel".into(),
        role: Role::Supervisor,
    };
    let (book, who) = Book::create(&folder, "Evening practical", first)
        .await
        .expect("there is room");
    book.close().await;
    (folder, who.to_string())
}

fn options(folder: &Path, certificate: Option<(PathBuf, PathBuf)>) -> ServeOptions {
    ServeOptions {
        folder: folder.into(),
        port: None,
        share_camera: false,
        guard: Some(GuardOptions {
            listen: Listen::Network {
                at: SocketAddr::from((Ipv4Addr::LOCALHOST, 0)),
                certificate,
            },
            names: vec!["bench.example.edu".into()],
            accounts: None,
            sign_in: None,
        }),
        observe: None,
        keep_local_days: None,
    }
}

/// Serve it in a thread that ends with the process; what it says when it is ready.
pub fn served(options: ServeOptions) -> Ready {
    let (tell, told) = mpsc::channel();
    std::thread::spawn(move || {
        serve(&options, |ready| {
            tell.send(ready.clone()).expect("somebody waits")
        })
    });
    told.recv_timeout(Duration::from_secs(30))
        .expect("it serves")
}

async fn joined(folder: &Path, who: &str) -> Accounts {
    let accounts = Accounts::open(&Place::Folder(folder.into()))
        .await
        .expect("opened");
    let now_s = jiff::Timestamp::now().as_second();
    let knock = Knock {
        from: String::new(),
        agent: String::new(),
        now_s,
    };
    let invitation = accounts.invite(who, "", "", now_s).await.expect("invited");
    accounts
        .accept(&invitation.code, "R. Amsel", GOOD, &knock)
        .await
        .expect("accepted");
    accounts
}

/// A browser that trusts one certificate.
struct Browser {
    connector: TlsConnector,
    port: u16,
}

impl Browser {
    fn new(certificate: &Path, ready: &Ready) -> Self {
        let certificate = CertificateDer::from_pem_file(certificate).expect("a certificate");
        let pairs: Vec<String> = Sha256::digest(&certificate)
            .iter()
            .map(|byte| format!("{byte:02X}"))
            .collect();
        let (fingerprint, addresses) = ready.network.as_ref().expect("a network");
        assert_eq!(*fingerprint, pairs.join(":"));
        assert_eq!(ready.address, addresses[0]);
        assert!(
            ready.address.starts_with("https://bench.example.edu:"),
            "{}",
            ready.address
        );
        let mut roots = rustls::RootCertStore::empty();
        roots.add(certificate).expect("trusted");
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let config = rustls::ClientConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .expect("versions")
            .with_root_certificates(roots)
            .with_no_client_auth();
        let port = ready
            .address
            .trim_end_matches('/')
            .rsplit(':')
            .next()
            .expect("a port");
        Self {
            connector: TlsConnector::from(Arc::new(config)),
            port: port.parse().expect("a number"),
        }
    }

    /// Head and body of an answer.
    async fn ask(
        &self,
        method: &str,
        path: &str,
        host: &str,
        more: &str,
        body: &str,
    ) -> (u16, String, Value) {
        let wire = TcpStream::connect((Ipv4Addr::LOCALHOST, self.port))
            .await
            .expect("it listens");
        // Also checks that the certificate stands for this name.
        let name = ServerName::try_from("bench.example.edu").expect("a name");
        let mut stream = self.connector.connect(name, wire).await.expect("TLS");
        let request = format!(
            "{method} {path} HTTP/1.1\r\nHost: {host}:{}\r\nConnection: close\r\nContent-Type: application/json\r\nContent-Length: {}\r\n{more}\r\n{body}",
            self.port,
            body.len()
        );
        stream.write_all(request.as_bytes()).await.expect("sent");
        let mut answer = Vec::new();
        // Some ends come without TLS's own goodbye.
        let _ = stream.read_to_end(&mut answer).await;
        let answer = String::from_utf8_lossy(&answer).into_owned();
        let (head, body) = answer.split_once("\r\n\r\n").expect("an answer");
        let status = head
            .split(' ')
            .nth(1)
            .expect("a status")
            .parse()
            .expect("a number");
        (
            status,
            head.to_lowercase(),
            serde_json::from_str(body).unwrap_or_default(),
        )
    }

    async fn get(&self, path: &str, more: &str) -> (u16, String, Value) {
        self.ask("GET", path, "bench.example.edu", more, "").await
    }
}

#[test]
fn nobody_is_served_where_no_supervisor_could_come_in() {
    let room = tempfile::tempdir().expect("a temporary folder");
    let (folder, who) = wait(new_book(&room));
    let refused = serve(&options(&folder, None), |_| panic!("nothing is served"));
    assert!(
        matches!(refused, Err(ServeError::NoSupervisor { .. })),
        "{refused:?}"
    );
    // An invitation is enough: with it a supervisor comes in.
    wait(async {
        let accounts = Accounts::open(&Place::Folder(folder.clone()))
            .await
            .expect("opened");
        let now_s = jiff::Timestamp::now().as_second();
        accounts.invite(&who, "", "", now_s).await.expect("invited");
        accounts.close().await;
    });
    served(options(&folder, None));
    // What is no book gets nothing put into it.
    let nowhere = room.path().join("nowhere");
    let refused = serve(&options(&nowhere, None), |_| panic!("nothing is served"));
    assert!(matches!(refused, Err(ServeError::Book(_))), "{refused:?}");
    assert!(!nowhere.exists());
}

#[test]
fn people_in_the_network_come_in_over_tls_alone() {
    let room = tempfile::tempdir().expect("a temporary folder");
    let (folder, who) = wait(new_book(&room));
    let accounts = wait(joined(&folder, &who));
    wait(accounts.close());
    let ready = served(options(&folder, None));
    let browser = Browser::new(&folder.join("camera-certificate/certificate.pem"), &ready);
    wait(async {
        let (status, head, me) = browser.get("/api/me", "").await;
        assert_eq!(
            (status, &me["guarded"], &me["person"]),
            (200, &json!(true), &Value::Null)
        );
        // RFC 6797; and what every answer carries.
        assert!(
            head.contains("strict-transport-security: max-age=31536000"),
            "{head}"
        );
        assert!(
            head.contains("content-security-policy: default-src 'none'"),
            "{head}"
        );
        let (status, _, problem) = browser.get("/api/samples", "").await;
        assert_eq!(
            (status, &problem["type"]),
            (401, &json!("/problems/log-in"))
        );
        // What is said alone is nothing.
        let (status, ..) = browser
            .get("/api/samples", &format!("x-person: {who}\r\n"))
            .await;
        assert_eq!(status, 401);
        for host in ["evil.example", "bench.example.edu.evil.example"] {
            let (status, ..) = browser.ask("GET", "/api/me", host, "", "").await;
            assert_eq!(status, 403, "{host}");
        }
        let body = json!({ "name": "R. Amsel", "passphrase": GOOD }).to_string();
        let origin = format!(
            "x-own-page: 1\r\nOrigin: https://bench.example.edu:{}\r\n",
            browser.port
        );
        for other in ["https://evil.example", "http://bench.example.edu"] {
            let foreign = format!("x-own-page: 1\r\nOrigin: {other}\r\n");
            let (status, ..) = browser
                .ask("POST", "/api/login", "bench.example.edu", &foreign, &body)
                .await;
            assert_eq!(status, 403, "{other}");
        }
        let (status, head, me) = browser
            .ask("POST", "/api/login", "bench.example.edu", &origin, &body)
            .await;
        assert_eq!((status, &me["person"]["name"]), (200, &json!("R. Amsel")));
        let line = head
            .lines()
            .find(|line| line.starts_with("set-cookie:"))
            .expect("a cookie")
            .to_owned();
        for attribute in [
            "set-cookie: __host-session-",
            "; path=/",
            "; secure",
            "; httponly",
            "; samesite=strict",
        ] {
            assert!(line.contains(attribute), "{line}");
        }
    });
    // Without TLS nothing is answered.
    wait(async {
        let mut plain = TcpStream::connect((Ipv4Addr::LOCALHOST, browser.port))
            .await
            .expect("it listens");
        plain
            .write_all(b"GET /api/me HTTP/1.1\r\nHost: bench.example.edu\r\n\r\n")
            .await
            .expect("sent");
        let mut answer = Vec::new();
        let _ = tokio::time::timeout(Duration::from_secs(20), plain.read_to_end(&mut answer)).await;
        assert!(
            !answer.starts_with(b"HTTP"),
            "{}",
            String::from_utf8_lossy(&answer)
        );
    });
    // Who came stands in the log with where they came from.
    wait(async {
        let accounts = Accounts::open(&Place::Folder(folder.clone()))
            .await
            .expect("opened");
        let log = accounts.access_log(None, 1).await.expect("asked");
        assert_eq!(
            (log[0].kind, log[0].place.as_str()),
            (AccessKind::LoggedIn, "127.0.0.1")
        );
        accounts.close().await;
    });
}

#[test]
fn a_certificate_of_ones_own_is_shown() {
    let room = tempfile::tempdir().expect("a temporary folder");
    let (folder, who) = wait(new_book(&room));
    let accounts = wait(joined(&folder, &who));
    wait(accounts.close());
    let key = rcgen::KeyPair::generate().expect("a key");
    let params =
        rcgen::CertificateParams::new(vec!["bench.example.edu".to_owned()]).expect("names");
    let made = params.self_signed(&key).expect("signed");
    let files = (room.path().join("chain.pem"), room.path().join("key.pem"));
    std::fs::write(&files.0, made.pem()).expect("written");
    std::fs::write(&files.1, "no key").expect("written");
    let refused = serve(&options(&folder, Some(files.clone())), |_| {
        panic!("nothing is served")
    });
    assert!(
        matches!(refused, Err(ServeError::Certificate { .. })),
        "{refused:?}"
    );
    std::fs::write(&files.1, key.serialize_pem()).expect("written");
    let ready = served(options(&folder, Some(files.clone())));
    let browser = Browser::new(&files.0, &ready);
    let (status, ..) = wait(browser.get("/api/me", ""));
    assert_eq!(status, 200);
    // None was made in its place.
    assert!(!folder.join("camera-certificate").exists());
}
