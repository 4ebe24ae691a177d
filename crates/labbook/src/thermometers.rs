//! Thermometers of a book: which correction held where and when. No database here.

use crate::ids::{BenchId, CalibrationId, CheckId, PersonId, RecordId, RunId, StandardId};
use crate::query::{BenchRow, Moments};
use crate::records::{Calibration, Check, Determination, Standard, TubeRef};
use crate::when::When;
use jiff::civil::Date;
use std::collections::BTreeMap;

/// A bench with the thermometers it has had.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchHistory {
    /// As it is now.
    pub row: BenchRow,
    /// Since when it had which thermometer, in order of time; the first also holds for all time before.
    pub thermometers: Vec<(When, Option<String>)>,
    /// Whether any run was on it.
    pub used: bool,
}

/// A reference substance.
#[derive(Debug, Clone, PartialEq)]
pub struct StandardRow {
    /// Its id.
    pub id: StandardId,
    /// The latest record of it.
    pub record: RecordId,
    /// Whose record.
    pub who: PersonId,
    /// When.
    pub when: When,
    /// What it says.
    pub standard: Standard,
}

/// A check of a thermometer.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckRow {
    /// Its id.
    pub id: CheckId,
    /// The latest record of it.
    pub record: RecordId,
    /// Whose record.
    pub who: PersonId,
    /// When.
    pub when: When,
    /// Why it was changed.
    pub reason: Option<String>,
    /// What it says.
    pub check: Check,
}

/// A calibration.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibrationRow {
    /// Its id.
    pub id: CalibrationId,
    /// The latest record of it.
    pub record: RecordId,
    /// Whose record.
    pub who: PersonId,
    /// When.
    pub when: When,
    /// Why it was changed.
    pub reason: Option<String>,
    /// What it says.
    pub calibration: Calibration,
}

/// All thermometers of a book with what is known of them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Thermometers {
    /// By name.
    pub benches: Vec<BenchHistory>,
    /// By reference value.
    pub standards: Vec<StandardRow>,
    /// By their day, then in the order they were first recorded; void ones too.
    pub checks: Vec<CheckRow>,
    /// By their first day, then in the order they were first recorded; withdrawn ones too.
    pub calibrations: Vec<CalibrationRow>,
}

impl Thermometers {
    /// A bench.
    pub fn bench(&self, id: BenchId) -> Option<&BenchHistory> {
        self.benches.iter().find(|bench| bench.row.id == id)
    }

    /// A reference substance.
    pub fn standard(&self, id: StandardId) -> Option<&StandardRow> {
        self.standards.iter().find(|row| row.id == id)
    }

    /// Checks on a bench, in order.
    pub fn checks_on(&self, bench: BenchId) -> impl DoubleEndedIterator<Item = &CheckRow> {
        self.checks
            .iter()
            .filter(move |row| row.check.bench == bench)
    }

    /// Calibrations of a bench, in order.
    pub fn calibrations_of(
        &self,
        bench: BenchId,
    ) -> impl DoubleEndedIterator<Item = &CalibrationRow> {
        self.calibrations
            .iter()
            .filter(move |row| row.calibration.bench == bench)
    }

    /// The calibration in force for `thermometer` on `bench` on a day: the newest, by its first day and
    /// then by its record, that was not withdrawn, holds already and is of the same thermometer, which
    /// has the same name or, like it, none.
    pub fn in_force(
        &self,
        bench: BenchId,
        day: Date,
        thermometer: Option<&str>,
    ) -> Option<&CalibrationRow> {
        self.calibrations_of(bench).rev().find(|row| {
            let one = &row.calibration;
            !one.withdrawn && one.in_force_from <= day && one.thermometer.as_deref() == thermometer
        })
    }

