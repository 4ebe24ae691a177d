//! The one task that knows all devices and the run.

use super::heater_task::{Asked, keep_asking};
use super::run_log::RunLogKeeper;
use super::view::{BenchView, DeviceHealth, LivePicture, SeriesPoint};
use super::{OrderError, RunOrder};
use crate::bench_file::BenchFile;
use crate::clock::BenchClock;
use crate::device::{CameraNews, HeaterCommand, Sample, ThermometerNews};
use crate::error::DeviceError;
use crate::recorder::Recorder;
use crate::rig::Rig;
use crate::run::{Happening, Press, Run, RunSettings, RunView};
use crate::simulated::SimulatedBench;
use crate::watcher::{Seen, Watcher};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;
use tokio::sync::{mpsc, oneshot, watch};
use tokio::task::AbortHandle;

/// The run goes on in steps of this, bench clock [s] ...
const STEP_S: f64 = 0.25;
/// ... and no shorter than this.
const LEAST_STEP: Duration = Duration::from_millis(5);
/// Pages are told this often.
const TOLD_EVERY: Duration = Duration::from_millis(200);
/// News that may wait.
const NEWS: usize = 256;
/// A temperature older than this is no beginning for a run [s].
const FRESH_S: f64 = 5.0;

/// What the bench is asked for.
pub(super) enum Order {
    Begin {
        order: RunOrder,
        recorder: Box<dyn Recorder>,
        reply: oneshot::Sender<Result<(), OrderError>>,
    },
    CouldBegin {
        reply: oneshot::Sender<Result<(), OrderError>>,
    },
    Press {
        press: Press,
        reply: oneshot::Sender<Result<(), OrderError>>,
    },
    Seen,
}

/// A run with whoever keeps it.
struct UnderWay {
    run: Run,
    recorder: Option<Box<dyn Recorder>>,
    recorded: bool,
    last_picture_s: f64,
    last_temperature_s: f64,
    kept: bool,
}

/// What outlives the actor's own state by nothing: aborted with it.
struct Tasks(Vec<AbortHandle>);

impl Drop for Tasks {
    fn drop(&mut self) {
        for task in &self.0 {
            task.abort();
        }
    }
}

pub(super) struct Actor {
    file: Arc<BenchFile>,
    clock: BenchClock,
    thermometer: mpsc::Receiver<ThermometerNews>,
    camera: mpsc::Receiver<CameraNews>,
    heater: mpsc::Receiver<Asked>,
    wanted: watch::Sender<HeaterCommand>,
    by_hand: bool,
    simulated: Option<SimulatedBench>,
    watcher: Watcher,
    seen: watch::Receiver<Arc<Seen>>,
    latest: Option<Sample>,
    states: [DeviceHealth; 3],
    pictures: u64,
    run: Option<UnderWay>,
    last_run: Option<RunView>,
    say: watch::Sender<Arc<BenchView>>,
    show: watch::Sender<Option<Arc<LivePicture>>>,
    series: Arc<Mutex<Vec<SeriesPoint>>>,
    run_log: RunLogKeeper,
    _tasks: Tasks,
}

const THERMOMETER: usize = 0;
const HEATER: usize = 1;
const CAMERA: usize = 2;

type Begun = (
    Actor,
    watch::Receiver<Arc<BenchView>>,
    watch::Receiver<Option<Arc<LivePicture>>>,
);

