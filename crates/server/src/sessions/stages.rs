//! What a bench does minute by minute, and the legs that its programme has for each load.

use crate::wire::{BenchPicture, LoadPicture, Stage, StageKind};
use meltrange_planning::{
    Leg, MeasuringOrder, PlannedBench, PlannedLoad, SessionBench, SessionOrder,
};

/// Stages shorter than this are not told apart [min].
const SHORTEST_MIN: f64 = 1e-6;

/// Each bench of a plan, load by load.
pub(crate) fn bench_pictures(order: &SessionOrder, benches: &[PlannedBench]) -> Vec<BenchPicture> {
    benches
        .iter()
        .filter_map(|planned| {
            let bench = order.benches.iter().find(|one| one.name == planned.bench)?;
            let mut free_min = 0.0;
            Some(BenchPicture {
                bench: planned.bench.clone(),
                loads: planned
                    .loads
                    .iter()
                    .map(|load| {
                        let picture = load_picture(order, bench, load, free_min);
                        free_min = load.end_min;
                        picture
                    })
                    .collect(),
            })
        })
        .collect()
}

fn load_picture(
    order: &SessionOrder,
    bench: &SessionBench,
    load: &PlannedLoad,
    free_min: f64,
) -> LoadPicture {
    let policy = &order.policy;
    let Some(set_in_below_c) = bench.set_in_below_c(policy, load) else {
        return LoadPicture::default();
    };
    let mut stages = Stages::from(free_min);
    let cooled_min = free_min + bench.cooling_min(load.cool_from_c, set_in_below_c);
    stages.until(StageKind::Cooling, cooled_min.min(load.load_start_min));
    stages.until(StageKind::Waiting, load.load_start_min);
    stages.until(StageKind::SettingIn, load.load_start_min + policy.load_min);
    // Backwards from the end: what the scans, their soaks and the heating between them take.
    let mut parts = Vec::new();
    for (number, [from_c, to_c]) in load.scan_windows_c.iter().enumerate() {
        if number > 0 {
            let before_c = load.scan_windows_c[number - 1][1];
            let between = (from_c - before_c).max(0.0) / bench.heat_rate_c_per_min;
            parts.push((StageKind::Approach, between, None));
            parts.push((StageKind::Soak, policy.resettle_min, None));
        }
        let scan = (to_c - from_c) / policy.scan_rate_c_per_min;
        parts.push((StageKind::Scan, scan, Some([*from_c, *to_c])));
    }
    let after_soak: f64 = parts.iter().map(|part| part.1).sum();
    stages.until(
        StageKind::Approach,
        load.end_min - after_soak - policy.soak_min,
    );
    stages.until(StageKind::Soak, load.end_min - after_soak);
    let mut left = after_soak;
    for (kind, minutes, scan_c) in parts {
        left -= minutes;
        stages.until(kind, load.end_min - left);
        if let (Some(stage), Some(_)) = (stages.done.last_mut(), scan_c) {
            stage.scan_c = scan_c;
        }
    }
    let expected = load.tubes.iter().filter_map(|tube| {
        let sample = order.samples.iter().find(|one| one.id == tube.sample)?;
        Some([sample.first_liquid_c, sample.last_crystal_c])
    });
    LoadPicture {
        stages: stages.done,
        set_in_below_c: Some(set_in_below_c),
        range_c: expected.reduce(|a, b| [a[0].min(b[0]), a[1].max(b[1])]),
        legs: legs(order, load, set_in_below_c),
        measuring: measuring(order, load),
    }
}

/// One approach, soak and scan for each window; cooling at the end so that the block may be touched up again.
fn legs(order: &SessionOrder, load: &PlannedLoad, cool_to_c: f64) -> Vec<Leg> {
    let policy = &order.policy;
    let mut minutes = policy.soak_min;
    let mut legs = Vec::new();
    for &[from_c, to_c] in &load.scan_windows_c {
        legs.push(Leg::Approach { to_c: from_c });
        legs.push(Leg::Soak { minutes });
        legs.push(Leg::Scan {
            to_c,
            rate_c_per_min: policy.scan_rate_c_per_min,
        });
        minutes = policy.resettle_min;
    }
    legs.push(Leg::Cool { to_c: cool_to_c });
    legs
}

