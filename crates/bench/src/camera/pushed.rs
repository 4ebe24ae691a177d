//! A camera elsewhere whose pictures are brought: the browser of a laptop, tablet or phone.

use crate::clock::BenchClock;
use crate::device::{Camera, CameraNews};
use async_trait::async_trait;
use std::sync::{Arc, Mutex, PoisonError};
use tokio::sync::mpsc;

/// Pictures on their way; beyond these whoever brings them has to wait.
const QUEUE: usize = 256;

/// The camera's end.
#[derive(Debug)]
pub struct PushedCamera {
    news: mpsc::Receiver<CameraNews>,
}

/// Where pictures are brought; cheap to clone.
#[derive(Debug, Clone)]
pub struct PictureInlet {
    to: mpsc::Sender<CameraNews>,
    last_s: Arc<Mutex<f64>>,
}

/// Why a picture was not taken.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum InletError {
    /// The bench is closed.
    #[error("the bench is closed")]
    Closed,
    /// Its time does not follow.
    #[error("a picture at {found_s} s does not come after the one at {before_s} s")]
    NotRising {
        /// Its time [s].
        found_s: f64,
        /// Of the one before [s].
        before_s: f64,
    },
}

/// A camera whose pictures are brought, and where to bring them.
pub fn pushed_camera() -> (PushedCamera, PictureInlet) {
    let (to, news) = mpsc::channel(QUEUE);
    let inlet = PictureInlet {
        to,
        last_s: Arc::new(Mutex::new(f64::NEG_INFINITY)),
    };
    (PushedCamera { news }, inlet)
}

impl PictureInlet {
    /// Bring a picture (JPEG) captured at `time_s`, bench clock [s]; waits while the bench is behind.
    ///
    /// # Errors
    /// [`InletError`] when its time does not rise or the bench is closed.
    pub async fn picture(&self, time_s: f64, jpeg: Arc<[u8]>) -> Result<(), InletError> {
        {
            let mut last_s = self.last_s.lock().unwrap_or_else(PoisonError::into_inner);
            if time_s.partial_cmp(&*last_s) != Some(std::cmp::Ordering::Greater) {
                return Err(InletError::NotRising {
                    found_s: time_s,
                    before_s: *last_s,
                });
            }
            *last_s = time_s;
        }
        self.tell(CameraNews::Picture { time_s, jpeg }).await
    }

    /// Say that the camera is lost, found, or in doubt.
    ///
    /// # Errors
    /// [`InletError::Closed`].
    pub async fn tell(&self, news: CameraNews) -> Result<(), InletError> {
        self.to.send(news).await.map_err(|_| InletError::Closed)
    }
}

#[async_trait]
impl Camera for PushedCamera {
    async fn show(mut self: Box<Self>, _clock: BenchClock, to: mpsc::Sender<CameraNews>) {
        while let Some(news) = self.news.recv().await {
            if to.send(news).await.is_err() {
                return;
            }
        }
    }
}