impl Actor {
    pub fn begin(
        file: Arc<BenchFile>,
        clock: BenchClock,
        rig: Rig,
        series: Arc<Mutex<Vec<SeriesPoint>>>,
        run_log: RunLogKeeper,
    ) -> Result<Begun, DeviceError> {
        let watcher = Watcher::begin(&file.name).map_err(|error| DeviceError::NotThere {
            device: "the engine".into(),
            found: error.to_string(),
            hint: "close other programs",
        })?;
        let (temperatures, thermometer) = mpsc::channel(NEWS);
        let (pictures, camera) = mpsc::channel(NEWS);
        let (told, heater) = mpsc::channel(NEWS);
        let (wanted, command) = watch::channel(HeaterCommand::Off { fan: false });
        let by_hand = rig.heater.traits().by_hand;
        // The heater's task is not aborted: it has to ask for off once this is gone.
        tokio::spawn(keep_asking(rig.heater, clock, command, told));
        let tasks = Tasks(vec![
            tokio::spawn(rig.thermometer.tell(clock, temperatures)).abort_handle(),
            tokio::spawn(rig.camera.show(clock, pictures)).abort_handle(),
        ]);
        let seen = watcher.seen();
        let (show, picture) = watch::channel(None);
        let states = [
            DeviceHealth::Waiting,
            DeviceHealth::Waiting,
            DeviceHealth::Waiting,
        ];
        let first = BenchView {
            time_s: clock.now_s(),
            temperature_c: None,
            thermometer: DeviceHealth::Waiting,
            heater: DeviceHealth::Waiting,
            camera: DeviceHealth::Waiting,
            picture: 0,
            passed_over: 0,
            engine_behind_s: 0.0,
            recording_trouble: None,
            run: None,
            points: 0,
        };
        let (say, view) = watch::channel(Arc::new(first));
        let actor = Self {
            file,
            clock,
            thermometer,
            camera,
            heater,
            wanted,
            by_hand,
            simulated: rig.simulated,
            watcher,
            seen,
            latest: None,
            states,
            pictures: 0,
            run: None,
            last_run: None,
            say,
            show,
            series,
            run_log,
            _tasks: tasks,
        };
        Ok((actor, view, picture))
    }

    /// Until nobody holds the bench any more.
    pub async fn work(mut self, mut orders: mpsc::Receiver<Order>) {
        let step = Duration::from_secs_f64(STEP_S / self.clock.speed()).max(LEAST_STEP);
        let mut ticks = tokio::time::interval(step);
        ticks.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
        let mut told = tokio::time::Instant::now();
        loop {
            tokio::select! {
                biased;
                order = orders.recv() => match order {
                    Some(order) => self.order(order),
                    None => break,
                },
                Some(news) = self.thermometer.recv() => self.temperature(news),
                Some(asked) = self.heater.recv() => self.asked(asked),
                Some(news) = self.camera.recv() => self.picture(news),
                Ok(()) = self.seen.changed() => {
                    let seen = self.seen.borrow_and_update().clone();
                    if let Some(under_way) = &mut self.run {
                        under_way.run.tubes(&seen.tubes);
                    }
                }
                _ = ticks.tick() => {
                    self.advance();
                    if told.elapsed() >= TOLD_EVERY {
                        told = tokio::time::Instant::now();
                        self.tell();
                    }
                }
            }
        }
        // Whoever held the bench is gone: what was recorded is kept, the heater's task asks for off.
        if let Some(mut under_way) = self.run.take()
            && let Some(mut recorder) = under_way.recorder
        {
            let why = "the bench was closed";
            under_way.run.note(Happening::Over, why);
            recorder.events(under_way.run.new_events());
            recorder.over(crate::run::Phase::Broken, why, under_way.run.marks());
        }
    }

    fn order(&mut self, order: Order) {
        // Whoever asked may have gone.
        match order {
            Order::Begin {
                order,
                recorder,
                reply,
            } => {
                let _ = reply.send(self.begin_run(order, recorder));
                self.tell();
            }
            Order::CouldBegin { reply } => {
                let _ = reply.send(self.ready().map(|_| ()));
            }
            Order::Press { press, reply } => {
                let answer = match &mut self.run {
                    Some(under_way) => under_way.run.press(press).map_err(OrderError::NotNow),
                    None => Err(OrderError::NotNow("no run is under way".into())),
                };
                let _ = reply.send(answer);
                self.advance();
                self.tell();
            }
            Order::Seen => {
                if let Some(under_way) = &mut self.run {
                    under_way.run.seen();
                }
            }
        }
    }

    /// The temperature to begin with.
    fn ready(&self) -> Result<f64, OrderError> {
        if self.run.is_some() {
            return Err(OrderError::NotNow(
                "a run is under way at this bench; stop it or wait for its end".into(),
            ));
        }
        let fresh_s = FRESH_S
            .max(2.0 * self.clock.speed())
            .max(self.file.thermometer.least_silence_s());
        match self.latest {
            Some(sample) if self.clock.now_s() - sample.time_s <= fresh_s => {
                Ok(sample.temperature_c)
            }
            _ => Err(OrderError::NotNow(
                "the thermometer tells no temperature; check it, or key the temperature in".into(),
            )),
        }
    }

