//! Thermometers that publish to an MQTT broker.
//!
//! A temperature's time is when its message arrived: a time within the message would be by a clock of
//! which nothing is known here. Retained messages are not taken: a broker hands them out on
//! subscribing, however old they are.

use crate::bench_file::MqttThermometerSpec;
use crate::clock::BenchClock;
use crate::device::{Thermometer, ThermometerNews};
use crate::payload;
use crate::telling::{Backoff, NobodyListens, Telling, while_listened};
use async_trait::async_trait;
use rumqttc::{AsyncClient, ConnectReturnCode, ConnectionError, Event, MqttOptions, Packet, QoS};
use std::convert::Infallible;
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use tokio::sync::mpsc::Sender;

/// The broker has to answer within this long, so that a pulled cable is noticed.
const KEEP_ALIVE: Duration = Duration::from_secs(2);

/// A thermometer that publishes.
pub(crate) struct MqttThermometer {
    spec: MqttThermometerSpec,
}

impl MqttThermometer {
    pub fn new(spec: &MqttThermometerSpec) -> Self {
        Self { spec: spec.clone() }
    }

    fn options(&self) -> Result<MqttOptions, String> {
        let spec = &self.spec;
        let mut options = MqttOptions::new(client_id(), &spec.host, spec.port);
        options.set_keep_alive(KEEP_ALIVE);
        options.set_clean_session(true);
        if let Some(user) = &spec.user {
            let password = match &spec.password_file {
                None => String::new(),
                Some(path) => std::fs::read_to_string(path)
                    .map_err(|error| format!("{} cannot be read: {error}", path.display()))?
                    .lines()
                    .next()
                    .unwrap_or_default()
                    .to_owned(),
            };
            options.set_credentials(user, password);
        }
        Ok(options)
    }

    async fn run(&self, telling: &mut Telling) -> Result<Infallible, NobodyListens> {
        let mut backoff = Backoff::new();
        loop {
            match self.options() {
                Err(why) => telling.lost(why).await?,
                Ok(options) => {
                    let why = self.connected(options, telling, &mut backoff).await?;
                    telling.lost(why).await?;
                }
            }
            backoff.wait().await;
        }
    }

    /// One connection, until it fails; why it failed.
    async fn connected(
        &self,
        options: MqttOptions,
        telling: &mut Telling,
        backoff: &mut Backoff,
    ) -> Result<String, NobodyListens> {
        let broker = format!("the broker at {}:{}", self.spec.host, self.spec.port);
        let (client, mut events) = AsyncClient::new(options, 8);
        loop {
            match events.poll().await {
                Ok(Event::Incoming(Packet::ConnAck(_))) => {
                    // A message that comes late is worse than one that is lost.
                    if let Err(error) = client.try_subscribe(&self.spec.topic, QoS::AtMostOnce) {
                        return Ok(format!("{broker} cannot be subscribed to: {error}"));
                    }
                }
                Ok(Event::Incoming(Packet::SubAck(answer))) => {
                    let refused = answer
                        .return_codes
                        .iter()
                        .any(|code| matches!(code, rumqttc::SubscribeReasonCode::Failure));
                    if refused {
                        return Ok(format!(
                            "{broker} does not let topic {} be read; ask who runs it for the permission",
                            self.spec.topic
                        ));
                    }
                }
                Ok(Event::Incoming(Packet::Publish(message))) if !message.retain => {
                    backoff.reached();
                    let pointer = self.spec.json_pointer.as_deref();
                    let found = payload::temperature(&message.payload, pointer);
                    telling.answer(telling.now_s(), found).await?;
                }
                Ok(_) => {}
                Err(error) => return Ok(format!("{broker}: {}", words(&error))),
            }
        }
    }
}

fn words(error: &ConnectionError) -> String {
    match error {
        ConnectionError::ConnectionRefused(
            ConnectReturnCode::BadUserNamePassword | ConnectReturnCode::NotAuthorized,
        ) => "refused; see user and password_file".into(),
        other => other.to_string(),
    }
}

/// A name of its own for each connection: brokers drop the older of two of the same name. At most 23
/// letters and digits, as every broker has to take (MQTT 3.1.1, 3.1.3.1).
fn client_id() -> String {
    let nanoseconds = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0, |since| since.subsec_nanos());
    format!(
        "meltrange{:05x}{nanoseconds:08x}",
        std::process::id() & 0xF_FFFF
    )
}

#[async_trait]
impl Thermometer for MqttThermometer {
    async fn tell(self: Box<Self>, clock: BenchClock, to: Sender<ThermometerNews>) {
        let mut telling = Telling::new(clock, to.clone());
        while_listened(&to, self.run(&mut telling)).await;
    }
}
