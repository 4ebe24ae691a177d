//! A run on the simulated bench, sixty times as fast as the wall's clock, read afterwards.

use crate::kept::ToFolder;
use meltrange_bench::{
    BenchFile, Happening, Look, OpenBench, Phase, Press, RunOrder, SimulatedFault,
};
use meltrange_planning::{MeasuringOrder, Programme};
use meltrange_reading::{ReadOptions, read_recording};
use std::path::Path;
use std::time::{Duration, Instant};

const BENCH: &str = r#"
name = "Simulated"
places = 3
room_c = 22.0
max_c = 300.0
[thermometer]
kind = "simulated"
[heater]
kind = "simulated"
[camera]
kind = "simulated"
frames_per_s = 1.0
[camera.scene]
seed = 11
[camera.scene.picture]
width = 480
height = 360
light = "back"
backdrop = "plain"
bore_px = 56.0
[[camera.scene.tube]]
melts_at_c = 122.4
[[camera.scene.tube]]
melts_at_c = 122.4
impurity_mole_fraction = 0.001
[[camera.scene.tube]]
melts_at_c = 122.0
"#;

fn open(text: &str, speed: f64) -> OpenBench {
    let file = BenchFile::parse(text, Path::new("simulated.toml")).expect("a bench file");
    OpenBench::open(file, speed).expect("a simulated bench")
}

async fn until(
    bench: &OpenBench,
    within: Duration,
    done: impl Fn(&meltrange_bench::BenchView) -> bool,
) {
    let mut view = bench.view();
    let begun = Instant::now();
    loop {
        if done(&view.borrow_and_update()) {
            return;
        }
        assert!(
            begun.elapsed() < within,
            "it did not come: {:#?}",
            view.borrow()
        );
        let _ = tokio::time::timeout(Duration::from_secs(1), view.changed()).await;
    }
}

fn order(first_c: f64, last_c: f64) -> RunOrder {
    let order = MeasuringOrder::around(first_c, last_c);
    RunOrder {
        programme: Programme::measuring(&order, 300.0).expect("in range"),
        end_when_clear: true,
        watched: false,
    }
}

#[tokio::test(flavor = "multi_thread")]
#[expect(clippy::print_stderr, reason = "says what was measured")]
async fn a_quarter_of_an_hour_at_sixty_times_reads_as_it_was() {
    let bench = open(BENCH, 60.0);
    until(&bench, Duration::from_secs(5), |view| {
        view.temperature_c.is_some()
    })
    .await;
    let folder = tempfile::tempdir().expect("a folder");
    let (recorder, kept) = ToFolder::new(folder.path());
    bench
        .begin(order(121.0, 123.0), recorder)
        .await
        .expect("ready");
    until(&bench, Duration::from_secs(60), |view| {
        view.run
            .as_ref()
            .is_some_and(|run| run.attend_left_s.is_some())
    })
    .await;
    bench.press(Press::Attend).await.expect("it waits");
    until(&bench, Duration::from_secs(90), |view| {
        view.run.as_ref().is_some_and(|run| !run.recording)
    })
    .await;
    let view = bench.view().borrow().clone();
    let run = view.run.as_ref().expect("under way");
    assert!(
        run.tubes.iter().all(|tube| tube.look == Look::Clear),
        "{:?}",
        run.tubes
    );
    // The truth's clock is the bench's; the reading's begins with the run.
    let began_s = view.time_s - run.time_s;
    let truth = bench.simulated().expect("simulated").truth();
    eprintln!(
        "{} pictures in {:.0} s, {} passed over by the engine",
        kept.lock().expect("whole").pictures,
        run.time_s,
        view.passed_over
    );
    let mut source = meltrange_media::open(folder.path(), 0.0).expect("a recording");
    let log = meltrange_media::read_log(&folder.path().join("temperature.csv")).expect("a log");
    let reading = read_recording(&mut source, &log.log, &ReadOptions::default(), &mut |_| ())
        .expect("readable");
    assert_eq!(reading.tubes.len(), 3);
    for (tube, truth) in reading.tubes.iter().zip(&truth) {
        let (first, last) = (
            tube.first_liquid.expect("melts"),
            tube.last_crystal.expect("melts"),
        );
        let (true_first, true_last) = (
            truth.first_liquid.expect("melts"),
            truth.last_crystal.expect("melts"),
        );
        eprintln!(
            "tube {}: first liquid {:.2} °C ({:+.2} °C, {:+.1} s), last crystal {:.2} °C ({:+.2} °C, {:+.1} s)",
            tube.tube,
            first.temperature_c,
            first.temperature_c - true_first.temperature_c,
            first.time_s - (true_first.time_s - began_s),
            last.temperature_c,
            last.temperature_c - true_last.temperature_c,
            last.time_s - (true_last.time_s - began_s),
        );
        // The worst that a reading may be off.
        assert!((first.temperature_c - true_first.temperature_c).abs() < 0.5);
        assert!((last.temperature_c - true_last.temperature_c).abs() < 0.5);
    }
    let kept = kept.lock().expect("whole");
    assert!(
        !kept
            .events
            .iter()
            .any(|event| event.what == Happening::Fault),
        "{:?}",
        kept.events
    );
    let legs = kept
        .events
        .iter()
        .filter(|event| event.what == Happening::Leg)
        .count();
    assert!(legs >= 5, "{:?}", kept.events);
}