    fn begin_run(
        &mut self,
        order: RunOrder,
        recorder: Box<dyn Recorder>,
    ) -> Result<(), OrderError> {
        let now_c = self.ready()?;
        if let Some(highest_c) = order.programme.highest_c()
            && highest_c > self.file.max_c
        {
            return Err(OrderError::NotNow(format!(
                "the programme goes to {highest_c} °C; this bench must stay below {} °C",
                self.file.max_c
            )));
        }
        if let Some(simulated) = &self.simulated {
            simulated
                .set_in(None)
                .map_err(|error| OrderError::NotNow(error.to_string()))?;
        }
        self.watcher.afresh();
        let settings = RunSettings {
            programme: order.programme,
            limits: self.file.limits,
            ability: self.file.ability(),
            max_c: self.file.max_c,
            by_hand: self.by_hand,
            least_silence_s: self.file.thermometer.least_silence_s(),
            end_when_clear: order.end_when_clear,
            watched: order.watched,
            speed: self.clock.speed(),
        };
        self.series
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clear();
        self.run_log.clear();
        self.run = Some(UnderWay {
            run: Run::begin(settings, self.clock.now_s(), now_c),
            recorder: Some(recorder),
            recorded: false,
            last_picture_s: f64::NEG_INFINITY,
            last_temperature_s: f64::NEG_INFINITY,
            kept: true,
        });
        self.advance();
        Ok(())
    }

    fn temperature(&mut self, news: ThermometerNews) {
        let state = &mut self.states[THERMOMETER];
        match news {
            ThermometerNews::Sample(sample) => {
                if !matches!(state, DeviceHealth::Well) {
                    *state = DeviceHealth::Well;
                }
                self.latest = Some(sample);
                if let Some(under_way) = &mut self.run
                    && under_way.run.temperature(sample)
                {
                    under_way.keep_temperature(sample);
                    let wanted_c = under_way.run.wanted_c();
                    let mut series = self.series.lock().unwrap_or_else(PoisonError::into_inner);
                    series.push(SeriesPoint {
                        time_s: sample.time_s - under_way.run.start_s(),
                        actual_c: sample.temperature_c,
                        wanted_c,
                    });
                    let since_s = sample.time_s - under_way.run.start_s();
                    self.run_log
                        .push(since_s, sample.temperature_c, *self.wanted.borrow());
                }
            }
            ThermometerNews::Unreadable { why, .. } => *state = DeviceHealth::Doubtful { why },
            ThermometerNews::Lost { why, .. } => {
                self.note(Happening::Device, format!("the thermometer is gone: {why}"));
                self.states[THERMOMETER] = DeviceHealth::Lost { why };
                self.latest = None;
            }
            ThermometerNews::Found { .. } => {
                self.note(Happening::Device, "the thermometer is back".into());
                self.states[THERMOMETER] = DeviceHealth::Waiting;
            }
        }
    }

    fn picture(&mut self, news: CameraNews) {
        match news {
            CameraNews::Picture { time_s, jpeg } => {
                if !matches!(self.states[CAMERA], DeviceHealth::Well) {
                    self.states[CAMERA] = DeviceHealth::Well;
                }
                self.pictures += 1;
                self.show.send_replace(Some(Arc::new(LivePicture {
                    number: self.pictures,
                    time_s,
                    jpeg: jpeg.clone(),
                })));
                if let Some(under_way) = &mut self.run
                    && under_way.run.is_recorded()
                {
                    under_way.keep_picture(time_s, &jpeg);
                    self.watcher.look(time_s, jpeg);
                }
            }
            CameraNews::Lost { why, .. } => {
                self.note(Happening::Device, format!("the camera is gone: {why}"));
                self.states[CAMERA] = DeviceHealth::Lost { why };
            }
            CameraNews::Found { .. } => {
                self.note(Happening::Device, "the camera is back".into());
                self.states[CAMERA] = DeviceHealth::Waiting;
            }
            CameraNews::Doubt { what, .. } => self.note(Happening::Doubt, what),
        }
    }

