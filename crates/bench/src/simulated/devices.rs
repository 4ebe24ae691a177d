//! The simulated bench as a thermometer, a heater and a camera.

use super::{DEAD_MAN_S, SimulatedBench, SimulatedFault};
use crate::bench_file::SimulatedThermometer;
use crate::clock::BenchClock;
use crate::device::{
    Accepted, Camera, CameraNews, Heater, HeaterCommand, HeaterTraits, Sample, Thermometer,
    ThermometerNews,
};
use crate::error::DeviceError;
use async_trait::async_trait;
use jpeg_encoder::{ColorType, Encoder};
use rand::SeedableRng as _;
use rand_distr::{Distribution as _, StandardNormal};
use tokio::sync::mpsc::Sender;

/// JPEG quality of 100, as a good camera's.
const QUALITY: u8 = 90;
/// Jump of a thermometer that jumps [°C].
const JUMP_C: f64 = 60.0;

/// The thermometer.
#[derive(Debug)]
pub struct SimulatedThermometerDevice {
    /// On this bench.
    pub bench: SimulatedBench,
    /// How it tells.
    pub spec: SimulatedThermometer,
}

#[async_trait]
impl Thermometer for SimulatedThermometerDevice {
    async fn tell(self: Box<Self>, clock: BenchClock, to: Sender<ThermometerNews>) {
        let mut noise = rand_chacha::ChaCha8Rng::seed_from_u64(1);
        let faults = self.bench.faults().clone();
        let (mut frozen_c, mut lost, mut odd) = (None, false, false);
        let mut time_s = clock.now_s();
        loop {
            // A machine that is behind leaves temperatures out, as a real one cannot.
            time_s = (time_s + self.spec.interval_s).max(clock.now_s());
            clock.sleep_until_s(time_s).await;
            if faults.has(SimulatedFault::ThermometerUnplugged) {
                if !lost {
                    lost = true;
                    let why = "its plug is out".into();
                    if to
                        .send(ThermometerNews::Lost { time_s, why })
                        .await
                        .is_err()
                    {
                        return;
                    }
                }
                continue;
            }
            if std::mem::take(&mut lost)
                && to.send(ThermometerNews::Found { time_s }).await.is_err()
            {
                return;
            }
            let by_chance: f64 = StandardNormal.sample(&mut noise);
            let true_c = self.bench.indicated_c(time_s) + self.spec.noise_c * by_chance;
            let quantum_c = self.spec.resolution_c;
            let mut temperature_c = if quantum_c > 0.0 {
                // Whole steps of a tenth are no whole number of bits; what is shown has few digits.
                ((true_c / quantum_c).round() * quantum_c * 1e6).round() / 1e6
            } else {
                true_c
            };
            if faults.has(SimulatedFault::ThermometerFrozen) {
                temperature_c = *frozen_c.get_or_insert(temperature_c);
            } else {
                frozen_c = None;
            }
            odd = !odd;
            if odd && faults.has(SimulatedFault::ThermometerJumping) {
                temperature_c += JUMP_C;
            }
            let sample = Sample {
                time_s,
                temperature_c,
            };
            if to.send(ThermometerNews::Sample(sample)).await.is_err() {
                return;
            }
        }
    }
}

/// The heater with its controller.
#[derive(Debug)]
pub struct SimulatedHeater {
    /// On this bench.
    pub bench: SimulatedBench,
}

#[async_trait]
impl Heater for SimulatedHeater {
    fn traits(&self) -> HeaterTraits {
        HeaterTraits {
            by_hand: false,
            dead_man_s: Some(DEAD_MAN_S),
        }
    }

    async fn command(&mut self, command: HeaterCommand) -> Result<Accepted, DeviceError> {
        if self.bench.faults().has(SimulatedFault::HeaterUnreachable) {
            return Err(DeviceError::Silent {
                device: "the simulated heater".into(),
                waited_s: 1.0,
            });
        }
        self.bench.ask(command);
        Ok(Accepted {
            setpoint_c: match command {
                HeaterCommand::Setpoint { setpoint_c, .. } => Some(setpoint_c),
                HeaterCommand::Off { .. } => None,
            },
        })
    }
}

/// The camera.
#[derive(Debug)]
pub struct SimulatedCameraDevice {
    /// On this bench.
    pub bench: SimulatedBench,
    /// Pictures a second of the bench's clock.
    pub frames_per_s: f64,
}

#[async_trait]
impl Camera for SimulatedCameraDevice {
    async fn show(self: Box<Self>, clock: BenchClock, to: Sender<CameraNews>) {
        let mut time_s = clock.now_s();
        let mut lost = false;
        loop {
            // Drawing may take longer than the spacing on a fast clock: then there are fewer.
            time_s = (time_s + 1.0 / self.frames_per_s).max(clock.now_s());
            clock.sleep_until_s(time_s).await;
            let unplugged = self.bench.faults().has(SimulatedFault::CameraUnplugged);
            let news = if unplugged {
                if std::mem::replace(&mut lost, true) {
                    continue;
                }
                let why = "its plug is out".into();
                CameraNews::Lost { time_s, why }
            } else if std::mem::take(&mut lost) {
                CameraNews::Found { time_s }
            } else {
                let bench = self.bench.clone();
                let drawn = tokio::task::spawn_blocking(move || jpeg(bench.picture(time_s)?)).await;
                let Ok(Some(jpeg)) = drawn else { continue };
                CameraNews::Picture {
                    time_s,
                    jpeg: jpeg.into(),
                }
            };
            if to.send(news).await.is_err() {
                return;
            }
        }
    }
}

fn jpeg((width, height, rgb): (usize, usize, Vec<u8>)) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    Encoder::new(&mut bytes, QUALITY)
        .encode(
            &rgb,
            u16::try_from(width).ok()?,
            u16::try_from(height).ok()?,
            ColorType::Rgb,
        )
        .ok()?;
    Some(bytes)
}
