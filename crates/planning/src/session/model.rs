//! The times of loads and sequences of loads, exactly.

use super::order::{ABOVE_ROOM_C, SLACK_C, SessionBench, SessionOrder, SessionPolicy};

/// One sample as the planner sees it.
#[derive(Debug, Clone)]
pub(crate) struct Sample {
    pub first_liquid_c: f64,
    /// Where its scan begins and ends [°C].
    pub window_c: [f64; 2],
    /// Not above this [°C]; infinite if not said.
    pub leave_below_c: f64,
    /// Tubes of it that are to be planned.
    pub replicates: u32,
    /// For each bench whether it can take it.
    pub fits: Vec<bool>,
}

/// A session as the planner sees it.
#[derive(Debug, Clone)]
pub(crate) struct Model {
    /// `start_c` is the block temperature at `free_min`.
    pub benches: Vec<SessionBench>,
    pub samples: Vec<Sample>,
    pub policy: SessionPolicy,
    pub operators: usize,
    /// Most places of any bench.
    pub most_places: usize,
    /// Nothing is set in before this [min].
    pub now_min: f64,
    /// When each bench is done with what began on it [min].
    pub free_min: Vec<f64>,
    /// When each operator is free [min].
    pub hands_min: Vec<f64>,
    /// How many loads of each bench stay where they are, before all others.
    pub pinned: Vec<usize>,
    /// Room temperatures, each once [°C].
    rooms_c: Vec<f64>,
    /// Which of them each bench stands in.
    room_of: Vec<usize>,
    /// Whether every bench takes every sample.
    all_fit: bool,
}

/// A load as a bench in some room meets it.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct InRoom {
    /// Temperature at or below which it is set in [°C].
    load_c: f64,
    /// Logarithms of the distance of that, and of the end of its last scan, from the room.
    ln_load: f64,
    ln_to: f64,
}

/// Tubes that are set in together: samples by number. What follows from them is kept beside.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Load {
    /// Rising.
    pub samples: Vec<u32>,
    pub lowest_first_liquid_c: f64,
    /// Where its first scan begins [°C].
    pub from_c: f64,
    /// Where its last scan ends [°C].
    pub to_c: f64,
    /// Widths of all scans together [°C].
    pub scanned_c: f64,
    /// Heated between scans [°C].
    pub between_c: f64,
    /// Scans.
    pub windows: u32,
    /// Not above this [°C].
    pub leave_below_c: f64,
    /// Soaks and scans [min].
    level_min: f64,
    in_rooms: Vec<InRoom>,
}

impl Load {
    /// As another, in the room this one has.
    pub fn copy_from(&mut self, other: &Self) {
        let (mut samples, mut in_rooms) = (
            std::mem::take(&mut self.samples),
            std::mem::take(&mut self.in_rooms),
        );
        samples.clone_from(&other.samples);
        in_rooms.clone_from(&other.in_rooms);
        *self = Self {
            samples,
            in_rooms,
            ..*other
        };
    }
}

impl Model {
    pub fn new(order: &SessionOrder) -> Self {
        let samples: Vec<Sample> = order
            .samples
            .iter()
            .map(|sample| Sample {
                first_liquid_c: sample.first_liquid_c,
                window_c: [
                    sample.first_liquid_c - order.policy.start_below_c,
                    sample.last_crystal_c + order.policy.stop_above_c,
                ],
                leave_below_c: sample.leave_below_c.unwrap_or(f64::INFINITY),
                replicates: order.replicates_of(sample),
                fits: order
                    .benches
                    .iter()
                    .map(|bench| order.obstacle(bench, sample).is_none())
                    .collect(),
            })
            .collect();
        let mut rooms_c: Vec<f64> = order.benches.iter().map(|bench| bench.room_c).collect();
        rooms_c.sort_by(f64::total_cmp);
        rooms_c.dedup();
        let room_of = order
            .benches
            .iter()
            .map(|bench| {
                let room = rooms_c.iter().position(|&room_c| room_c == bench.room_c);
                room.unwrap_or(0)
            })
            .collect();
        Self {
            most_places: order
                .benches
                .iter()
                .map(|bench| bench.places as usize)
                .max()
                .unwrap_or(0),
            all_fit: samples
                .iter()
                .all(|sample| sample.fits.iter().all(|&fits| fits)),
            samples,
            policy: order.policy,
            // More hands than benches are never busy.
            hands_min: vec![0.0; (order.operators as usize).min(order.benches.len())],
            operators: order.operators as usize,
            now_min: 0.0,
            free_min: vec![0.0; order.benches.len()],
            pinned: vec![0; order.benches.len()],
            benches: order.benches.clone(),
            rooms_c,
            room_of,
        }
    }

    /// Nothing more goes on a bench.
    pub fn close(&mut self, bench: usize) {
        for sample in &mut self.samples {
            sample.fits[bench] = false;
        }
        self.all_fit = self.samples.is_empty();
    }