/// Where one scan does for all its tubes.
fn measuring(order: &SessionOrder, load: &PlannedLoad) -> Option<MeasuringOrder> {
    let policy = &order.policy;
    let &[[from_c, to_c]] = load.scan_windows_c.as_slice() else {
        return None;
    };
    let range = MeasuringOrder::around(from_c + policy.start_below_c, to_c - policy.stop_above_c);
    Some(MeasuringOrder {
        rate_c_per_min: policy.scan_rate_c_per_min,
        soak_min: policy.soak_min,
        start_below_c: policy.start_below_c,
        stop_above_c: policy.stop_above_c,
        cool_below_c: policy.cool_below_c,
        ..range
    })
}

/// Stages in order of time.
struct Stages {
    at_min: f64,
    done: Vec<Stage>,
}

impl Stages {
    fn from(at_min: f64) -> Self {
        Self {
            at_min,
            done: Vec::new(),
        }
    }

    /// This goes on until then; nothing where that is past.
    fn until(&mut self, kind: StageKind, to_min: f64) {
        if to_min > self.at_min + SHORTEST_MIN {
            self.done.push(Stage {
                kind,
                from_min: self.at_min,
                to_min,
                scan_c: None,
            });
            self.at_min = to_min;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use meltrange_planning::{Programme, Purpose, SessionEffort, plan_session};

    /// One bench, two samples of one tube that share no window: everything by hand.
    #[test]
    fn a_load_is_cut_into_what_its_bench_does() {
        let order: SessionOrder = toml::from_str(
            r#"
            length_min = 120.0
            [policy]
            replicates = 1
            [[bench]]
            name = "North"
            places = 3
            room_c = 22.0
            start_c = 90.0
            heat_rate_c_per_min = 10.0
            cool_time_constant_min = 12.0
            max_c = 300.0
            [[sample]]
            id = "A"
            first_liquid_c = 80.0
            last_crystal_c = 81.0
            [[sample]]
            id = "B"
            first_liquid_c = 100.0
            last_crystal_c = 101.0
            "#,
        )
        .expect("an order");
        let effort = SessionEffort { rounds: 1, seed: 1 };
        let plan = plan_session(&order, effort, &mut || true).expect("a plan");
        let pictures = bench_pictures(&order, &plan.benches);
        let loads = &pictures[0].loads;
        assert_eq!(loads.len(), 1, "both share a load: {plan:?}");
        let minutes: Vec<(StageKind, f64)> = loads[0]
            .stages
            .iter()
            .map(|stage| (stage.kind, stage.to_min - stage.from_min))
            .collect();
        // Cooling from 90 to 60 °C in a room of 22 °C; set in; 60 to 77 °C at 10 °C/min; soak; 77 to 83 °C;
        // 83 to 97 °C; settle again; 97 to 103 °C.
        let by_hand = [
            (StageKind::Cooling, 12.0 * (68.0_f64 / 38.0).ln()),
            (StageKind::SettingIn, 2.0),
            (StageKind::Approach, 1.7),
            (StageKind::Soak, 3.0),
            (StageKind::Scan, 6.0),
            (StageKind::Approach, 1.4),
            (StageKind::Soak, 1.0),
            (StageKind::Scan, 6.0),
        ];
        assert_eq!(minutes.len(), by_hand.len(), "{minutes:?}");
        for ((kind, found), (expected_kind, expected)) in minutes.iter().zip(by_hand) {
            assert_eq!(*kind, expected_kind);
            assert!(
                (found - expected).abs() < 1e-6,
                "{kind:?}: {found}, {expected}"
            );
        }
        assert_eq!(loads[0].set_in_below_c, Some(60.0));
        assert_eq!(loads[0].range_c, Some([80.0, 101.0]));
        Programme::new(Purpose::Measuring, loads[0].legs.clone(), 300.0).expect("a programme");
    }
}
