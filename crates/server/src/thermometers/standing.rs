//! How far a thermometer can be relied on, on a day, and the series of its checks that tells.

use jiff::civil::Date;
use meltrange_labbook::{
    BenchId, CalibrationId, CheckRow, RunPlace, ThermometerState, Thermometers,
};
use meltrange_metrology::{
    ChartOptions, ControlChart, Schedule, control_chart, resolution_of, schedule,
};
use meltrange_physics::Celsius;
use std::collections::HashMap;

/// How often a thermometer is checked where its bench does not say [days]; ours: once a term.
pub(crate) const CHECK_EVERY_DAYS: u32 = 90;

/// A thermometer on a day.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Standing {
    pub state: ThermometerState,
    /// Why, and what else is to be known.
    pub reasons: Vec<String>,
    pub last_check: Option<Date>,
    pub due_on: Option<Date>,
}

/// One check in the series of a thermometer.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Charted<'a> {
    pub row: &'a CheckRow,
    /// The calibration in force on its day.
    pub calibration: Option<CalibrationId>,
    /// The correction in force on its day [°C]; none where there was no calibration.
    pub correction_c: Option<f64>,
    /// Indicated, with that correction, less the reference [°C].
    pub off_c: f64,
    /// Whether the calibration in force on its day was fitted to it.
    pub own: bool,
}

/// The checks of one thermometer that count, in order, and their chart.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Series<'a> {
    pub checks: Vec<Charted<'a>>,
    pub chart: Option<ControlChart>,
    /// Of all checks, those under other corrections included.
    pub last_check: Option<Date>,
}

/// One check as it is charted; none when its standard is not in the book.
pub(crate) fn charted<'a>(all: &Thermometers, row: &'a CheckRow) -> Option<Charted<'a>> {
    let check = &row.check;
    let reference_c = all.standard(check.standard)?.standard.reference_c;
    let calibration = all.in_force(check.bench, check.made_on, check.thermometer.as_deref());
    let correction_c = calibration.map(|found| {
        let curve = &found.calibration.curve;
        curve.at(Celsius(check.indicated_c)).correction_c
    });
    Some(Charted {
        row,
        calibration: calibration.map(|found| found.id),
        correction_c,
        off_c: check.indicated_c + correction_c.unwrap_or(0.0) - reference_c,
        own: calibration.is_some_and(|found| {
            let points = &found.calibration.points;
            points
                .iter()
                .any(|point| point.used && point.check == row.id)
        }),
    })
}

/// The series of the thermometer that `bench` has, up to a day.
///
/// Another thermometer begins another series, and so does another calibration: only checks made under
/// the one in force at the end are in it, about zero. With others among them the series would be of
/// two quantities, and the step between them an alarm.
pub(crate) fn series<'a>(
    all: &'a Thermometers,
    bench: BenchId,
    thermometer: Option<&str>,
    until: Date,
) -> Series<'a> {
    let mut checks: Vec<Charted<'_>> = all
        .checks_on(bench)
        .filter(|row| {
            let check = &row.check;
            !check.void && check.made_on <= until && check.thermometer.as_deref() == thermometer
        })
        .filter_map(|row| charted(all, row))
        .collect();
    let last_check = checks.last().map(|check| check.row.check.made_on);
    let current = all.in_force(bench, until, thermometer).map(|row| row.id);
    checks.retain(|check| check.calibration == current);
    let values: Vec<f64> = checks.iter().map(|check| check.off_c).collect();
    let shown: Vec<f64> = checks
        .iter()
        .map(|check| check.row.check.indicated_c)
        .collect();
    let options = ChartOptions {
        centre_c: current.map(|_| 0.0),
        ..ChartOptions::of_checks(values.len(), resolution_of(&shown))
    };
    // Too few checks have no chart; their numbers were finite when they were recorded.
    let chart = control_chart(&values, options).ok();
    Series {
        checks,
        chart,
        last_check,
    }
}

