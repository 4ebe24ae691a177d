//! Health and numbers, as whoever watches over servers gets them.

use crate::network::{new_book, served};
use crate::workshop::wait;
use meltrange_server::ServeOptions;
use std::io::{Read as _, Write as _};
use std::net::{Ipv4Addr, SocketAddr, TcpStream};

/// A plain request; status line and headers, and the body.
fn fetch(at: SocketAddr, path: &str) -> (String, String) {
    let mut stream = TcpStream::connect(at).expect("it listens");
    write!(
        stream,
        "GET {path} HTTP/1.1\r\nHost: {at}\r\nConnection: close\r\n\r\n"
    )
    .expect("sent");
    let mut text = String::new();
    stream.read_to_string(&mut text).expect("answered");
    let (head, body) = text.split_once("\r\n\r\n").expect("a head and a body");
    (head.to_owned(), body.to_owned())
}

#[test]
fn numbers_and_health_come_from_a_listener_of_their_own() {
    let room = tempfile::tempdir().expect("a temporary folder");
    let (folder, _) = wait(new_book(&room));
    let ready = served(ServeOptions {
        folder,
        port: Some(0),
        share_camera: false,
        guard: None,
        observe: Some(SocketAddr::from((Ipv4Addr::LOCALHOST, 0))),
        keep_local_days: None,
    });
    let observed = ready.observed_at.expect("observed");
    let pages: SocketAddr = ready
        .address
        .trim_start_matches("http://")
        .trim_end_matches('/')
        .parse()
        .expect("an address");
    for _ in 0..3 {
        let (head, _) = fetch(pages, "/api/samples?text=acetanilide");
        assert!(head.starts_with("HTTP/1.1 200"), "{head}");
    }
    fetch(pages, "/api/samples/none-such");
    fetch(pages, "/wp-admin");
    let (head, text) = fetch(observed, "/metrics");
    assert!(
        head.contains("application/openmetrics-text; version=1.0.0"),
        "{head}"
    );
    // OpenMetrics 1.0, "Overall structure": the exposition ends with EOF.
    assert!(text.ends_with("# EOF\n"));
    let counted = |labels: [&str; 3]| {
        let found = text.lines().find(|line| {
            line.starts_with("http_server_request_duration_seconds_count{")
                && labels.iter().all(|label| line.contains(label))
        });
        found
            .and_then(|line| line.rsplit(' ').next())
            .map(str::to_owned)
    };
    let route = "http_route=\"/api/samples\"";
    let ok = "http_response_status_code=\"200\"";
    let get = "http_request_method=\"GET\"";
    assert_eq!(counted([get, route, ok]).as_deref(), Some("3"), "{text}");
    let one = "http_route=\"/api/samples/{id}\"";
    let missing = "http_response_status_code=\"404\"";
    assert_eq!(counted([get, one, missing]).as_deref(), Some("1"), "{text}");
    // What people look for and what others try stand in no label.
    assert!(!text.contains("acetanilide") && !text.contains("wp-admin"));
    assert!(text.contains("meltrange_book_records 2"), "{text}");
    assert!(
        fetch(observed, "/health/live")
            .0
            .starts_with("HTTP/1.1 200")
    );
    let (head, health) = fetch(observed, "/health/ready");
    assert!(head.starts_with("HTTP/1.1 200"), "{head}");
    assert!(health.contains("\"state\":\"well\""), "{health}");
    // Nothing else is there.
    assert!(
        fetch(observed, "/api/samples")
            .0
            .starts_with("HTTP/1.1 404")
    );
    assert!(
        fetch(pages, "/metrics").0.starts_with("HTTP/1.1 404")
            || !fetch(pages, "/metrics").1.contains("# EOF")
    );
}
