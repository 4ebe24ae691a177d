//! Whose turn it is, at which bench.

use super::standing::Standing;
use crate::problem::Problem;
use crate::rooms::programmes::cannot;
use crate::wire::{Turn, TurnStanding};
use meltrange_planning::{ActualLoad, PlannedTube, retime};

/// One load with its times.
#[derive(Debug, Clone)]
pub(crate) struct TimedLoad {
    pub bench: String,
    /// Which of the bench's, from 0.
    pub load: u32,
    pub tubes: Vec<PlannedTube>,
    pub begins_min: f64,
    pub ends_min: f64,
    pub actual: Option<ActualLoad>,
    /// Loads before it on its bench that have not ended.
    pub before: usize,
    /// When the load before it ended [min]; 0 for the first.
    pub free_min: f64,
}

impl TimedLoad {
    /// How it stands.
    pub fn standing(&self) -> TurnStanding {
        match self.actual {
            Some(ActualLoad {
                end_min: Some(_), ..
            }) => TurnStanding::Over,
            Some(_) => TurnStanding::UnderWay,
            None if self.before == 0 => TurnStanding::Now,
            None => TurnStanding::Ahead,
        }
    }
}

/// The plan with its times.
#[derive(Debug, Clone, Default)]
pub(crate) struct Timed {
    pub loads: Vec<TimedLoad>,
    pub makespan_min: Option<f64>,
    pub fits: Option<bool>,
}

/// Times of the plan as of now; nothing before there is one.
pub(crate) fn timed(standing: &Standing, now_min: f64) -> Result<Timed, Problem> {
    let Some(plan) = &standing.plan else {
        return Ok(Timed::default());
    };
    let retimed = retime(&plan.order, &plan.draft, now_min).map_err(|error| cannot(&error))?;
    let mut loads = Vec::new();
    for own in &plan.draft.benches {
        let planned = retimed
            .plan
            .benches
            .iter()
            .find(|bench| bench.bench == own.bench);
        let (mut before, mut free_min) = (0, 0.0_f64);
        for (number, load) in own.loads.iter().enumerate() {
            let times = planned.and_then(|bench| bench.loads.get(number));
            // A bench that is out of use has no plan; what ended there did so when it did.
            let actual_min = load.actual.map_or(0.0, |actual| actual.load_start_min);
            let ends_min = load
                .actual
                .and_then(|actual| actual.end_min)
                .or(times.map(|times| times.end_min))
                .unwrap_or(actual_min);
            loads.push(TimedLoad {
                bench: own.bench.clone(),
                load: number as u32,
                tubes: load.tubes.clone(),
                begins_min: times.map_or(actual_min, |times| times.load_start_min),
                ends_min,
                actual: load.actual,
                before,
                free_min,
            });
            if load.actual.is_none_or(|actual| actual.end_min.is_none()) {
                before += 1;
            }
            free_min = ends_min;
        }
    }
    Ok(Timed {
        loads,
        makespan_min: Some(retimed.plan.makespan_min),
        fits: Some(retimed.plan.fits),
    })
}

impl Timed {
    /// Loads of a bench, in order.
    pub fn of_bench<'a>(&'a self, bench: &'a str) -> impl Iterator<Item = &'a TimedLoad> {
        self.loads.iter().filter(move |load| load.bench == bench)
    }

    /// The load that matters to a vial now: what is heated, else what comes next, else what ended last.
    pub fn next_of(&self, vial: &str) -> Option<(&TimedLoad, u32)> {
        let mut own: Vec<(&TimedLoad, u32)> = self
            .loads
            .iter()
            .filter_map(|load| {
                let tube = load.tubes.iter().find(|tube| tube.sample == vial)?;
                Some((load, tube.replicate))
            })
            .collect();
        own.sort_by(|(a, _), (b, _)| a.begins_min.total_cmp(&b.begins_min));
        let first = |wanted: &[TurnStanding]| {
            own.iter()
                .find(|(load, _)| wanted.contains(&load.standing()))
        };
        first(&[TurnStanding::UnderWay])
            .or_else(|| first(&[TurnStanding::Now, TurnStanding::Ahead]))
            .or(own.last())
            .copied()
    }

    /// The same as pages show it.
    pub fn turn_of(&self, standing: &Standing, vial: &str) -> Option<Turn> {
        let (load, run) = self.next_of(vial)?;
        Some(Turn {
            run,
            bench: load.bench.clone(),
            begins_min: load.begins_min,
            ends_min: load.ends_min,
            standing: load.standing(),
            with_seats: seats(standing, load),
            before: load.before,
            load: load.load,
        })
    }
}

/// Numbers of the seats with tubes in a load, rising.
pub(super) fn seats(standing: &Standing, load: &TimedLoad) -> Vec<u32> {
    let mut seats: Vec<u32> = load
        .tubes
        .iter()
        .filter_map(|tube| standing.seat_with(&tube.sample))
        .collect();
    seats.sort_unstable();
    seats.dedup();
    seats
}
