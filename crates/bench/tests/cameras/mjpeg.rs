//! Motion JPEG over HTTP as various cameras write it. The forms are those seen in the field (common
//! practice, no source): no standard describes `multipart/x-mixed-replace` beyond RFC 2046's multipart.

use crate::film::{Watched, numbered};
use meltrange_bench::{BenchClock, MjpegCamera, MjpegCameraSpec, camera_check};
use std::net::SocketAddr;
use std::time::Duration;
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::{TcpListener, TcpStream};

fn camera(address: SocketAddr) -> MjpegCamera {
    let url = format!("http://{address}/stream?size=vga");
    MjpegCamera::new(&MjpegCameraSpec { url }).expect("an address")
}

/// How a camera writes.
#[derive(Debug, Clone, Copy)]
struct Form {
    head: &'static str,
    before: fn(usize) -> String,
    after: &'static str,
    is_chunked: bool,
}

const FORMS: [Form; 6] = [
    // With lengths, as it should be.
    Form {
        head: "HTTP/1.1 200 OK\r\nContent-Type: multipart/x-mixed-replace; boundary=frame\r\n\r\n",
        before: |n| format!("--frame\r\nContent-Type: image/jpeg\r\nContent-Length: {n}\r\n\r\n"),
        after: "\r\n",
        is_chunked: false,
    },
    // Without.
    Form {
        head: "HTTP/1.0 200 OK\r\nConnection: close\r\nContent-Type: multipart/x-mixed-replace;boundary=\"a b\"\r\n\r\n",
        before: |_| "--a b\r\nContent-type: image/jpeg\r\n\r\n".into(),
        after: "\r\n",
        is_chunked: false,
    },
    // The dashes counted in with the boundary, bare line feeds, more headers.
    Form {
        head: "HTTP/1.1 200 OK\nServer : small\nContent-Type: multipart/x-mixed-replace; boundary=--b\n\n",
        before: |n| {
            format!("\n--b\nContent-Type: image/jpeg\nContent-Length: {n}\nX-Timestamp: 7.5\n\n")
        },
        after: "",
        is_chunked: false,
    },
    // In chunks.
    Form {
        head: "HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\nContent-Type: multipart/x-mixed-replace; boundary=x\r\n\r\n",
        before: |n| format!("--x\r\nContent-Length: {n}\r\n\r\n"),
        after: "\r\n",
        is_chunked: true,
    },
    // A length that is wrong.
    Form {
        head: "HTTP/1.1 200 OK\r\nContent-Type: multipart/x-mixed-replace; boundary=x\r\n\r\n",
        before: |n| {
            format!(
                "--x\r\nContent-Type: image/jpeg\r\nContent-Length: {}\r\n\r\n",
                n / 2
            )
        },
        after: "\r\n",
        is_chunked: false,
    },
    // No type, no parts: pictures one after the other.
    Form {
        head: "HTTP/1.0 200 OK\r\n\r\n",
        before: |_| String::new(),
        after: "",
        is_chunked: false,
    },
];

async fn accept(listener: &TcpListener) -> (TcpStream, String) {
    let (mut stream, _) = listener.accept().await.expect("accepts");
    let mut request = Vec::new();
    while !request.ends_with(b"\r\n\r\n") {
        let mut byte = [0];
        stream.read_exact(&mut byte).await.expect("a request");
        request.push(byte[0]);
    }
    (stream, String::from_utf8(request).expect("text"))
}

async fn send(stream: &mut TcpStream, form: Form, jpeg: &[u8]) {
    let mut part = (form.before)(jpeg.len()).into_bytes();
    part.extend(jpeg);
    part.extend(form.after.as_bytes());
    if form.is_chunked {
        let mut chunk = format!("{:x}\r\n", part.len()).into_bytes();
        chunk.extend(part);
        chunk.extend(b"\r\n");
        part = chunk;
    }
    stream.write_all(&part).await.expect("sent");
}

