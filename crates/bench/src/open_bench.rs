//! A bench with its devices at work, and the run at it.

mod actor;
mod heater_task;
mod run_log;
mod view;

pub use run_log::{RunLogFileError, read_run_log, run_log_can_be_written, write_run_log};
pub use view::{BenchView, DeviceHealth, LivePicture, SeriesPoint};

use self::run_log::RunLogKeeper;
use crate::bench_file::BenchFile;
use crate::camera::PictureInlet;
use crate::clock::BenchClock;
use crate::error::DeviceError;
use crate::recorder::Recorder;
use crate::rig::Rig;
use crate::run::Press;
use crate::simulated::SimulatedBench;
use crate::thermometer::KeyedInlet;
use actor::{Actor, Order};
use meltrange_planning::{Programme, RunSample};
use std::sync::{Arc, Mutex, PoisonError};
use tokio::sync::{mpsc, oneshot, watch};

/// Orders that may wait.
const ORDERS: usize = 64;

/// What is to be done in a run.
#[derive(Debug, Clone, PartialEq)]
pub struct RunOrder {
    /// The legs.
    pub programme: Programme,
    /// The scan ends by itself when every tube is clear.
    pub end_when_clear: bool,
    /// A page must look now and then.
    pub watched: bool,
}

/// Why something could not be done at a bench.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum OrderError {
    /// It means nothing now; why, and what to do.
    #[error("{0}")]
    NotNow(String),
    /// The bench was closed.
    #[error("the bench is closed")]
    Closed,
}

/// A bench at work; cheap to clone. It is closed, heater off, when the last one is gone.
#[derive(Clone)]
pub struct OpenBench {
    file: Arc<BenchFile>,
    clock: BenchClock,
    orders: mpsc::Sender<Order>,
    view: watch::Receiver<Arc<BenchView>>,
    picture: watch::Receiver<Option<Arc<LivePicture>>>,
    series: Arc<Mutex<Vec<SeriesPoint>>>,
    run_log: RunLogKeeper,
    pictures: Option<PictureInlet>,
    temperatures: Option<KeyedInlet>,
    simulated: Option<SimulatedBench>,
}

impl std::fmt::Debug for OpenBench {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("OpenBench")
            .field("file", &self.file)
            .field("view", &self.view.borrow())
            .finish_non_exhaustive()
    }
}

impl OpenBench {
    /// Set the devices of a bench to work. Needs a tokio runtime. `speed` is that of a simulated
    /// bench's clock, 1 to 60; real ones run at 1.
    ///
    /// # Errors
    /// [`DeviceError`] when a device cannot be set up at all. One that is merely not plugged in shows
    /// in [`OpenBench::view`].
    pub fn open(file: BenchFile, speed: f64) -> Result<Self, DeviceError> {
        let clock = if file.is_simulated() {
            BenchClock::start_at_speed(speed)
        } else {
            BenchClock::start()
        };
        let file = Arc::new(file);
        let rig = Rig::of(&file, clock)?;
        let (orders, todo) = mpsc::channel(ORDERS);
        let series = Arc::new(Mutex::new(Vec::new()));
        let run_log = RunLogKeeper::default();
        let pictures = rig.pictures.clone();
        let temperatures = rig.temperatures.clone();
        let simulated = rig.simulated.clone();
        let (actor, view, picture) =
            Actor::begin(file.clone(), clock, rig, series.clone(), run_log.clone())?;
        tokio::spawn(actor.work(todo));
        Ok(Self {
            file,
            clock,
            orders,
            view,
            picture,
            series,
            run_log,
            pictures,
            temperatures,
            simulated,
        })
    }

    /// Its file.
    pub fn file(&self) -> &BenchFile {
        &self.file
    }

    /// Its clock.
    pub fn clock(&self) -> BenchClock {
        self.clock
    }

    /// What goes on, a few times a second.
    pub fn view(&self) -> watch::Receiver<Arc<BenchView>> {
        self.view.clone()
    }

    /// The newest picture.
    pub fn picture(&self) -> watch::Receiver<Option<Arc<LivePicture>>> {
        self.picture.clone()
    }

    /// Temperatures of the run under way or just over, from point number `from` on.
    pub fn series(&self, from: usize) -> Vec<SeriesPoint> {
        let series = self.series.lock().unwrap_or_else(PoisonError::into_inner);
        series.get(from..).unwrap_or_default().to_vec()
    }

    /// What was asked of the block and what it did, in the run under way or just over: what a bench is learned from.
    pub fn run_log(&self) -> Vec<RunSample> {
        self.run_log.samples()
    }

    /// Where pictures are brought, when a browser is the camera.
    pub fn pictures(&self) -> Option<&PictureInlet> {
        self.pictures.as_ref()
    }

    /// Key a temperature in [°C].
    ///
    /// # Errors
    /// [`OrderError`] when it cannot be, or the bench has a thermometer of its own.
    pub fn key_in(&self, temperature_c: f64) -> Result<(), OrderError> {
        let Some(inlet) = &self.temperatures else {
            let text = "the thermometer of this bench tells its temperatures by itself";
            return Err(OrderError::NotNow(text.into()));
        };
        let put = inlet.put(temperature_c, None);
        put.map(|_| ())
            .map_err(|error| OrderError::NotNow(error.to_string()))
    }

    /// The simulated bench behind it, when it is one.
    pub fn simulated(&self) -> Option<&SimulatedBench> {
        self.simulated.as_ref()
    }

    /// Begin a run.
    ///
    /// # Errors
    /// [`OrderError`]: one is under way, or the thermometer tells nothing.
    pub async fn begin(
        &self,
        order: RunOrder,
        recorder: Box<dyn Recorder>,
    ) -> Result<(), OrderError> {
        self.ask(|reply| Order::Begin {
            order,
            recorder,
            reply,
        })
        .await
    }

    /// What would keep a run from beginning now.
    ///
    /// # Errors
    /// [`OrderError`] says what.
    pub async fn could_begin(&self) -> Result<(), OrderError> {
        self.ask(|reply| Order::CouldBegin { reply }).await
    }

    /// Press a key.
    ///
    /// # Errors
    /// [`OrderError`] when it means nothing now.
    pub async fn press(&self, press: Press) -> Result<(), OrderError> {
        self.ask(|reply| Order::Press { press, reply }).await
    }

    /// A page looks.
    pub fn seen(&self) {
        // A full queue means that the bench is busy; the page looks again in a second.
        let _ = self.orders.try_send(Order::Seen);
    }

    async fn ask(
        &self,
        order: impl FnOnce(oneshot::Sender<Result<(), OrderError>>) -> Order,
    ) -> Result<(), OrderError> {
        let (reply, answer) = oneshot::channel();
        let sent = self.orders.send(order(reply)).await;
        sent.map_err(|_| OrderError::Closed)?;
        answer.await.map_err(|_| OrderError::Closed)?
    }
}
