//! A camera pointed at the apparatus's own display.

use crate::bench_file::DisplayThermometerSpec;
use crate::clock::BenchClock;
use crate::device::{Camera, CameraNews, Sample, Thermometer, ThermometerNews};
use crate::error::DeviceError;
use crate::rig::open_camera;
use async_trait::async_trait;
use meltrange_display::{DisplayReader, Picture};
use tokio::sync::mpsc::{self, Sender};

/// Pictures that may wait to be read; a display says the same in the next one.
const QUEUE: usize = 4;
/// That a display cannot be read is told no more often than this [s].
const UNREADABLE_S: f64 = 2.0;

/// Reads what a display shows.
pub(crate) struct DisplayThermometer {
    camera: Box<dyn Camera>,
    reader: DisplayReader,
}

impl DisplayThermometer {
    pub fn new(spec: &DisplayThermometerSpec) -> Result<Self, DeviceError> {
        let camera = open_camera(&spec.camera)?.ok_or_else(|| DeviceError::NotThere {
            device: "the display's camera".into(),
            found: "one that cannot be pointed at a display from here".into(),
            hint: "use a camera of kind mjpeg, v4l2 or ffmpeg",
        })?;
        let reader = DisplayReader::new(spec.region(), spec.digits, spec.acceptance);
        Ok(Self { camera, reader })
    }
}

#[async_trait]
impl Thermometer for DisplayThermometer {
    async fn tell(self: Box<Self>, clock: BenchClock, to: Sender<ThermometerNews>) {
        let (show, mut pictures) = mpsc::channel(QUEUE);
        let camera = tokio::spawn(self.camera.show(clock, show));
        let mut reader = self.reader;
        let mut complained_s = f64::NEG_INFINITY;
        while let Some(news) = pictures.recv().await {
            let told = match news {
                CameraNews::Picture { time_s, jpeg } => {
                    // Reading takes tens of milliseconds: not where others wait.
                    let read = tokio::task::spawn_blocking(move || {
                        let said = read(&mut reader, time_s, &jpeg);
                        (reader, said)
                    });
                    let Ok((back, said)) = read.await else { break };
                    reader = back;
                    match said {
                        Ok(temperature_c) => ThermometerNews::Sample(Sample {
                            time_s,
                            temperature_c,
                        }),
                        Err(_) if time_s - complained_s < UNREADABLE_S => continue,
                        Err(why) => {
                            complained_s = time_s;
                            ThermometerNews::Unreadable { time_s, why }
                        }
                    }
                }
                CameraNews::Lost { time_s, why } => {
                    reader.forget();
                    let why = format!("the display's camera: {why}");
                    ThermometerNews::Lost { time_s, why }
                }
                CameraNews::Found { time_s } => ThermometerNews::Found { time_s },
                CameraNews::Doubt { .. } => continue,
            };
            if to.send(told).await.is_err() {
                break;
            }
        }
        camera.abort();
    }
}

fn read(reader: &mut DisplayReader, time_s: f64, jpeg: &[u8]) -> Result<f64, String> {
    let luma = meltrange_media::decode_luma(jpeg).map_err(|why| format!("a picture {why}"))?;
    let picture =
        Picture::new(&luma.pixels, luma.width, luma.height).map_err(|error| error.to_string())?;
    reader
        .push(time_s, &picture)
        .map(|sample| sample.indicated_c)
        .map_err(|why| format!("the display is unreadable: {why}"))
}
