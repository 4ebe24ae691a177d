//! A suggestion of marks by the instructor's rubric. It is a suggestion: the instructor decides and releases.

use serde::{Deserialize, Serialize};

/// Points for each part, and what earns all of them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct Rubric {
    /// For the right name.
    pub identity: f64,
    /// For a range near the true one.
    pub range: f64,
    /// For runs that agree.
    pub agreement: f64,
    /// For care: heating rate, fresh tubes, notes.
    pub care: f64,
    /// All points for ends this near to the true ones, none from three times that on [°C].
    pub range_within_c: f64,
    /// Runs agree within this at both ends [°C].
    pub agreement_within_c: f64,
    /// Heating no faster than this through the melting [°C/min].
    pub heating_rate_c_per_min: f64,
}

impl Default for Rubric {
    /// Ten points. Agreement and rate are common practice, no source; the points are arbitrary.
    fn default() -> Self {
        Self {
            identity: 4.0,
            range: 2.0,
            agreement: 2.0,
            care: 2.0,
            range_within_c: 1.0,
            agreement_within_c: 0.5,
            heating_rate_c_per_min: 2.0,
        }
    }
}

/// What one run showed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunShown {
    /// Which run, from 1.
    pub run: u32,
    /// First liquid, as read [°C].
    pub first_liquid_c: f64,
    /// Last crystal, as read [°C].
    pub last_crystal_c: f64,
    /// Heating through the melting, where it was noted [°C/min].
    pub heating_rate_c_per_min: Option<f64>,
    /// Whether the tube was a fresh one.
    pub fresh_tube: bool,
    /// Whether something was noted of it.
    pub noted: bool,
}

/// A seat's work beside what is in its vial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Work<'a> {
    /// True range [°C].
    pub true_range_c: [f64; 2],
    /// True name.
    pub true_name: &'a str,
    /// What they say it is.
    pub identified: Option<&'a str>,
    /// Their runs.
    pub runs: &'a [RunShown],
    /// Whether anything was noted apart from runs.
    pub noted: bool,
}

/// Marks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct SeatMark {
    /// For the right name.
    pub identity: f64,
    /// For a range near the true one.
    pub range: f64,
    /// For runs that agree.
    pub agreement: f64,
    /// For care.
    pub care: f64,
    /// All together.
    pub total: f64,
    /// Of at most.
    pub of: f64,
    /// Why, in words.
    pub reasons: Vec<String>,
    /// Whether the instructor set them.
    pub overridden: bool,
}

/// The smallest differences at both ends between two different runs [°C]: of the pair that agrees best.
pub fn agreement_c(runs: &[RunShown]) -> Option<[f64; 2]> {
    let mut best: Option<[f64; 2]> = None;
    for (index, one) in runs.iter().enumerate() {
        for other in runs.iter().skip(index + 1).filter(|run| run.run != one.run) {
            let found = [
                (one.first_liquid_c - other.first_liquid_c).abs(),
                (one.last_crystal_c - other.last_crystal_c).abs(),
            ];
            let worst = |pair: [f64; 2]| pair[0].max(pair[1]);
            if best.is_none_or(|before| worst(found) < worst(before)) {
                best = Some(found);
            }
        }
    }
    best
}

/// Whether a difference is within a limit, rounding of decimals apart.
pub fn agrees(difference_c: [f64; 2], within_c: f64) -> bool {
    difference_c[0].max(difference_c[1]) <= within_c + 1e-9
}

/// Suggest marks for a seat.
pub fn suggest(rubric: &Rubric, work: &Work) -> SeatMark {
    let mut reasons = Vec::new();
    let identity = identity(rubric, work, &mut reasons);
    let range = range(rubric, work, &mut reasons);
    let agreement = agreement(rubric, work.runs, &mut reasons);
    let care = care(rubric, work, &mut reasons);
    SeatMark {
        identity,
        range,
        agreement,
        care,
        total: identity + range + agreement + care,
        of: rubric.identity + rubric.range + rubric.agreement + rubric.care,
        reasons,
        overridden: false,
    }
}

fn identity(rubric: &Rubric, work: &Work, reasons: &mut Vec<String>) -> f64 {
    let Some(said) = work.identified else {
        reasons.push("identity: nothing was said".to_owned());
        return 0.0;
    };
    let right = said.trim().to_lowercase() == work.true_name.trim().to_lowercase();
    reasons.push(if right {
        format!("identity: {said} is right")
    } else {
        format!("identity: {said} was said, it is {}", work.true_name)
    });
    if right { rubric.identity } else { 0.0 }
}

