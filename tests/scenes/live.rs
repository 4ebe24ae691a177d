//! Causal reading against the scene's truth, picture by picture.

use crate::film::{plain, settling};
use meltrange_reading::{Frame, LiveReader, LiveStage, ReadOptions};

/// Latest call after the true moment [s]: the project's own target for causal reading.
const LATEST_CALL_S: f64 = 10.0;
/// Earliest call before the true first liquid [s]. This scene's powder loses its look all over
/// before it clears, which the engine is known to call up to about half a minute early.
const EARLIEST_CALL_S: f64 = 60.0;

#[test]
fn moments_are_called_in_time_and_not_taken_back() {
    let recorded = plain();
    let truth = &recorded.truth.tubes[0];
    let first_s = truth.first_liquid.expect("it melts").time_s;
    let last_s = truth.last_crystal.expect("it melts").time_s;
    let mut reader = LiveReader::new(&ReadOptions::default());
    let (mut called_first_s, mut called_last_s) = (None, None);
    for frame in recorded.frames() {
        let tubes = reader.push(&frame);
        if let [tube] = tubes {
            assert_eq!(tube.taken_back, 0, "taken back at {} s", frame.time_s);
            if tube.first_liquid_s.is_some() {
                called_first_s.get_or_insert(frame.time_s);
            }
            if tube.stage == LiveStage::Liquid {
                called_last_s.get_or_insert(frame.time_s);
            }
        } else {
            assert!(tubes.is_empty(), "one tube, not {}", tubes.len());
        }
    }
    let called_first_s: f64 = called_first_s.expect("first liquid called");
    let called_last_s: f64 = called_last_s.expect("last crystal called");
    assert!(
        (-EARLIEST_CALL_S..=LATEST_CALL_S).contains(&(called_first_s - first_s)),
        "first liquid called at {called_first_s} s, truly {first_s} s"
    );
    assert!(
        (-LATEST_CALL_S..=LATEST_CALL_S).contains(&(called_last_s - last_s)),
        "last crystal called at {called_last_s} s, truly {last_s} s"
    );
}

#[test]
fn settling_powder_is_called_so_and_not_liquid() {
    let recorded = settling();
    let mut reader = LiveReader::new(&ReadOptions::default());
    let mut settling_s = Vec::new();
    for frame in recorded.frames() {
        if let [tube] = reader.push(&frame) {
            assert_eq!(tube.first_liquid_s, None, "liquid at {} s", frame.time_s);
            if tube.settling {
                settling_s.push(frame.time_s);
            }
        }
    }
    assert!(
        settling_s.iter().any(|at_s| (40.0..50.0).contains(at_s)),
        "settled at 40 s, called at {settling_s:?} s"
    );
    assert!(
        settling_s.iter().all(|at_s| (39.0..55.0).contains(at_s)),
        "called at {settling_s:?} s"
    );
}

#[test]
fn pictures_out_of_order_or_of_another_size_are_passed_over() {
    let mut reader = LiveReader::new(&ReadOptions::default());
    let recorded = plain();
    let half = recorded.pictures.len() / 4;
    for frame in recorded.frames().take(half) {
        reader.push(&frame);
    }
    let before = reader
        .push(&recorded.frames().next().expect("a picture"))
        .to_vec();
    assert_eq!(before.len(), 1);
    let odd = Frame {
        time_s: f64::NAN,
        width: 1,
        height: 1,
        luma: &[0],
    };
    assert_eq!(reader.push(&odd), before);
    let small = Frame {
        time_s: 1e6,
        width: 2,
        height: 1,
        luma: &[0, 9],
    };
    assert_eq!(reader.push(&small), before);
}
