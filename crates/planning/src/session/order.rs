//! What a session is asked to get done: benches, samples, policy.

use super::plan::PlannedLoad;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Slack of every limit [°C]; rounding of decimals only.
pub(crate) const SLACK_C: f64 = 1e-6;

/// A block stands at least this far above its room when it is called cool [°C]: the last degree
/// takes for ever.
pub(crate) const ABOVE_ROOM_C: f64 = 1.0;

/// A block of bench time with what is to be measured in it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct SessionOrder {
    /// How long it lasts [min].
    pub length_min: f64,
    /// How many loads can be set in at the same time.
    #[serde(default = "one")]
    pub operators: u32,
    /// How everything is measured.
    #[serde(default)]
    pub policy: SessionPolicy,
    /// Heating apparatus.
    #[serde(default, rename = "bench")]
    pub benches: Vec<SessionBench>,
    /// What is measured.
    #[serde(default, rename = "sample")]
    pub samples: Vec<SessionSample>,
}

fn one() -> u32 {
    1
}

/// How everything is measured.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields, default)]
pub struct SessionPolicy {
    /// Tubes of each sample, unless it says otherwise.
    pub replicates: u32,
    /// Whether two tubes of one sample never share a load.
    pub independent_loads: bool,
    /// Of every scan [°C/min].
    pub scan_rate_c_per_min: f64,
    /// Before the first scan of a load [min].
    pub soak_min: f64,
    /// A scan starts this far below the first liquid [°C].
    pub start_below_c: f64,
    /// A scan stops this far above the last crystal [°C].
    pub stop_above_c: f64,
    /// When a load is set in, the block is at least this far below its lowest first liquid [°C].
    pub cool_below_c: f64,
    /// One operator sets a load in for so long [min].
    pub load_min: f64,
    /// Soak before each further scan of a load [min].
    pub resettle_min: f64,
}

impl Default for SessionPolicy {
    fn default() -> Self {
        Self {
            replicates: 2,
            independent_loads: true,
            scan_rate_c_per_min: 1.0,
            soak_min: 3.0,
            start_below_c: 3.0,
            stop_above_c: 2.0,
            cool_below_c: 20.0,
            load_min: 2.0,
            resettle_min: 1.0,
        }
    }
}

/// One heating apparatus.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct SessionBench {
    /// Its name.
    pub name: String,
    /// Tubes of one load.
    pub places: u32,
    /// Room temperature [°C].
    pub room_c: f64,
    /// Block temperature when the session starts [°C].
    pub start_c: f64,
    /// Between scans [°C/min].
    pub heat_rate_c_per_min: f64,
    /// Newton cooling towards the room with the fan on [min].
    pub cool_time_constant_min: f64,
    /// As hot as it may get [°C].
    pub max_c: f64,
}

/// One sample.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct SessionSample {
    /// Its name.
    pub id: String,
    /// Expected first liquid [°C].
    pub first_liquid_c: f64,
    /// Expected last crystal [°C].
    pub last_crystal_c: f64,
    /// Tubes of it; the policy's if not said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub replicates: Option<u32>,
    /// Its tubes must not be heated above this [°C].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leave_below_c: Option<f64>,
}

impl SessionBench {
    /// Temperature at or below which a load is set in here [°C]; none where it has no scan.
    pub fn set_in_below_c(&self, policy: &SessionPolicy, load: &PlannedLoad) -> Option<f64> {
        // The lowest first liquid stands so far above where the first scan begins.
        let lowest_c = load.scan_windows_c.first()?[0] + policy.start_below_c;
        Some((lowest_c - policy.cool_below_c).max(self.room_c + ABOVE_ROOM_C))
    }

    /// How long the block cools from one temperature to another above the room [min]; 0 where it is no hotter.
    ///
    /// Newton cooling with the fan on: τ ln((from − room)/(to − room)).
    pub fn cooling_min(&self, from_c: f64, to_c: f64) -> f64 {
        if from_c <= to_c {
            return 0.0;
        }
        self.cool_time_constant_min * ((from_c - self.room_c) / (to_c - self.room_c)).ln()
    }
}

