//! Thermometers as pages see them.

use super::plot;
use super::standing::{Standings, charted, series};
use crate::wire::{
    CalibrationInForce, CalibrationView, ChartDay, CheckView, Thermometer, ThermometerOfResult,
    ThermometerRow, TubeRef,
};
use jiff::civil::Date;
use meltrange_labbook::{
    BenchHistory, CalibrationRow, CheckRow, RunPlace, ThermometerState, Thermometers,
};
use meltrange_metrology::chart_rules;

/// A thermometer in the list.
pub(crate) fn row(
    all: &Thermometers,
    standings: &mut Standings<'_>,
    bench: &BenchHistory,
    today: Date,
) -> ThermometerRow {
    let thermometer = bench.thermometer_on(today);
    let id = bench.row.id;
    let in_force = all.in_force(id, today, thermometer);
    let found = standings.on(id, today);
    ThermometerRow {
        bench: id,
        name: bench.row.bench.name.clone(),
        thermometer: thermometer.map(str::to_owned),
        state: found
            .map_or(ThermometerState::NeverChecked, |found| found.state)
            .into(),
        reasons: found.map_or_else(Vec::new, |found| found.reasons.clone()),
        last_check: found.and_then(|found| Some(found.last_check?.to_string())),
        due_on: found.and_then(|found| Some(found.due_on?.to_string())),
        in_force: in_force.map(in_short),
    }
}

fn in_short(found: &CalibrationRow) -> CalibrationInForce {
    let curve = &found.calibration.curve;
    CalibrationInForce {
        id: found.id,
        record: found.record,
        in_force_from: found.calibration.in_force_from.to_string(),
        who: found.who,
        when: found.when,
        degree: curve.degree,
        valid_from_c: curve.valid_from_c,
        valid_to_c: curve.valid_to_c,
        convention: curve.convention,
    }
}

/// One thermometer with everything on it.
pub(crate) fn thermometer(all: &Thermometers, bench: &BenchHistory, today: Date) -> Thermometer {
    let id = bench.row.id;
    let now = bench.thermometer_on(today);
    let found = series(all, id, now, today);
    let in_force = all.in_force(id, today, now).map(|row| row.id);
    // Too few checks make no chart, and then there is nothing to say what its points are of.
    let chart_days = if found.chart.is_some() {
        found
            .checks
            .iter()
            .map(|one| chart_day(all, one.row, one.own))
            .collect()
    } else {
        Vec::new()
    };
    Thermometer {
        row: row(all, &mut Standings::of(all), bench, today),
        bench_record: bench.row.record,
        check_every_days: bench.row.bench.check_every_days,
        max_c: bench.row.bench.max_c,
        checks: all
            .checks_on(id)
            .rev()
            .filter_map(|row| check_view(all, row))
            .collect(),
        chart: found.chart,
        chart_days,
        chart_rules: chart_rules().into_iter().map(Into::into).collect(),
        calibrations: all
            .calibrations_of(id)
            .rev()
            .map(|row| calibration_view(row, in_force == Some(row.id)))
            .collect(),
    }
}

fn substance(all: &Thermometers, row: &CheckRow) -> String {
    all.standard(row.check.standard)
        .map_or_else(String::new, |found| found.standard.substance.clone())
}

fn chart_day(all: &Thermometers, row: &CheckRow, own: bool) -> ChartDay {
    ChartDay {
        check: row.id,
        made_on: row.check.made_on.to_string(),
        substance: substance(all, row),
        own,
    }
}

fn check_view(all: &Thermometers, row: &CheckRow) -> Option<CheckView> {
    let standard = &all.standard(row.check.standard)?.standard;
    let charted = charted(all, row)?;
    let check = &row.check;
    Some(CheckView {
        id: row.id,
        record: row.record,
        who: row.who,
        when: row.when,
        reason: row.reason.clone(),
        standard: check.standard,
        substance: standard.substance.clone(),
        reference_c: standard.reference_c,
        expired: standard.expired_on(check.made_on),
        made_on: check.made_on.to_string(),
        indicated_c: check.indicated_c,
        standard_uncertainty_c: check.standard_uncertainty_c,
        heating_rate_c_per_min: check.heating_rate_c_per_min,
        thermometer: check.thermometer.clone(),
        from: check.from.map(|from| TubeRef {
            reading: from.reading,
            place: from.place,
        }),
        remarks: check.remarks.clone(),
        void: check.void,
        correction_c: charted.correction_c.unwrap_or(0.0),
        off_c: charted.off_c,
        own: charted.own,
    })
}

/// A calibration with everything on it.
pub(crate) fn calibration_view(row: &CalibrationRow, in_force: bool) -> CalibrationView {
    let calibration = &row.calibration;
    CalibrationView {
        id: row.id,
        record: row.record,
        who: row.who,
        when: row.when,
        reason: row.reason.clone(),
        thermometer: calibration.thermometer.clone(),
        in_force_from: calibration.in_force_from.to_string(),
        curve: calibration.curve.clone(),
        points: calibration.points.iter().map(Into::into).collect(),
        degree_because: calibration.degree_because.clone(),
        remarks: calibration.remarks.clone(),
        withdrawn: calibration.withdrawn,
        in_force,
        plot: plot(&calibration.curve),
    }
}

/// How bad a state is, the worst last.
fn badness(state: ThermometerState) -> u8 {
    match state {
        ThermometerState::InOrder => 0,
        ThermometerState::Due => 1,
        ThermometerState::Overdue => 2,
        ThermometerState::NeverChecked => 3,
        ThermometerState::OutOfControl => 4,
    }
}

/// The thermometers of these runs, on the days of the runs, the worst of each, and today.
pub(crate) fn of_result(
    all: &Thermometers,
    standings: &mut Standings<'_>,
    runs: impl IntoIterator<Item = RunPlace>,
    today: Date,
) -> Vec<ThermometerOfResult> {
    let mut found: Vec<(ThermometerOfResult, u8)> = Vec::new();
    for run in runs {
        let Some(bench) = run.bench.and_then(|id| all.bench(id)) else {
            continue;
        };
        let Some(then) = standings.of_run(run) else {
            continue;
        };
        let worse = badness(then.state);
        let (state, reasons) = (then.state.into(), then.reasons.clone());
        let known = found.iter_mut().find(|(one, _)| one.bench == bench.row.id);
        match known {
            Some((one, before)) if worse > *before => {
                (one.state, one.reasons, *before) = (state, reasons, worse);
            }
            Some(_) => {}
            None => {
                let Some(now) = standings.on(bench.row.id, today) else {
                    continue;
                };
                let one = ThermometerOfResult {
                    bench: bench.row.id,
                    name: bench.row.bench.name.clone(),
                    state,
                    reasons,
                    state_today: now.state.into(),
                    reasons_today: now.reasons.clone(),
                };
                found.push((one, worse));
            }
        }
    }
    found.sort_by(|(a, _), (b, _)| a.name.cmp(&b.name));
    found.into_iter().map(|(one, _)| one).collect()
}