/// Serve one connection: `numbers`, each 40 ms after the one before; when each was sent.
async fn serve(
    listener: &TcpListener,
    form: Form,
    numbers: std::ops::Range<u16>,
    clock: BenchClock,
) -> (Vec<f64>, TcpStream) {
    let (mut stream, request) = accept(listener).await;
    assert!(
        request.starts_with("GET /stream?size=vga HTTP/1.1\r\n"),
        "{request}"
    );
    stream.write_all(form.head.as_bytes()).await.expect("sent");
    let mut sent_s = Vec::new();
    for number in numbers {
        tokio::time::sleep(Duration::from_millis(40)).await;
        sent_s.push(clock.now_s());
        send(&mut stream, form, &numbered(number)).await;
    }
    (sent_s, stream)
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn all_forms_give_all_pictures_at_their_times() {
    for form in FORMS {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let mut watched = Watched::of(camera(listener.local_addr().expect("bound")));
        let clock = watched.clock;
        let serving = tokio::spawn(async move { serve(&listener, form, 0..12, clock).await });
        let mut times = Vec::new();
        for number in 0..12 {
            let (time_s, jpeg) = watched.picture().await;
            assert!(
                *jpeg == *numbered(number),
                "{form:?}: picture {number} came otherwise"
            );
            times.push(time_s);
        }
        let (sent_s, stream) = serving.await.expect("served");
        for (time_s, sent_s) in times.iter().zip(&sent_s) {
            let late_s = time_s - sent_s;
            // A loaded machine may take its time; a picture must not be told before it was sent, and
            // not only once the next one comes (40 ms).
            assert!((0.0..0.035).contains(&late_s), "{form:?}: {late_s} s late");
        }
        drop(stream);
        watched.lost().await;
        watched.stop().await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_connection_cut_is_told_once_and_taken_up_again() {
    let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
    let address = listener.local_addr().expect("bound");
    let mut watched = Watched::of(camera(address));
    let clock = watched.clock;
    let (_, stream) = serve(&listener, FORMS[0], 0..5, clock).await;
    for number in 0..5 {
        assert!(*watched.picture().await.1 == *numbered(number));
    }
    // Cut in the middle of a picture, and nobody there for a while.
    let mut stream = stream;
    let half = numbered(5);
    stream
        .write_all(&half[..half.len() / 2])
        .await
        .expect("sent");
    drop((stream, listener));
    assert!(!watched.lost().await.is_empty());
    tokio::time::sleep(Duration::from_millis(1200)).await;
    assert!(watched.news.try_recv().is_err(), "told once");
    let listener = TcpListener::bind(address).await.expect("the port again");
    let (_, stream) = serve(&listener, FORMS[1], 6..9, clock).await;
    watched.found().await;
    let mut before_s = 0.0;
    for number in 6..9 {
        let (time_s, jpeg) = watched.picture().await;
        assert!(*jpeg == *numbered(number));
        assert!(time_s > before_s);
        before_s = time_s;
    }
    drop(stream);
    watched.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_stall_is_a_loss_even_when_bytes_trickle() {
    let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
    let mut watched = Watched::of(camera(listener.local_addr().expect("bound")));
    let clock = watched.clock;
    let (_, mut stream) = serve(&listener, FORMS[0], 0..2, clock).await;
    for _ in 0..2 {
        watched.picture().await;
    }
    let stalled_s = clock.now_s();
    let trickle = tokio::spawn(async move {
        while stream.write_all(b"\r\n").await.is_ok() {
            tokio::time::sleep(Duration::from_millis(500)).await;
        }
    });
    let why = watched.lost().await;
    assert!(why.contains("no picture for 5 s"), "{why}");
    let after_s = clock.now_s() - stalled_s;
    assert!((4.5..6.5).contains(&after_s), "{after_s}");
    watched.stop().await;
    trickle.await.expect("ends with the connection");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_no_stream_is_said_so() {
    for (answer, part) in [
        (
            "HTTP/1.1 401 Unauthorized\r\nContent-Length: 0\r\n\r\n",
            "401",
        ),
        (
            "HTTP/1.1 200 OK\r\nContent-Type: text/html\r\nContent-Length: 4\r\n\r\n<p/>",
            "text/html",
        ),
        (
            "HTTP/1.1 200 OK\r\nContent-Type: image/jpeg\r\nContent-Length: 0\r\n\r\n",
            "motion JPEG",
        ),
        ("220 mail ready\r\n", "HTTP"),
    ] {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let mut watched = Watched::of(camera(listener.local_addr().expect("bound")));
        let (mut stream, _) = accept(&listener).await;
        stream.write_all(answer.as_bytes()).await.expect("sent");
        let why = watched.lost().await;
        assert!(why.contains(part), "{part} not in: {why}");
        watched.stop().await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn trying_a_camera_tells_what_it_shows() {
    let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
    let address = listener.local_addr().expect("bound");
    let clock = BenchClock::start();
    let serving = tokio::spawn(async move { serve(&listener, FORMS[0], 0..20, clock).await });
    let found = camera_check(Box::new(camera(address)), 1.5).await;
    assert_eq!(found.pictures, 20, "{found:?}");
    assert_eq!(found.size_px, Some((128, 16)));
    let rate = found.frames_per_s.expect("many pictures");
    // One each 40 ms and what sending takes.
    assert!((15.0..25.1).contains(&rate), "{found:?}");
    assert!(
        found.losses.is_empty() && found.doubts.is_empty(),
        "{found:?}"
    );
    drop(serving.await.expect("served"));
    let found = camera_check(Box::new(camera(address)), 0.5).await;
    assert_eq!((found.pictures, found.losses.len()), (0, 1), "{found:?}");
    assert!(found.losses[0].contains("cannot be reached"), "{found:?}");
}