    fn asked(&mut self, asked: Asked) {
        self.states[HEATER] = match &asked.trouble {
            None => DeviceHealth::Well,
            Some(why) => DeviceHealth::Lost { why: why.clone() },
        };
        if let Some(under_way) = &mut self.run {
            under_way.run.heater(asked.command, asked.trouble);
        }
    }

    /// How far the engine is behind the pictures [s].
    fn engine_behind_s(&self) -> f64 {
        let newest_s = self.show.borrow().as_ref().map(|picture| picture.time_s);
        match (&self.run, newest_s) {
            (Some(under_way), Some(newest_s)) if under_way.run.is_recorded() => {
                (newest_s - self.seen.borrow().time_s.max(under_way.run.start_s())).max(0.0)
            }
            _ => 0.0,
        }
    }

    fn note(&mut self, what: Happening, text: String) {
        if let Some(under_way) = &mut self.run {
            under_way.run.note(what, text);
        }
    }

    fn advance(&mut self) {
        let Some(under_way) = &mut self.run else {
            return;
        };
        let command = under_way.run.advance(self.clock.now_s());
        self.wanted.send_replace(command);
        let events = under_way.run.new_events();
        if let Some(recorder) = &mut under_way.recorder {
            if !events.is_empty() {
                recorder.events(events);
            }
            if !under_way.recorded && !under_way.run.is_recorded() {
                under_way.recorded = true;
                recorder.recorded(under_way.run.marks());
            }
        }
        if under_way.run.phase().is_over() {
            let mut view = under_way.run.view();
            view.recording = false;
            self.last_run = Some(view);
            if let Some(recorder) = under_way.recorder.take() {
                let why = under_way.run.end().unwrap_or("it ended");
                recorder.over(under_way.run.phase(), why, under_way.run.marks());
            }
            self.run = None;
            self.wanted.send_replace(HeaterCommand::Off { fan: false });
            self.tell();
        }
    }

    fn tell(&mut self) {
        let (run, trouble) = match &self.run {
            Some(under_way) => (
                Some(under_way.run.view()),
                under_way
                    .recorder
                    .as_ref()
                    .and_then(|recorder| recorder.trouble()),
            ),
            None => (self.last_run.clone(), None),
        };
        let series = self.series.lock().unwrap_or_else(PoisonError::into_inner);
        self.say.send_replace(Arc::new(BenchView {
            time_s: self.clock.now_s(),
            temperature_c: self.latest.map(|sample| sample.temperature_c),
            thermometer: self.states[THERMOMETER].clone(),
            heater: self.states[HEATER].clone(),
            camera: self.states[CAMERA].clone(),
            picture: self.pictures,
            passed_over: self.watcher.passed_over() + self.seen.borrow().unreadable,
            engine_behind_s: self.engine_behind_s(),
            recording_trouble: trouble,
            run,
            points: series.len(),
        }));
    }
}

impl UnderWay {
    fn keep_temperature(&mut self, sample: Sample) {
        let time_s = sample.time_s - self.run.start_s();
        if !self.run.is_recorded() || time_s < 0.0 || time_s <= self.last_temperature_s {
            return;
        }
        self.last_temperature_s = time_s;
        let kept = self.recorder.as_mut().map_or(Ok(()), |recorder| {
            recorder.temperature(time_s, sample.temperature_c)
        });
        self.say_kept(kept);
    }

    fn keep_picture(&mut self, time_s: f64, jpeg: &Arc<[u8]>) {
        let time_s = time_s - self.run.start_s();
        if time_s < 0.0 || time_s <= self.last_picture_s {
            return;
        }
        self.last_picture_s = time_s;
        let kept = self
            .recorder
            .as_mut()
            .map_or(Ok(()), |recorder| recorder.picture(time_s, jpeg.clone()));
        self.say_kept(kept);
    }

    fn say_kept(&mut self, kept: Result<(), String>) {
        if let Err(why) = kept {
            self.kept = false;
            self.run.recording(Some(why));
        } else if !self.kept {
            self.kept = true;
            self.run.recording(None);
        }
    }
}