/// Why a session cannot be planned.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SessionError {
    /// A number is out of range.
    #[error("{field} is {found}; expected {expected}")]
    Field {
        /// Which, with bench or sample.
        field: String,
        /// What it is.
        found: String,
        /// What would do.
        expected: String,
    },
    /// A name twice.
    #[error("{what} {name} stands there twice; expected every name once")]
    Twice {
        /// `bench` or `sample`.
        what: &'static str,
        /// The name.
        name: String,
    },
    /// Nothing to measure at.
    #[error("there is no bench; expected at least one [[bench]]")]
    NoBench,
    /// A sample that no bench can take on its own.
    #[error("no bench can take sample {sample}: {why}")]
    Unreachable {
        /// Its name.
        sample: String,
        /// What stands against it at each bench.
        why: String,
    },
}

/// Most tubes of a session; more would not be one.
const MOST_TUBES: u64 = 100_000;

/// Rates, time constants and lengths outside these make no session that numbers can tell apart.
const LEAST: f64 = 1e-6;
const MOST: f64 = 1e7;

/// Temperatures that anything has at a bench [°C].
pub(super) const COLDEST_C: f64 = -274.0;
pub(super) const HOTTEST_C: f64 = 5000.0;

/// Most places of one bench that are told apart.
const MOST_PLACES: u32 = 1000;

impl SessionOrder {
    /// Tubes of a sample.
    pub fn replicates_of(&self, sample: &SessionSample) -> u32 {
        sample.replicates.unwrap_or(self.policy.replicates)
    }