    /// Scans of some samples: windows in rising order, merged where they touch.
    pub fn windows_c(&self, samples: &[u32]) -> Vec<[f64; 2]> {
        let mut windows: Vec<[f64; 2]> = samples
            .iter()
            .filter_map(|&sample| self.samples.get(sample as usize))
            .map(|sample| sample.window_c)
            .collect();
        windows.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let mut merged: Vec<[f64; 2]> = Vec::with_capacity(windows.len());
        for window in windows {
            match merged.last_mut() {
                Some(last) if window[0] <= last[1] + SLACK_C => last[1] = last[1].max(window[1]),
                _ => merged.push(window),
            }
        }
        merged
    }

    pub fn load(&self, samples: Vec<u32>) -> Load {
        let mut load = Load {
            samples,
            ..Load::default()
        };
        self.fill(&mut load);
        load
    }

    /// What follows from a load's samples, of which there is at least one.
    pub fn fill(&self, load: &mut Load) {
        let policy = &self.policy;
        let start = |&number: &u32| self.samples[number as usize].window_c[0];
        load.samples
            .sort_unstable_by(|a, b| start(a).total_cmp(&start(b)).then(a.cmp(b)));
        let mut open: Option<[f64; 2]> = None;
        (load.scanned_c, load.windows) = (0.0, 0);
        (load.lowest_first_liquid_c, load.leave_below_c) = (f64::INFINITY, f64::INFINITY);
        (load.from_c, load.to_c) = (0.0, 0.0);
        for &number in &load.samples {
            let sample = &self.samples[number as usize];
            let window = sample.window_c;
            load.lowest_first_liquid_c = load.lowest_first_liquid_c.min(sample.first_liquid_c);
            load.leave_below_c = load.leave_below_c.min(sample.leave_below_c);
            match &mut open {
                Some(last) if window[0] <= last[1] + SLACK_C => {
                    load.scanned_c += (window[1] - last[1]).max(0.0);
                    last[1] = last[1].max(window[1]);
                }
                last => {
                    load.scanned_c += window[1] - window[0];
                    load.windows += 1;
                    if last.is_none() {
                        load.from_c = window[0];
                    }
                    *last = Some(window);
                }
            }
        }
        if let Some(last) = open {
            load.to_c = last[1];
        }
        load.between_c = load.to_c - load.from_c - load.scanned_c;
        load.level_min = policy.soak_min
            + load.scanned_c / policy.scan_rate_c_per_min
            + f64::from(load.windows.saturating_sub(1)) * policy.resettle_min;
        load.in_rooms.clear();
        load.in_rooms.extend(self.rooms_c.iter().map(|room_c| {
            let load_c =
                (load.lowest_first_liquid_c - policy.cool_below_c).max(room_c + ABOVE_ROOM_C);
            InRoom {
                load_c,
                ln_load: (load_c - room_c).ln(),
                // Only a load that the bench may not take ends below it.
                ln_to: (load.to_c - room_c).max(f64::MIN_POSITIVE).ln(),
            }
        }));
    }

    /// Whether a bench can take a load.
    pub fn takes(&self, bench: usize, load: &Load) -> bool {
        load.samples.len() <= self.benches[bench].places as usize
            && load.to_c <= load.leave_below_c + SLACK_C
            && (self.all_fit
                || load
                    .samples
                    .iter()
                    .all(|&sample| self.samples[sample as usize].fits[bench]))
    }

    /// Cooling before a load and everything after it is set in [min], with the block at `before_c`.
    pub fn times_min(&self, bench: usize, before_c: f64, load: &Load) -> [f64; 2] {
        let room_c = self.benches[bench].room_c;
        let ln_before = if before_c > room_c {
            (before_c - room_c).ln()
        } else {
            f64::NEG_INFINITY
        };
        self.times_from(bench, before_c, ln_before, load)
    }

    /// The same after another load, or at the beginning.
    pub fn times_after(&self, bench: usize, before: Option<&Load>, load: &Load) -> [f64; 2] {
        match before {
            Some(before) => {
                let ln_before = before.in_rooms[self.room_of[bench]].ln_to;
                self.times_from(bench, before.to_c, ln_before, load)
            }
            None => self.times_min(bench, self.benches[bench].start_c, load),
        }
    }

    fn times_from(&self, bench: usize, before_c: f64, ln_before: f64, load: &Load) -> [f64; 2] {
        let (apparatus, room) = (&self.benches[bench], load.in_rooms[self.room_of[bench]]);
        let (cooling_min, start_c) = if before_c > room.load_c {
            let cooling_min = apparatus.cool_time_constant_min * (ln_before - room.ln_load);
            (cooling_min, room.load_c)
        } else {
            (0.0, before_c)
        };
        // Below 0 only for a load that the bench may not take.
        let heated_c = (load.from_c - start_c + load.between_c).max(0.0);
        let heating_min = heated_c / apparatus.heat_rate_c_per_min + load.level_min;
        [cooling_min, heating_min]
    }
}