    /// The calibration in force for a run: on the day it began, with the thermometer of that moment.
    pub fn in_force_for(&self, run: RunPlace) -> Option<&CalibrationRow> {
        let bench = run.bench?;
        let thermometer = self.bench(bench)?.thermometer_at(run.begun);
        self.in_force(bench, run.begun.date(), thermometer)
    }

    /// Put a calibration where its day and its record, the newest, belong.
    pub fn add_calibration(&mut self, row: CalibrationRow) {
        let place = self
            .calibrations
            .partition_point(|one| one.calibration.in_force_from <= row.calibration.in_force_from);
        self.calibrations.insert(place, row);
    }
}

impl BenchHistory {
    /// The thermometer it had at a moment.
    pub fn thermometer_at(&self, when: When) -> Option<&str> {
        self.last(|since| since.instant() <= when.instant())
    }

    /// The thermometer it had at the end of a day.
    pub fn thermometer_on(&self, day: Date) -> Option<&str> {
        self.last(|since| since.date() <= day)
    }

    fn last(&self, holds: impl Fn(When) -> bool) -> Option<&str> {
        self.thermometers
            .iter()
            .rev()
            .find(|(since, _)| holds(*since))
            .or(self.thermometers.first())
            .and_then(|(_, thermometer)| thermometer.as_deref())
    }
}

/// Where and when a run was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunPlace {
    /// At which bench; none when the recording came from elsewhere.
    pub bench: Option<BenchId>,
    /// When it began.
    pub begun: When,
}

/// A result with what it is worked out from, as that holds now.
#[derive(Debug, Clone, PartialEq)]
pub struct ResultTubes {
    /// The latest record of it.
    pub record: RecordId,
    /// Of which result.
    pub id: crate::ids::DeterminationId,
    /// What stands on the vial of its sample.
    pub label: String,
    /// What that says.
    pub determination: Determination,
    /// Its tubes, in its own order.
    pub tubes: Vec<ResultTube>,
}

/// One tube of a result.
#[derive(Debug, Clone, PartialEq)]
pub struct ResultTube {
    /// Which.
    pub tube: TubeRef,
    /// In which run.
    pub run: RunId,
    /// What counts: the override's moments, else the reading's.
    pub counts: Moments,
    /// Through its melting [°C/min].
    pub heating_rate_c_per_min: Option<f64>,
}

