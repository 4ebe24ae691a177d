//! A real broker: mosquitto, on a free port, with a folder of its own.

use crate::support::Hearing;
use meltrange_bench::ThermometerNews;
use rumqttc::{AsyncClient, Event, MqttOptions, Packet, QoS};
use std::process::{Child, Command, Stdio};
use std::time::Duration;
use tokio::net::TcpStream;

/// Where Debian and others put it.
const BROKERS: [&str; 3] = [
    "mosquitto",
    "/usr/sbin/mosquitto",
    "/usr/local/sbin/mosquitto",
];

struct Broker {
    process: Child,
    port: u16,
    _folder: tempfile::TempDir,
}

impl Broker {
    async fn start(port: u16) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let settings = folder.path().join("mosquitto.conf");
        let text = format!("listener {port} 127.0.0.1\nallow_anonymous true\npersistence false\n");
        std::fs::write(&settings, text).expect("written");
        let process = BROKERS
            .iter()
            .find_map(|program| {
                Command::new(program)
                    .arg("-c")
                    .arg(&settings)
                    .stdout(Stdio::null())
                    .stderr(Stdio::null())
                    .spawn()
                    .ok()
            })
            .expect("mosquitto is installed (scripts/set-up.sh mosquitto)");
        let broker = Self {
            process,
            port,
            _folder: folder,
        };
        for _ in 0..100 {
            if TcpStream::connect(("127.0.0.1", port)).await.is_ok() {
                return broker;
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
        panic!("the broker does not answer at port {port}");
    }

    /// Publish texts one after the other and wait until the broker has them.
    async fn publish(&self, topic: &str, texts: &[&str], retain: bool) {
        let mut options = MqttOptions::new("block", "127.0.0.1", self.port);
        options.set_keep_alive(Duration::from_secs(5));
        let (client, mut events) = AsyncClient::new(options, 16);
        for text in texts {
            client
                .publish(topic, QoS::AtLeastOnce, retain, *text)
                .await
                .expect("queued");
        }
        let mut left = texts.len();
        while left > 0 {
            if let Event::Incoming(Packet::PubAck(_)) = events.poll().await.expect("connected") {
                left -= 1;
            }
        }
    }

    /// Publish until something is heard: nobody tells when the thermometer has subscribed. Some of what
    /// was published may be heard later.
    async fn publish_until_heard(
        &self,
        topic: &str,
        text: &str,
        hearing: &mut Hearing,
    ) -> ThermometerNews {
        for _ in 0..40 {
            self.publish(topic, &[text], false).await;
            let heard = tokio::time::timeout(Duration::from_millis(250), hearing.next()).await;
            if let Ok(news) = heard {
                return news;
            }
        }
        panic!("{text} was never heard");
    }
}

impl Drop for Broker {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

fn free_port() -> u16 {
    let listener = std::net::TcpListener::bind("127.0.0.1:0").expect("a free port");
    listener.local_addr().expect("bound").port()
}

#[tokio::test]
async fn messages_are_read_and_outages_told() {
    let broker = Broker::start(free_port()).await;
    let port = broker.port;
    let topic = "lab/north/block";
    // What a broker kept is from who knows when.
    broker.publish(topic, &[r#"{"c":77.0}"#], true).await;
    let mut hearing = Hearing::of(&format!(
        "[thermometer]\nkind = \"mqtt\"\nhost = \"127.0.0.1\"\nport = {port}\ntopic = \"{topic}\"\njson_pointer = \"/c\"\n"
    ));
    let first = broker
        .publish_until_heard(topic, r#"{"c":20.0}"#, &mut hearing)
        .await;
    assert!(
        matches!(first, ThermometerNews::Sample(sample) if sample.temperature_c == 20.0),
        "{first:?}"
    );
    broker
        .publish(
            topic,
            &[
                r#"{"c":121.6}"#,
                "121.6",
                r#"{"t":1}"#,
                r#"{"c":9999}"#,
                r#"{"c":121.7}"#,
            ],
            false,
        )
        .await;
    let mut celsius = 20.0;
    while celsius == 20.0 {
        celsius = hearing.temperature().await;
    }
    assert_eq!(celsius, 121.6);
    for part in ["nothing at /c", "nothing at /c", "9999 °C"] {
        let why = hearing.unreadable().await;
        assert!(why.contains(part), "{part} not in: {why}");
    }
    assert_eq!(hearing.temperature().await, 121.7);

    drop(broker);
    let why = hearing.lost().await;
    assert!(
        why.contains(&format!("the broker at 127.0.0.1:{port}")),
        "{why}"
    );
    hearing.quiet(1.0).await;
    let broker = Broker::start(port).await;
    let first = broker
        .publish_until_heard(topic, r#"{"c":30.0}"#, &mut hearing)
        .await;
    assert!(matches!(first, ThermometerNews::Found { .. }), "{first:?}");
    assert_eq!(hearing.temperature().await, 30.0);
    hearing.ends().await;
}
