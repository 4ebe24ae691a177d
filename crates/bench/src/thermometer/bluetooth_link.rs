//! Thermometers over Bluetooth Low Energy: found, connected, listened to, and found again.
//!
//! A temperature's time is when its notification arrived. Links die without a word, and notifications
//! may end while the link still counts as connected: silence is a fault, and each connection is made from
//! the beginning, with the subscription.

use crate::bench_file::{BluetoothCharacteristic, BluetoothThermometerSpec};
use crate::clock::BenchClock;
use crate::device::{Thermometer, ThermometerNews};
use crate::telling::{Backoff, NobodyListens, Telling, while_listened};
use crate::thermometer::bluetooth::temperature;
use async_trait::async_trait;
use btleplug::api::bleuuid::uuid_from_u16;
use btleplug::api::{Central as _, Manager as _, Peripheral as _, ScanFilter};
use btleplug::platform::{Manager, Peripheral};
use futures_util::StreamExt as _;
use std::convert::Infallible;
use std::time::Duration;
use tokio::sync::mpsc::Sender;
use tokio::time::timeout;

/// How long a device is looked for before it counts as lost.
const LOOK: Duration = Duration::from_secs(8);

/// How long connecting and subscribing may take, each.
const STEP: Duration = Duration::from_secs(10);

/// A thermometer over Bluetooth Low Energy.
pub(crate) struct BluetoothThermometer {
    spec: BluetoothThermometerSpec,
}

impl BluetoothThermometer {
    pub fn new(spec: &BluetoothThermometerSpec) -> Self {
        Self { spec: spec.clone() }
    }

    async fn run(&self, telling: &mut Telling) -> Result<Infallible, NobodyListens> {
        let mut backoff = Backoff::new();
        loop {
            let why = match self.find().await {
                Err(why) => why,
                Ok(peripheral) => {
                    let why = self.listen(&peripheral, telling, &mut backoff).await;
                    // It may be gone already, which is what was wanted.
                    let _ = timeout(STEP, peripheral.disconnect()).await;
                    why?
                }
            };
            telling
                .lost(format!("thermometer {}: {why}", self.spec.device))
                .await?;
            backoff.wait().await;
        }
    }

    async fn find(&self) -> Result<Peripheral, String> {
        let manager = Manager::new().await.map_err(|error| error.to_string())?;
        let adapters = manager.adapters().await.map_err(|e| e.to_string())?;
        let adapter = adapters
            .into_iter()
            .next()
            .ok_or("no Bluetooth adapter here; plug one in and switch Bluetooth on")?;
        adapter
            .start_scan(ScanFilter::default())
            .await
            .map_err(|error| error.to_string())?;
        let found = timeout(LOOK, async {
            loop {
                for peripheral in adapter.peripherals().await.map_err(|e| e.to_string())? {
                    if self.is_meant(&peripheral).await {
                        return Ok(peripheral);
                    }
                }
                tokio::time::sleep(Duration::from_millis(300)).await;
            }
        })
        .await;
        // Scanning costs the link air time; where it cannot be stopped the link still works.
        let _ = adapter.stop_scan().await;
        found.unwrap_or_else(|_| {
            Err(format!(
                "not seen within {} s; switch it on, bring it nearer and end other links to it",
                LOOK.as_secs()
            ))
        })
    }

    async fn is_meant(&self, peripheral: &Peripheral) -> bool {
        if peripheral
            .address()
            .to_string()
            .eq_ignore_ascii_case(&self.spec.device)
        {
            return true;
        }
        let properties = peripheral.properties().await.ok().flatten();
        properties.and_then(|known| known.local_name) == Some(self.spec.device.clone())
    }

    /// Until the link fails or falls silent; why.
    async fn listen(
        &self,
        peripheral: &Peripheral,
        telling: &mut Telling,
        backoff: &mut Backoff,
    ) -> Result<String, NobodyListens> {
        let mut notifications = match self.subscribe(peripheral).await {
            Ok(notifications) => notifications,
            Err(why) => return Ok(why),
        };
        let silent_s = self.spec.silent_s;
        loop {
            let next = timeout(Duration::from_secs_f64(silent_s), notifications.next());
            match next.await {
                Ok(Some(notification)) if notification.uuid == self.uuid() => {
                    backoff.reached();
                    let found = temperature(self.spec.characteristic, &notification.value);
                    telling.answer(telling.now_s(), found).await?;
                }
                Ok(Some(_)) => {}
                Ok(None) => return Ok("the link ended".into()),
                Err(_) => return Ok(format!("nothing came for {silent_s} s")),
            }
        }
    }

    async fn subscribe(
        &self,
        peripheral: &Peripheral,
    ) -> Result<
        impl futures_util::Stream<Item = btleplug::api::ValueNotification> + Unpin + use<>,
        String,
    > {
        async fn step<T>(
            what: &str,
            done: impl Future<Output = btleplug::Result<T>>,
        ) -> Result<T, String> {
            match timeout(STEP, done).await {
                Ok(Ok(value)) => Ok(value),
                Ok(Err(error)) => Err(format!("{what}: {error}")),
                Err(_) => Err(format!("{what}: not done within {} s", STEP.as_secs())),
            }
        }
        step("connecting", peripheral.connect()).await?;
        step("looking for services", peripheral.discover_services()).await?;
        let characteristic = peripheral
            .characteristics()
            .into_iter()
            .find(|characteristic| characteristic.uuid == self.uuid())
            .ok_or_else(|| {
                format!(
                    "it has no characteristic {}; try the other value of thermometer.characteristic",
                    self.uuid()
                )
            })?;
        let notifications = step("listening", peripheral.notifications()).await?;
        step("subscribing", peripheral.subscribe(&characteristic)).await?;
        Ok(notifications)
    }

    fn uuid(&self) -> uuid::Uuid {
        uuid_from_u16(match self.spec.characteristic {
            BluetoothCharacteristic::Temperature => 0x2A6E,
            BluetoothCharacteristic::TemperatureMeasurement => 0x2A1C,
        })
    }
}

#[async_trait]
impl Thermometer for BluetoothThermometer {
    async fn tell(self: Box<Self>, clock: BenchClock, to: Sender<ThermometerNews>) {
        let mut telling = Telling::new(clock, to.clone());
        while_listened(&to, self.run(&mut telling)).await;
    }
}
