//! A plan in words.

use super::draft::{makespan_min, numbers};
use super::model::Model;
use super::order::{SessionBench, SessionOrder};
use super::plan::{PlannedBench, PlannedLoad, SessionPlan};
use serde::Serialize;
use std::collections::BTreeMap;

/// Part of all bench time from which on something is named as what the session hangs on.
const MUCH: f64 = 0.1;

/// A plan in words.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct SessionWords {
    /// Per bench, per load (same shape as the plan): why these tubes share a load; empty for single tubes.
    pub loads: Vec<Vec<String>>,
    /// What the makespan hangs on: hands, one bench, the number of places, cooling, scanning.
    pub bottleneck: String,
    /// Where the time of each bench goes.
    pub shares: Vec<BenchShares>,
}

/// Where the time of one bench goes, up to the end of the last load of all.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct BenchShares {
    /// Its name.
    pub bench: String,
    /// Cooling before loads [min].
    pub cooling_min: f64,
    /// Cool, but nobody is free, or its turn has not come; not before now [min].
    pub waiting_min: f64,
    /// Tubes are set in [min].
    pub loading_min: f64,
    /// Heating to the first scan and between scans [min].
    pub approaching_min: f64,
    /// Soaks before scans [min].
    pub soaking_min: f64,
    /// Scans [min].
    pub scanning_min: f64,
    /// After its last load, and before now while nothing was set in [min].
    pub idle_min: f64,
}

/// A plan in words: why tubes share loads, what the makespan hangs on, where the time goes.
///
/// `plan` is one of `order`; benches and samples that `order` does not know are passed over. Nothing of it that has
/// not begun begins before `now_min` [min].
pub fn explain(order: &SessionOrder, plan: &SessionPlan, now_min: f64) -> SessionWords {
    let (model, numbers) = (Model::new(order), numbers(order));
    let whole_min = makespan_min(&plan.benches);
    let shares: Vec<BenchShares> = plan
        .benches
        .iter()
        .map(|planned| shares(order, planned, whole_min, now_min))
        .collect();
    let loads = plan.benches.iter().map(|planned| {
        let bench = order
            .benches
            .iter()
            .position(|bench| bench.name == planned.bench);
        let words =
            |load| bench.map_or_else(String::new, |bench| together(&model, &numbers, bench, load));
        planned.loads.iter().map(words).collect()
    });
    SessionWords {
        loads: loads.collect(),
        bottleneck: bottleneck(order, plan, &shares, whole_min),
        shares,
    }
}

fn shares(
    order: &SessionOrder,
    planned: &PlannedBench,
    whole_min: f64,
    now_min: f64,
) -> BenchShares {
    let mut shares = BenchShares {
        bench: planned.bench.clone(),
        ..BenchShares::default()
    };
    let Some(bench) = order
        .benches
        .iter()
        .find(|bench| bench.name == planned.bench)
    else {
        return shares;
    };
    let mut free_min = 0.0;
    for load in &planned.loads {
        let before_min = (load.load_start_min - free_min).max(0.0);
        let cooling_min = cooling_min(order, bench, load).min(before_min);
        shares.cooling_min += cooling_min;
        // What could have been set in before now and was not did not wait for hands that are busy.
        let cool_min = load.load_start_min - (before_min - cooling_min);
        let late_min = if load.load_start_min >= now_min {
            (now_min - cool_min).clamp(0.0, before_min - cooling_min)
        } else {
            0.0
        };
        shares.waiting_min += before_min - cooling_min - late_min;
        shares.idle_min += late_min;
        let [approach, soak, scan] = after_setting_in(order, bench, load);
        let whole = (load.end_min - load.load_start_min).max(0.0);
        let loading = order.policy.load_min.min(whole);
        // A load that took longer or shorter than the model says did so in all its parts.
        let model = approach + soak + scan;
        let scale = if model > 0.0 {
            (whole - loading) / model
        } else {
            0.0
        };
        shares.loading_min += loading;
        shares.approaching_min += approach * scale;
        shares.soaking_min += soak * scale;
        shares.scanning_min += scan * scale;
        free_min = load.end_min;
    }
    shares.idle_min += (whole_min - free_min).max(0.0);
    shares
}

fn cooling_min(order: &SessionOrder, bench: &SessionBench, load: &PlannedLoad) -> f64 {
    let load_c = bench.set_in_below_c(&order.policy, load);
    load_c.map_or(0.0, |load_c| bench.cooling_min(load.cool_from_c, load_c))
}