    /// Refuse what makes no sense, and samples that no bench can take.
    ///
    /// # Errors
    /// [`SessionError`], the first fault found.
    pub fn check(&self) -> Result<(), SessionError> {
        let field = |field: String, found: String, expected: &str| {
            Err(SessionError::Field {
                field,
                found,
                expected: expected.to_owned(),
            })
        };
        let temperature = |name: &str, found: f64| match (COLDEST_C..=HOTTEST_C).contains(&found) {
            true => Ok(()),
            false => field(
                name.to_owned(),
                found.to_string(),
                "a temperature, -274 to 5000 °C",
            ),
        };
        let at_least = |name: &str, found: f64, least: f64| match found <= MOST && found >= least {
            true => Ok(()),
            false => field(
                name.to_owned(),
                found.to_string(),
                &if found > MOST {
                    format!("at most {MOST}")
                } else {
                    format!("{least} or more")
                },
            ),
        };
        let above_zero = |name: &str, found: f64| match (LEAST..=MOST).contains(&found) {
            true => Ok(()),
            false => field(
                name.to_owned(),
                found.to_string(),
                &format!("a number above 0, {LEAST} to {MOST}"),
            ),
        };
        let named = |what: &str, name: &str| match name.trim().is_empty() {
            true => field(
                format!("a name of a {what}"),
                "empty".into(),
                "at least one sign",
            ),
            false => Ok(()),
        };
        at_least("length_min", self.length_min, 0.0)?;
        if self.operators < 1 {
            return field("operators".into(), self.operators.to_string(), "1 or more");
        }
        let policy = &self.policy;
        if policy.replicates < 1 {
            return field(
                "policy.replicates".into(),
                policy.replicates.to_string(),
                "1 or more",
            );
        }
        above_zero("policy.scan_rate_c_per_min", policy.scan_rate_c_per_min)?;
        for (name, found) in [
            ("policy.soak_min", policy.soak_min),
            ("policy.start_below_c", policy.start_below_c),
            ("policy.stop_above_c", policy.stop_above_c),
            ("policy.load_min", policy.load_min),
            ("policy.resettle_min", policy.resettle_min),
        ] {
            at_least(name, found, 0.0)?;
        }
        if !(policy.cool_below_c.is_finite() && policy.cool_below_c >= policy.start_below_c) {
            return field(
                "policy.cool_below_c".into(),
                policy.cool_below_c.to_string(),
                &format!(
                    "{} or more, start_below_c: the scan would begin below the temperature of loading",
                    policy.start_below_c
                ),
            );
        }
        let mut names = BTreeSet::new();
        for bench in &self.benches {
            named("bench", &bench.name)?;
            let name = |field: &str| format!("{field} of bench {}", bench.name);
            if bench.places < 1 || bench.places > MOST_PLACES {
                return field(name("places"), bench.places.to_string(), "1 to 1000");
            }
            for (what, found) in [
                ("room_c", bench.room_c),
                ("start_c", bench.start_c),
                ("max_c", bench.max_c),
            ] {
                temperature(&name(what), found)?;
            }
            above_zero(&name("heat_rate_c_per_min"), bench.heat_rate_c_per_min)?;
            above_zero(
                &name("cool_time_constant_min"),
                bench.cool_time_constant_min,
            )?;
            if !names.insert(&bench.name) {
                return Err(SessionError::Twice {
                    what: "bench",
                    name: bench.name.clone(),
                });
            }
        }
        if self.benches.is_empty() {
            return Err(SessionError::NoBench);
        }
        let mut ids = BTreeSet::new();
        let mut tubes = 0u64;
        for sample in &self.samples {
            named("sample", &sample.id)?;
            let name = |field: &str| format!("{field} of sample {}", sample.id);
            temperature(&name("first_liquid_c"), sample.first_liquid_c)?;
            temperature(&name("last_crystal_c"), sample.last_crystal_c)?;
            if let Some(limit_c) = sample.leave_below_c {
                temperature(&name("leave_below_c"), limit_c)?;
            }
            if sample.last_crystal_c < sample.first_liquid_c {
                return field(
                    name("last_crystal_c"),
                    sample.last_crystal_c.to_string(),
                    &format!("{} or more, its first liquid", sample.first_liquid_c),
                );
            }
            if sample.replicates == Some(0) {
                return field(name("replicates"), "0".into(), "1 or more");
            }
            if !ids.insert(&sample.id) {
                return Err(SessionError::Twice {
                    what: "sample",
                    name: sample.id.clone(),
                });
            }
            tubes += u64::from(self.replicates_of(sample));
            self.reachable(sample)?;
        }
        if tubes > MOST_TUBES {
            return field(
                "the number of tubes".into(),
                tubes.to_string(),
                "at most 100000 in one session",
            );
        }
        Ok(())
    }

    fn reachable(&self, sample: &SessionSample) -> Result<(), SessionError> {
        let mut why = Vec::new();
        for bench in &self.benches {
            match self.obstacle(bench, sample) {
                None => return Ok(()),
                Some(obstacle) => why.push(format!("{}: {obstacle}", bench.name)),
            }
        }
        Err(SessionError::Unreachable {
            sample: sample.id.clone(),
            why: why.join("; "),
        })
    }

    /// Why a bench cannot take a sample on its own.
    pub(crate) fn obstacle(&self, bench: &SessionBench, sample: &SessionSample) -> Option<String> {
        let from_c = sample.first_liquid_c - self.policy.start_below_c;
        let to_c = sample.last_crystal_c + self.policy.stop_above_c;
        let lowest_c = bench.room_c + ABOVE_ROOM_C;
        if to_c > bench.max_c + SLACK_C {
            return Some(format!(
                "its scan ends at {to_c} °C, above max_c {} °C",
                bench.max_c
            ));
        }
        if from_c < lowest_c - SLACK_C {
            return Some(format!(
                "its scan begins at {from_c} °C, below {lowest_c} °C, 1 °C above the room"
            ));
        }
        match sample.leave_below_c {
            Some(limit_c) if to_c > limit_c + SLACK_C => Some(format!(
                "its scan ends at {to_c} °C, above its own leave_below_c {limit_c} °C"
            )),
            _ => None,
        }
    }
}