fn range(rubric: &Rubric, work: &Work, reasons: &mut Vec<String>) -> f64 {
    let count = work.runs.len() as f64;
    if work.runs.is_empty() {
        reasons.push("range: no run was entered".to_owned());
        return 0.0;
    }
    let mean = |end: fn(&RunShown) -> f64| work.runs.iter().map(end).sum::<f64>() / count;
    let means_c = [
        mean(|run| run.first_liquid_c),
        mean(|run| run.last_crystal_c),
    ];
    let [first_c, last_c] = [0, 1].map(|end| means_c[end] - work.true_range_c[end]);
    reasons.push(format!(
        "range: first liquid {first_c:+.1} °C, last crystal {last_c:+.1} °C from the true range, as read"
    ));
    let part = |error_c: f64| {
        if rubric.range_within_c <= 0.0 {
            return f64::from(u8::from(error_c == 0.0));
        }
        (1.5 - 0.5 * error_c.abs() / rubric.range_within_c).clamp(0.0, 1.0)
    };
    rubric.range * 0.5 * (part(first_c) + part(last_c))
}

fn agreement(rubric: &Rubric, runs: &[RunShown], reasons: &mut Vec<String>) -> f64 {
    let Some([first_c, last_c]) = agreement_c(runs) else {
        reasons.push("agreement: fewer than two runs".to_owned());
        return 0.0;
    };
    let within = agrees([first_c, last_c], rubric.agreement_within_c);
    reasons.push(format!(
        "agreement: the two nearest runs differ by {first_c:.1} and {last_c:.1} °C, {} {} °C",
        if within { "within" } else { "not within" },
        rubric.agreement_within_c
    ));
    if within { rubric.agreement } else { 0.0 }
}

fn care(rubric: &Rubric, work: &Work, reasons: &mut Vec<String>) -> f64 {
    let runs = work.runs;
    let some = !runs.is_empty();
    let slow = some
        && runs.iter().all(|run| {
            run.heating_rate_c_per_min
                .is_some_and(|rate| rate <= rubric.heating_rate_c_per_min)
        });
    let fresh = some && runs.iter().all(|run| run.fresh_tube);
    let noted = work.noted || runs.iter().any(|run| run.noted);
    let said = [
        (slow, "heating rate noted and slow enough in every run"),
        (fresh, "a fresh tube for every run"),
        (noted, "something noted"),
    ];
    for (kept, words) in said {
        reasons.push(format!(
            "care: {words}: {}",
            if kept { "yes" } else { "no" }
        ));
    }
    let kept = said.iter().filter(|(kept, _)| *kept).count() as f64;
    rubric.care * kept / said.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(run: u32, first_liquid_c: f64, last_crystal_c: f64) -> RunShown {
        RunShown {
            run,
            first_liquid_c,
            last_crystal_c,
            heating_rate_c_per_min: Some(1.0),
            fresh_tube: true,
            noted: true,
        }
    }

    fn work<'a>(runs: &'a [RunShown], identified: Option<&'a str>) -> Work<'a> {
        Work {
            true_range_c: [113.5, 114.5],
            true_name: "Acetanilide",
            identified,
            runs,
            noted: false,
        }
    }

    #[test]
    fn careful_work_earns_everything() {
        let runs = [run(1, 113.4, 114.4), run(2, 113.6, 114.7)];
        let mark = suggest(&Rubric::default(), &work(&runs, Some("acetanilide ")));
        assert!((mark.total - 10.0).abs() < 1e-12, "{mark:?}");
        assert!((mark.of - 10.0).abs() < 1e-12);
    }

    #[test]
    fn nothing_earns_nothing() {
        let mark = suggest(&Rubric::default(), &work(&[], None));
        assert!(mark.total.abs() < 1e-12, "{mark:?}");
        assert_eq!(mark.reasons.len(), 6);
    }

    #[test]
    fn each_part_is_its_own() {
        let rubric = Rubric::default();
        // Twice the limit off at both ends: half of the points.
        let runs = [run(1, 115.5, 116.5), run(2, 115.5, 116.5)];
        let mark = suggest(&rubric, &work(&runs, Some("urea")));
        assert!((mark.range - 1.0).abs() < 1e-12, "{mark:?}");
        assert!((mark.agreement - 2.0).abs() < 1e-12);
        assert!(mark.identity.abs() < 1e-12);
        let apart = [run(1, 113.0, 114.5), run(2, 113.6, 114.5)];
        let mark = suggest(&rubric, &work(&apart, Some("acetanilide")));
        assert!(mark.agreement.abs() < 1e-12);
        // Two readings of one run do not agree with each other.
        let same = [run(1, 113.5, 114.5), run(1, 113.5, 114.5)];
        assert_eq!(agreement_c(&same), None);
        let mut fast = run(1, 113.5, 114.5);
        fast.heating_rate_c_per_min = None;
        fast.fresh_tube = false;
        let mark = suggest(&rubric, &work(&[fast], None));
        assert!((mark.care - 2.0 / 3.0).abs() < 1e-12);
    }

    #[test]
    fn a_limit_of_half_a_degree_holds_for_decimals() {
        assert!(agrees([114.6 - 114.1, 0.2], 0.5));
        assert!(!agrees([0.51, 0.2], 0.5));
    }
}