/// Approaches, soaks and scans of a load [min].
fn after_setting_in(order: &SessionOrder, bench: &SessionBench, load: &PlannedLoad) -> [f64; 3] {
    let Some(load_c) = bench.set_in_below_c(&order.policy, load) else {
        return [0.0; 3];
    };
    let policy = &order.policy;
    let mut at_c = load.cool_from_c.min(load_c);
    let (mut heated_c, mut scanned_c) = (0.0, 0.0);
    for [from_c, to_c] in &load.scan_windows_c {
        heated_c += (from_c - at_c).max(0.0);
        scanned_c += to_c - from_c;
        at_c = *to_c;
    }
    let further = load.scan_windows_c.len().saturating_sub(1) as f64;
    [
        heated_c / bench.heat_rate_c_per_min,
        policy.soak_min + further * policy.resettle_min,
        scanned_c / policy.scan_rate_c_per_min,
    ]
}

/// Why tubes share a load: how they are scanned, and what loads of their own would take longer.
fn together(
    model: &Model,
    numbers: &BTreeMap<&str, u32>,
    bench: usize,
    load: &PlannedLoad,
) -> String {
    if load.tubes.len() < 2 {
        return String::new();
    }
    let known = load.tubes.iter();
    let known = known.filter_map(|tube| numbers.get(tube.sample.as_str()).copied());
    let mut samples: Vec<u32> = known.collect();
    if samples.is_empty() {
        return String::new();
    }
    samples.sort_by(|&a, &b| {
        let of = |number: u32| model.samples[number as usize].first_liquid_c;
        of(a).total_cmp(&of(b))
    });
    let of_load = model.load(samples.clone());
    let [cooling, heating] = model.times_min(bench, load.cool_from_c, &of_load);
    let shared_min = cooling + model.policy.load_min + heating;
    let mut apart_min = 0.0;
    let mut before_c = load.cool_from_c;
    for sample in samples {
        let own = model.load(vec![sample]);
        let [cooling, heating] = model.times_min(bench, before_c, &own);
        apart_min += cooling + model.policy.load_min + heating;
        before_c = own.to_c;
    }
    let (from_c, to_c) = (of_load.from_c, of_load.to_c);
    let windows = of_load.windows;
    let scanned = if windows == 1 {
        format!("one scan from {from_c:.1} to {to_c:.1} °C serves all")
    } else {
        format!("{windows} scans upwards from {from_c:.1} to {to_c:.1} °C, no cooling between")
    };
    let saved_min = apart_min - shared_min;
    if saved_min < 0.05 {
        return format!("{scanned}; loads of their own here would take no longer");
    }
    format!("{scanned}; in loads of their own here they would take {saved_min:.1} min longer")
}

/// What the makespan hangs on.
fn bottleneck(
    order: &SessionOrder,
    plan: &SessionPlan,
    shares: &[BenchShares],
    whole_min: f64,
) -> String {
    let loads: usize = plan.benches.iter().map(|bench| bench.loads.len()).sum();
    let last = plan.benches.iter().zip(shares).max_by(|(a, _), (b, _)| {
        let end = |bench: &PlannedBench| bench.loads.last().map_or(0.0, |load| load.end_min);
        end(a).total_cmp(&end(b))
    });
    let Some((_, longest)) = last.filter(|_| loads > 0) else {
        return "Nothing is to be measured.".into();
    };
    if longest.waiting_min > MUCH * whole_min {
        let waiting: f64 = shares.iter().map(|share| share.waiting_min).sum();
        return format!(
            "Hands: benches wait {waiting:.0} min in all for {} to set tubes in, {} alone {:.0} min.",
            people(order.operators),
            longest.bench,
            longest.waiting_min
        );
    }
    let others = shares.iter().filter(|share| share.bench != longest.bench);
    let idle_min: f64 = others.clone().map(|share| share.idle_min).sum();
    let count = others.count();
    if count > 0 && idle_min / count as f64 > MUCH * whole_min {
        return format!(
            "One bench: {} ends last, the others are idle for {:.0} min each before that, on average.",
            longest.bench,
            idle_min / count as f64
        );
    }
    let sum = |part: fn(&BenchShares) -> f64| shares.iter().map(part).sum::<f64>();
    let all_min = whole_min * shares.len() as f64;
    let per_load = sum(|share| share.loading_min + share.soaking_min + share.approaching_min);
    let (cooling, scanning) = (
        sum(|share| share.cooling_min),
        sum(|share| share.scanning_min),
    );
    let percent = |part: f64| 100.0 * part / all_min;
    if cooling >= per_load && cooling >= scanning {
        format!(
            "Cooling: it takes {:.0} % of the time of the benches.",
            percent(cooling)
        )
    } else if per_load >= scanning {
        let places: u32 = order.benches.iter().map(|bench| bench.places).sum();
        format!(
            "The number of places: {loads} loads at {places} {} take {:.0} % of the time of the benches to be set in, heated up and soaked.",
            if places == 1 { "place" } else { "places" },
            percent(per_load)
        )
    } else {
        format!(
            "Scanning: it takes {:.0} % of the time of the benches.",
            percent(scanning)
        )
    }
}

fn people(operators: u32) -> String {
    match operators {
        1 => "the one person".into(),
        more => format!("one of {more} people"),
    }
}
