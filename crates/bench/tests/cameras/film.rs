//! Pictures that can be told apart, and what a camera told.

use meltrange_bench::{BenchClock, Camera, CameraNews};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::mpsc;

/// A picture of bars whose pattern is `number`.
pub fn numbered(number: u16) -> Vec<u8> {
    let (width, height) = (128_u16, 16_u16);
    let luma: Vec<u8> = (0..height)
        .flat_map(|_| (0..width).map(|x| if number >> (x / 8) & 1 == 1 { 230 } else { 20 }))
        .collect();
    let mut jpeg = Vec::new();
    jpeg_encoder::Encoder::new(&mut jpeg, 80)
        .encode(&luma, width, height, jpeg_encoder::ColorType::Luma)
        .expect("encodes");
    jpeg
}

/// A camera that shows, and its news.
pub struct Watched {
    pub clock: BenchClock,
    pub news: mpsc::Receiver<CameraNews>,
    pub showing: tokio::task::JoinHandle<()>,
}

impl Watched {
    pub fn of(camera: impl Camera + 'static) -> Self {
        let clock = BenchClock::start();
        let (to, news) = mpsc::channel(64);
        let showing = tokio::spawn(Box::new(camera).show(clock, to));
        Self {
            clock,
            news,
            showing,
        }
    }

    pub async fn next(&mut self) -> CameraNews {
        tokio::time::timeout(Duration::from_secs(20), self.news.recv())
            .await
            .expect("news within 20 s")
            .expect("the driver goes on")
    }

    pub async fn picture(&mut self) -> (f64, Arc<[u8]>) {
        match self.next().await {
            CameraNews::Picture { time_s, jpeg } => (time_s, jpeg),
            other => panic!("a picture, not {other:?}"),
        }
    }

    pub async fn lost(&mut self) -> String {
        match self.next().await {
            CameraNews::Lost { why, .. } => why,
            other => panic!("lost, not {other:?}"),
        }
    }

    pub async fn found(&mut self) {
        let next = self.next().await;
        assert!(matches!(next, CameraNews::Found { .. }), "{next:?}");
    }

    /// The driver ends by itself once nobody listens.
    pub async fn stop(self) {
        drop(self.news);
        tokio::time::timeout(Duration::from_secs(3), self.showing)
            .await
            .expect("ends when nobody listens")
            .expect("without a panic");
    }
}