/// The standing of `thermometer` of `bench` on a day.
pub(crate) fn standing(
    all: &Thermometers,
    bench: BenchId,
    thermometer: Option<&str>,
    day: Date,
) -> Standing {
    let found = series(all, bench, thermometer, day);
    let record = all.bench(bench).map(|history| &history.row.bench);
    let every_days = record
        .and_then(|bench| bench.check_every_days)
        .unwrap_or(CHECK_EVERY_DAYS);
    // Checks left out of the chart are checks all the same.
    let last_check = found.last_check;
    let days_since = last_check.map(|last| days_between(last, day));
    let by_interval =
        last_check.and_then(|last| last.checked_add(days(i64::from(every_days))).ok());
    let noted = record.and_then(|bench| bench.thermometer_due);
    let mut reasons = Vec::new();
    let mut state = match schedule(days_since, every_days) {
        Schedule::NeverChecked => {
            reasons.push("never checked with a reference substance".to_owned());
            ThermometerState::NeverChecked
        }
        Schedule::InOrder => ThermometerState::InOrder,
        late @ (Schedule::Due | Schedule::Overdue) => {
            reasons.push(format!(
                "last checked {} days ago; it is to be checked every {every_days} days",
                days_since.unwrap_or_default()
            ));
            if late == Schedule::Due {
                ThermometerState::Due
            } else {
                ThermometerState::Overdue
            }
        }
    };
    if let Some(noted) = noted.filter(|noted| *noted < day) {
        reasons.push(format!("its check was noted as good until {noted}"));
        if state == ThermometerState::InOrder {
            state = ThermometerState::Due;
        }
    }
    if let Some(chart) = &found.chart
        && !chart.latest_alarms().is_empty()
    {
        state = ThermometerState::OutOfControl;
        let alarms = chart.latest_alarms().iter();
        reasons.splice(
            0..0,
            alarms.map(|alarm| format!("latest check: {}", alarm.text)),
        );
    }
    reasons.extend(of_calibration(all, bench, thermometer, day));
    Standing {
        state,
        reasons,
        last_check,
        due_on: match (by_interval, noted) {
            (Some(one), Some(other)) => Some(one.min(other)),
            (one, other) => one.or(other),
        },
    }
}

/// What is to be known of the calibration in force, or of none.
fn of_calibration(
    all: &Thermometers,
    bench: BenchId,
    thermometer: Option<&str>,
    day: Date,
) -> Vec<String> {
    let mut reasons = Vec::new();
    let in_force = all.in_force(bench, day, thermometer);
    let newest = all.calibrations_of(bench).rev().find(|row| {
        row.calibration.in_force_from <= day
            && row.calibration.thermometer.as_deref() == thermometer
    });
    if let Some(row) = newest.filter(|row| row.calibration.withdrawn) {
        reasons.push(format!(
            "the calibration in force from {} was withdrawn: {}",
            row.calibration.in_force_from,
            row.reason.as_deref().unwrap_or("no reason is recorded")
        ));
    }
    match in_force {
        None => reasons.push("no calibration is in force: temperatures are as logged".to_owned()),
        Some(row) => {
            let mut expired: Vec<&str> = row
                .calibration
                .points
                .iter()
                .filter(|point| {
                    point.used && point.certificate == meltrange_labbook::CertificateState::Expired
                })
                .map(|point| point.substance.as_str())
                .collect();
            expired.sort_unstable();
            expired.dedup();
            if !expired.is_empty() {
                reasons.push(format!(
                    "calibrated with certificates that had expired: {}",
                    expired.join(", ")
                ));
            }
        }
    }
    reasons
}

fn days(count: i64) -> jiff::SignedDuration {
    jiff::SignedDuration::from_hours(24 * count)
}

fn days_between(from: Date, to: Date) -> i64 {
    to.duration_since(from).as_hours() / 24
}

/// Standings, each worked out once: thousands of results share a few days of a few benches.
#[derive(Debug)]
pub(crate) struct Standings<'a> {
    all: &'a Thermometers,
    known: HashMap<(BenchId, Option<&'a str>, Date), Standing>,
}

impl<'a> Standings<'a> {
    pub fn of(all: &'a Thermometers) -> Self {
        Self {
            all,
            known: HashMap::new(),
        }
    }

    /// On a day, with the thermometer of the end of that day.
    pub fn on(&mut self, bench: BenchId, day: Date) -> Option<&Standing> {
        let thermometer = self.all.bench(bench)?.thermometer_on(day);
        Some(self.worked_out(bench, thermometer, day))
    }

    /// On the day of a run, with the thermometer of its begin.
    pub fn of_run(&mut self, run: RunPlace) -> Option<&Standing> {
        let bench = run.bench?;
        let thermometer = self.all.bench(bench)?.thermometer_at(run.begun);
        Some(self.worked_out(bench, thermometer, run.begun.date()))
    }

    fn worked_out(&mut self, bench: BenchId, thermometer: Option<&'a str>, day: Date) -> &Standing {
        let all = self.all;
        self.known
            .entry((bench, thermometer, day))
            .or_insert_with(|| standing(all, bench, thermometer, day))
    }
}
