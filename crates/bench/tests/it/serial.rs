//! Lines on a pseudo-terminal.

use crate::support::{Hearing, Socket};
use tokio::io::{AsyncBufReadExt as _, AsyncReadExt as _, AsyncWriteExt as _, BufReader};
use tokio_serial::SerialStream;

fn listening(socket: &Socket, more: &str) -> String {
    format!(
        "[thermometer]\nkind = \"serial\"\nconnection.port = {:?}\n{more}",
        socket.port()
    )
}

async fn say(device: &mut SerialStream, text: &str) {
    device.write_all(text.as_bytes()).await.expect("written");
}

/// The driver opens the port in its own time and clears what came before.
async fn settle() {
    tokio::time::sleep(std::time::Duration::from_millis(150)).await;
}

#[tokio::test]
async fn lines_that_come_by_themselves() {
    let socket = Socket::new();
    let (mut device, ours) = socket.plug();
    let mut hearing = Hearing::of(&listening(&socket, "connection.baud = 19200\n"));
    settle().await;
    // Opened in the middle of 121.6: the rest of that line is no temperature.
    say(&mut device, "1.6\r\n121.7\r\n12").await;
    assert_eq!(hearing.temperature().await, 121.7);
    hearing.quiet(0.3).await;
    say(&mut device, "1.8 C\r\n250.88F\n").await;
    assert_eq!(hearing.temperature().await, 121.8);
    assert!((hearing.temperature().await - 121.6).abs() < 1e-9);
    say(&mut device, "OL\n121,9\n1999.9\n\n122.0\n").await;
    for part in ["\"OL\"", "decimal comma", "1999.9 °C; expected -90 to 600"] {
        let why = hearing.unreadable().await;
        assert!(why.contains(part), "{part} not in: {why}");
    }
    assert_eq!(hearing.temperature().await, 122.0);

    socket.pull();
    drop((device, ours));
    let why = hearing.lost().await;
    assert!(why.contains("is gone"), "{why}");
    hearing.quiet(1.0).await;
    let (mut device, _ours) = socket.plug();
    for _ in 0..20 {
        say(&mut device, "99.5\n").await;
        tokio::time::sleep(std::time::Duration::from_millis(100)).await;
    }
    hearing.found().await;
    assert_eq!(hearing.temperature().await, 99.5);
    hearing.ends().await;
}

#[tokio::test]
async fn a_port_that_is_not_there_yet() {
    let socket = Socket::new();
    let mut hearing = Hearing::of(&listening(&socket, ""));
    let why = hearing.lost().await;
    assert!(why.contains("ttyBench cannot be opened"), "{why}");
    assert!(why.contains("plug it in"), "{why}");
    hearing.ends().await;
}

#[tokio::test]
async fn lines_that_are_asked_for() {
    let socket = Socket::new();
    let asking = listening(
        &socket,
        "poll = \"T?\\r\\n\"\ninterval_s = 0.1\npattern = 'TEMP (?<temperature>[-+.0-9]+)'\n",
    );
    let (device, ours) = socket.plug();
    let answering = |device: SerialStream, first: usize| {
        tokio::spawn(async move {
            let mut device = BufReader::new(device);
            for nth in first.. {
                let mut asked = String::new();
                if device.read_line(&mut asked).await.is_err() || asked != "T?\r\n" {
                    return;
                }
                // An echo, as many devices send it, comes before the answer; the fourth is garbled.
                let answer = match nth {
                    3 => "T?\r\n\u{1}\u{2}\r\n".to_owned(),
                    _ => format!("T?\r\nTEMP +{}.5\r\n", 100 + nth),
                };
                if device.write_all(answer.as_bytes()).await.is_err() {
                    return;
                }
            }
        })
    };
    let answers = answering(device, 0);
    let mut hearing = Hearing::of(&asking);
    for celsius in [100.5, 101.5, 102.5] {
        assert_eq!(hearing.temperature().await, celsius);
    }
    let why = hearing.unreadable().await;
    assert!(why.contains("\\u{1}\\u{2}"), "{why}");
    assert_eq!(hearing.temperature().await, 104.5);

    // Pulled while nothing is asked or while something is: either way it is lost once.
    answers.abort();
    socket.pull();
    drop(ours);
    hearing.lost().await;
    let (device, _ours) = socket.plug();
    let answers = answering(device, 50);
    hearing.found().await;
    assert_eq!(hearing.temperature().await, 150.5);
    hearing.ends().await;
    answers.abort();
}

#[tokio::test]
async fn a_device_that_does_not_answer_is_lost() {
    let socket = Socket::new();
    let (mut device, _ours) = socket.plug();
    let mut hearing = Hearing::of(&listening(&socket, "poll = \"?\"\ninterval_s = 0.1\n"));
    let why = hearing.lost().await;
    assert!(why.contains("did not answer within 0.5 s"), "{why}");
    // It wakes up: the port had stayed the same.
    let waking = tokio::spawn(async move {
        let mut asked = [0; 16];
        while device.read(&mut asked).await.is_ok() {
            if device.write_all(b"23.5\r").await.is_err() {
                return;
            }
        }
    });
    hearing.found().await;
    assert_eq!(hearing.temperature().await, 23.5);
    hearing.ends().await;
    waking.abort();
}
