//! What stands against a draft.

use super::draft::{DraftFault, SessionDraft};
use super::order::{ABOVE_ROOM_C, SLACK_C, SessionBench, SessionOrder, SessionSample};
use super::plan::{PlannedBench, PlannedLoad};
use std::collections::{BTreeMap, BTreeSet};

/// Rounding of moments that people note down [min].
const ROUNDING_MIN: f64 = 0.01;

/// Everything that stands against a draft; `benches` are its loads with their times.
pub(super) fn faults(
    order: &SessionOrder,
    draft: &SessionDraft,
    benches: &[PlannedBench],
) -> Vec<DraftFault> {
    let mut faults = Vec::new();
    bench_names(order, draft, &mut faults);
    for (bench, planned) in order.benches.iter().zip(benches) {
        for (place, load) in planned.loads.iter().enumerate() {
            let mut say = |text: String| {
                faults.push(DraftFault {
                    bench: Some(bench.name.clone()),
                    load: Some(place),
                    text,
                });
            };
            load_alone(order, bench, load, &mut say);
        }
    }
    tubes(order, draft, benches, &mut faults);
    real_order(order, draft, benches, &mut faults);
    faults
}

fn bench_names(order: &SessionOrder, draft: &SessionDraft, faults: &mut Vec<DraftFault>) {
    for (number, own) in draft.benches.iter().enumerate() {
        let known = order.benches.iter().any(|bench| bench.name == own.bench);
        let before = draft.benches.iter().take(number);
        let text = if !known {
            let names: Vec<&str> = order.benches.iter().map(|one| one.name.as_str()).collect();
            let names = names.join(", ");
            format!("bench {} is not known; expected one of {names}", own.bench)
        } else if before.clone().any(|other| other.bench == own.bench) {
            format!("bench {} stands there twice; expected once", own.bench)
        } else {
            continue;
        };
        faults.push(DraftFault {
            bench: Some(own.bench.clone()),
            load: None,
            text,
        });
    }
}

/// A load for itself: its number of tubes, tubes of one sample, temperatures.
fn load_alone(
    order: &SessionOrder,
    bench: &SessionBench,
    load: &PlannedLoad,
    say: &mut dyn FnMut(String),
) {
    if load.tubes.is_empty() {
        say("it holds no tube; expected at least one".into());
    }
    if load.tubes.len() > bench.places as usize {
        let (count, places) = (load.tubes.len(), bench.places);
        say(format!(
            "{count} tubes; {} has {places} {}",
            bench.name,
            if places == 1 { "place" } else { "places" }
        ));
    }
    let mut by_sample: BTreeMap<&str, u32> = BTreeMap::new();
    for tube in &load.tubes {
        *by_sample.entry(&tube.sample).or_default() += 1;
    }
    for (sample, count) in by_sample {
        if order.policy.independent_loads && count > 1 {
            say(format!(
                "{count} tubes of {sample} together; expected each in a load of its own"
            ));
        }
    }
    let (Some(first), Some(last)) = (load.scan_windows_c.first(), load.scan_windows_c.last())
    else {
        return;
    };
    let (from_c, to_c) = (first[0], last[1]);
    if to_c > bench.max_c + SLACK_C {
        let max_c = bench.max_c;
        say(format!(
            "its last scan ends at {to_c:.1} °C; {} may not be hotter than {max_c:.1} °C",
            bench.name
        ));
    }
    let lowest_c = bench.room_c + ABOVE_ROOM_C;
    if from_c < lowest_c - SLACK_C {
        say(format!(
            "its first scan begins at {from_c:.1} °C; expected {lowest_c:.1} °C or more, 1 °C above the room"
        ));
    }
    for sample in samples_of(order, load) {
        if let Some(limit_c) = sample.leave_below_c
            && to_c > limit_c + SLACK_C
        {
            say(format!(
                "its last scan ends at {to_c:.1} °C; {} must not be heated above {limit_c:.1} °C",
                sample.id
            ));
        }
    }
}

/// Each sample of a load once.
fn samples_of<'a>(order: &'a SessionOrder, load: &PlannedLoad) -> Vec<&'a SessionSample> {
    order
        .samples
        .iter()
        .filter(|sample| load.tubes.iter().any(|tube| tube.sample == sample.id))
        .collect()
}

/// Tubes that are not known, stand there twice or are missing.
fn tubes(
    order: &SessionOrder,
    draft: &SessionDraft,
    benches: &[PlannedBench],
    faults: &mut Vec<DraftFault>,
) {
    let mut wanted: BTreeMap<&str, u32> = BTreeMap::new();
    for sample in &order.samples {
        wanted.insert(&sample.id, order.replicates_of(sample));
    }
    let mut seen: BTreeMap<(&str, u32), (&str, usize)> = BTreeMap::new();
    for bench in benches {
        for (place, load) in bench.loads.iter().enumerate() {
            for tube in &load.tubes {
                let (id, number) = (tube.sample.as_str(), tube.replicate);
                let before = seen.insert((id, number), (&bench.bench, place));
                let text = match wanted.get(id) {
                    None => format!("sample {id} is not known; expected one of the session's"),
                    Some(&most) if number < 1 || number > most => {
                        format!("tube {number} of {id} is not asked for; expected 1 to {most}")
                    }
                    Some(_) => match before {
                        Some((bench, place)) => format!(
                            "tube {number} of {id} is also in load {} of {bench}; expected once",
                            place + 1
                        ),
                        None => continue,
                    },
                };
                faults.push(DraftFault {
                    bench: Some(bench.bench.clone()),
                    load: Some(place),
                    text,
                });
            }
        }
    }
    let elsewhere = draft.begun_elsewhere(order).flat_map(|load| &load.tubes);
    let elsewhere = elsewhere.map(|tube| (tube.sample.as_str(), tube.replicate));
    let seen: BTreeSet<(&str, u32)> = seen.into_keys().chain(elsewhere).collect();
    for sample in &order.samples {
        let id = sample.id.as_str();
        let missing: Vec<String> = (1..=order.replicates_of(sample))
            .filter(|&number| !seen.contains(&(id, number)))
            .map(|number| number.to_string())
            .collect();
        if !missing.is_empty() {
            faults.push(DraftFault {
                bench: None,
                load: None,
                text: format!("{id} is missing: tube {}", missing.join(", ")),
            });
        }
    }
}

/// What really happened must have been possible on one bench.
fn real_order(
    order: &SessionOrder,
    draft: &SessionDraft,
    benches: &[PlannedBench],
    faults: &mut Vec<DraftFault>,
) {
    for (planned, own) in benches.iter().zip(draft.by_bench(order)) {
        let mut ahead = false;
        let mut free_min = 0.0;
        for (place, (load, planned_load)) in own.iter().zip(&planned.loads).enumerate() {
            let Some(actual) = &load.actual else {
                ahead = true;
                continue;
            };
            let text = if ahead {
                "it began, but stands behind a load that has not".to_owned()
            } else if actual.load_start_min < free_min - ROUNDING_MIN {
                format!(
                    "it was set in at {:.1} min, before the load ahead of it ended at {free_min:.1} min",
                    actual.load_start_min
                )
            } else {
                free_min = planned_load.end_min;
                continue;
            };
            free_min = planned_load.end_min;
            faults.push(DraftFault {
                bench: Some(planned.bench.clone()),
                load: Some(place),
                text,
            });
        }
    }
}