#[tokio::test(flavor = "multi_thread")]
async fn faults_of_devices_take_the_heat_away_and_are_recorded() {
    let bench = open(BENCH, 20.0);
    until(&bench, Duration::from_secs(5), |view| {
        view.temperature_c.is_some()
    })
    .await;
    let folder = tempfile::tempdir().expect("a folder");
    let (recorder, kept) = ToFolder::new(folder.path());
    bench
        .begin(order(121.0, 123.0), recorder)
        .await
        .expect("ready");
    let simulated = bench.simulated().expect("simulated").clone();
    until(&bench, Duration::from_secs(20), |view| {
        view.temperature_c > Some(40.0)
    })
    .await;
    simulated
        .faults()
        .provoke(SimulatedFault::ThermometerUnplugged);
    let suspended = |view: &meltrange_bench::BenchView| {
        view.run
            .as_ref()
            .is_some_and(|run| run.phase == Phase::Suspended)
    };
    until(&bench, Duration::from_secs(10), suspended).await;
    assert!(bench.press(Press::Resume).await.is_err(), "still unplugged");
    simulated
        .faults()
        .mend(SimulatedFault::ThermometerUnplugged);
    until(&bench, Duration::from_secs(10), |view| {
        view.run.as_ref().is_some_and(|run| run.faults.is_empty())
    })
    .await;
    bench.press(Press::Resume).await.expect("mended");
    until(&bench, Duration::from_secs(10), |view| {
        view.run
            .as_ref()
            .is_some_and(|run| run.phase == Phase::Running)
    })
    .await;
    simulated
        .faults()
        .provoke(SimulatedFault::HeaterUnreachable);
    until(&bench, Duration::from_secs(10), suspended).await;
    // Its controller falls back by itself.
    simulated.faults().mend(SimulatedFault::HeaterUnreachable);
    bench.press(Press::Stop).await.expect("always");
    until(&bench, Duration::from_secs(10), |view| {
        view.run
            .as_ref()
            .is_some_and(|run| run.phase == Phase::Ended)
    })
    .await;
    let kept = kept.lock().expect("whole");
    let faults: Vec<_> = kept
        .events
        .iter()
        .filter(|event| event.what == Happening::Fault)
        .collect();
    assert_eq!(faults.len(), 2, "{faults:?}");
    assert_eq!(kept.over.as_ref().expect("over").0, Phase::Ended);
}
