//! A web server on loopback.

use crate::support::Hearing;
use axum::Router;
use axum::http::StatusCode;
use axum::routing::get;
use std::sync::{Arc, Mutex};
use tokio::net::TcpListener;
use tokio::task::JoinHandle;

type Answer = Arc<Mutex<(u16, String)>>;

async fn serve(answer: &Answer, port: u16) -> (JoinHandle<()>, u16) {
    let listener = TcpListener::bind(("127.0.0.1", port)).await.expect("bound");
    let port = listener.local_addr().expect("bound").port();
    let answer = Arc::clone(answer);
    let handler = move || {
        let (status, body) = answer.lock().expect("sound").clone();
        async move { (StatusCode::from_u16(status).expect("a status"), body) }
    };
    let router = Router::new().route("/block", get(handler));
    let server = tokio::spawn(async move {
        axum::serve(listener, router).await.expect("serves");
    });
    (server, port)
}

#[tokio::test]
async fn answers_are_read_and_outages_told() {
    let answer = Answer::new(Mutex::new((200, r#"{"block":{"c":121.6}}"#.into())));
    let (server, port) = serve(&answer, 0).await;
    let mut hearing = Hearing::of(&format!(
        "[thermometer]\nkind = \"http\"\nurl = \"http://127.0.0.1:{port}/block\"\n\
         json_pointer = \"/block/c\"\ninterval_s = 0.1\n"
    ));
    assert_eq!(hearing.temperature().await, 121.6);
    for (status, body, part) in [
        (500, "", "status 500"),
        (200, r#"{"block":{"c":"121,6"}}"#, "decimal comma"),
        (200, "busy", "no JSON"),
    ] {
        *answer.lock().expect("sound") = (status, body.into());
        // One asking may still be under way with the answer from before.
        let why = loop {
            if let meltrange_bench::ThermometerNews::Unreadable { why, .. } = hearing.next().await
                && why.contains(part)
            {
                break why;
            }
        };
        assert!(why.contains("expected"), "{why}");
    }
    *answer.lock().expect("sound") = (200, r#"{"block":{"c":99.5}}"#.into());

    server.abort();
    let why = hearing.lost().await;
    assert!(why.contains("/block"), "{why}");
    hearing.quiet(1.0).await;
    let (server, _) = serve(&answer, port).await;
    hearing.found().await;
    assert_eq!(hearing.temperature().await, 99.5);
    hearing.ends().await;
    server.abort();
}

#[tokio::test]
async fn a_number_by_itself() {
    let answer = Answer::new(Mutex::new((200, "121.6\n".into())));
    let (server, port) = serve(&answer, 0).await;
    let mut hearing = Hearing::of(&format!(
        "[thermometer]\nkind = \"http\"\nurl = \"http://127.0.0.1:{port}/block\"\n"
    ));
    assert_eq!(hearing.temperature().await, 121.6);
    hearing.ends().await;
    server.abort();
}