/// Results with their runs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Results {
    /// In the order they were first recorded.
    pub results: Vec<ResultTubes>,
    /// All of their runs.
    pub runs: BTreeMap<RunId, RunPlace>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::records::{Bench, CertificateState};
    use meltrange_metrology::{Convention, CorrectionCurve};

    fn date(text: &str) -> Date {
        text.parse().expect("a date")
    }

    fn when(text: &str) -> When {
        text.parse().expect("a time")
    }

    fn curve() -> CorrectionCurve {
        CorrectionCurve {
            degree: 0,
            origin_c: 0.0,
            coefficients: vec![0.5],
            standard_uncertainties: None,
            covariance: Some(vec![vec![0.01]]),
            residual_sd_c: None,
            degrees_of_freedom: 0,
            valid_from_c: 50.0,
            valid_to_c: 150.0,
            uncertainty_from: None,
            read_at_c_per_min: None,
            convention: Convention::NotStated,
        }
    }

    fn calibration(bench: BenchId, from: &str, thermometer: Option<&str>) -> CalibrationRow {
        let calibration = Calibration {
            bench,
            thermometer: thermometer.map(str::to_owned),
            in_force_from: date(from),
            curve: curve(),
            points: vec![crate::records::CalibrationPoint {
                check: CheckId::new(),
                standard: StandardId::new(),
                substance: "benzil".into(),
                reference_c: 95.0,
                reference_u_c: None,
                indicated_c: 94.5,
                indicated_u_c: None,
                certificate: CertificateState::NotStated,
                used: true,
                residual_c: None,
                suspect: false,
            }],
            degree_because: "one".into(),
            remarks: Vec::new(),
            withdrawn: false,
        };
        CalibrationRow {
            id: CalibrationId::new(),
            record: RecordId::new(),
            who: PersonId::new(),
            when: When::now(),
            reason: None,
            calibration,
        }
    }

    fn bench(id: BenchId, thermometers: &[(&str, Option<&str>)]) -> BenchHistory {
        BenchHistory {
            row: BenchRow {
                id,
                record: RecordId::new(),
                bench: Bench {
                    name: "Bench A".into(),
                    places: 3,
                    ..Bench::default()
                },
            },
            thermometers: thermometers
                .iter()
                .map(|(since, name)| (when(since), name.map(str::to_owned)))
                .collect(),
            used: true,
        }
    }

    #[test]
    fn the_newest_that_holds_for_this_thermometer_is_in_force() {
        let (here, there) = (BenchId::new(), BenchId::new());
        let mut all = Thermometers::default();
        let rows = [
            calibration(here, "2026-03-01", None),
            calibration(there, "2026-04-01", None),
            calibration(here, "2026-05-01", None),
            calibration(here, "2026-05-01", None),
            calibration(here, "2026-02-01", Some("Pt 2")),
        ];
        // Recorded in this order, whatever their first days.
        for row in &rows {
            all.add_calibration(row.clone());
        }
        let found = |all: &Thermometers, day: &str, name: Option<&str>| {
            all.in_force(here, date(day), name).map(|row| row.id)
        };
        assert_eq!(found(&all, "2026-02-28", None), None, "before the first");
        assert_eq!(found(&all, "2026-03-01", None), Some(rows[0].id));
        assert_eq!(found(&all, "2026-04-30", None), Some(rows[0].id));
        // Two from the same day: the one recorded later.
        assert_eq!(found(&all, "2026-05-01", None), Some(rows[3].id));
        assert_eq!(found(&all, "2027-01-01", Some("Pt 2")), Some(rows[4].id));
        assert_eq!(found(&all, "2027-01-01", Some("Pt 3")), None);
        for row in &mut all.calibrations {
            row.calibration.withdrawn |= row.id == rows[3].id;
        }
        assert_eq!(found(&all, "2026-05-02", None), Some(rows[2].id));
    }

    #[test]
    fn a_run_has_the_thermometer_of_its_moment_and_a_check_that_of_its_day() {
        let here = BenchId::new();
        let history = bench(
            here,
            &[
                ("2026-03-01T09:00:00+01:00", None),
                ("2026-05-01T12:00:00+02:00", Some("Pt 2")),
            ],
        );
        assert_eq!(history.thermometer_on(date("2026-01-01")), None);
        assert_eq!(history.thermometer_on(date("2026-04-30")), None);
        assert_eq!(history.thermometer_on(date("2026-05-01")), Some("Pt 2"));
        let all = Thermometers {
            benches: vec![history],
            calibrations: vec![
                calibration(here, "2026-03-01", None),
                calibration(here, "2026-03-01", Some("Pt 2")),
            ],
            ..Thermometers::default()
        };
        let of_run = |begun: &str| {
            let run = RunPlace {
                bench: Some(here),
                begun: when(begun),
            };
            all.in_force_for(run).map(|row| row.id)
        };
        let [none, second] = [0, 1].map(|at| Some(all.calibrations[at].id));
        // The same day, before and after the thermometer was changed.
        assert_eq!(of_run("2026-05-01T11:59:00+02:00"), none);
        assert_eq!(of_run("2026-05-01T12:01:00+02:00"), second);
        // The day on the wall counts.
        assert_eq!(of_run("2026-03-01T00:10:00+01:00"), none);
        assert_eq!(of_run("2026-02-28T23:50:00+01:00"), None);
        let elsewhere = RunPlace {
            bench: None,
            begun: when("2026-05-02T10:00:00+02:00"),
        };
        assert_eq!(all.in_force_for(elsewhere), None);
    }
}
