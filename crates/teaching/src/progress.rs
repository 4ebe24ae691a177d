//! How far a learner is: bias and spread at both ends, each kind of exercise, the rule to pass, what comes next.

mod next;

pub use next::{NextExercise, Why};

use crate::exercise::ExerciseKind;
use serde::{Deserialize, Serialize};

/// Latest attempts at one kind that say how well it goes now.
pub(crate) const RECENT: usize = 5;

/// An exercise that was marked. In order of time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Attempt {
    /// When, RFC 3339; passed on as it is.
    pub when: String,
    /// Kind of exercise.
    pub kind: ExerciseKind,
    /// Marked minus known first liquid [°C].
    pub first_liquid_error_c: f64,
    /// Marked minus known last crystal [°C].
    pub last_crystal_error_c: f64,
}

impl Attempt {
    fn is_finite(&self) -> bool {
        self.first_liquid_error_c.is_finite() && self.last_crystal_error_c.is_finite()
    }

    fn within(&self, limit_c: f64) -> bool {
        self.worse_end_c() <= limit_c + ROUNDING_C
    }

    /// The larger error of the two ends [°C].
    fn worse_end_c(&self) -> f64 {
        self.first_liquid_error_c
            .abs()
            .max(self.last_crystal_error_c.abs())
    }
}

/// Rounding of decimals that must not put an error on the limit outside of it [°C].
const ROUNDING_C: f64 = 1e-9;

/// When a learner has passed: of the latest attempts enough within the limit at both ends, no bias, and each kind tried.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PassRule {
    /// Largest error at either end that is good enough [°C].
    pub limit_c: f64,
    /// How many of the latest attempts count.
    pub of: usize,
    /// How many of them have to be within the limit at both ends.
    pub within: usize,
    /// Largest mean error over them, either way, at either end [°C].
    pub bias_limit_c: f64,
    /// Kinds that have to have been tried.
    pub kinds: Vec<ExerciseKind>,
}

impl Default for PassRule {
    fn default() -> Self {
        Self {
            limit_c: 0.5,
            of: 10,
            within: 8,
            bias_limit_c: 0.25,
            kinds: ExerciseKind::SIMULATED.to_vec(),
        }
    }
}

/// One end over the attempts that count.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct EndProgress {
    /// How many attempts.
    pub n: usize,
    /// Mean error [°C].
    #[cfg_attr(feature = "schema", schema(required))]
    pub bias_c: Option<f64>,
    /// Its standard error [°C]; from 2 attempts on.
    #[cfg_attr(feature = "schema", schema(required))]
    pub bias_standard_error_c: Option<f64>,
    /// Standard deviation of the errors [°C]; from 2 attempts on.
    #[cfg_attr(feature = "schema", schema(required))]
    pub spread_c: Option<f64>,
}

/// A point of the learning curve.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PracticePoint {
    /// From 1.
    pub n: usize,
    /// When, RFC 3339.
    pub when: String,
    /// Kind of exercise.
    pub kind: ExerciseKind,
    /// Marked minus known [°C].
    pub first_liquid_error_c: f64,
    /// Marked minus known [°C].
    pub last_crystal_error_c: f64,
}

/// One kind of exercise.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct KindProgress {
    /// Which.
    pub kind: ExerciseKind,
    /// Attempts at it in all.
    pub n: usize,
    /// Root mean square error of the latest five at most [°C].
    #[cfg_attr(feature = "schema", schema(required))]
    pub first_liquid_rms_c: Option<f64>,
    /// The same for the last crystal [°C].
    #[cfg_attr(feature = "schema", schema(required))]
    pub last_crystal_rms_c: Option<f64>,
    /// Whether both are within the limit.
    pub passed: bool,
}

/// What the rule still asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum Missing {
    /// More attempts.
    Attempts,
    /// More of the latest within the limit at both ends.
    Within,
    /// Less bias at the first liquid.
    BiasFirstLiquid,
    /// Less bias at the last crystal.
    BiasLastCrystal,
    /// Kinds that have not been tried.
    Kinds,
}

/// How far a learner is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Progress {
    /// The first liquid over the latest attempts, as many as the rule counts.
    pub first_liquid: EndProgress,
    /// The last crystal over the same.
    pub last_crystal: EndProgress,
    /// All attempts in order of time.
    pub curve: Vec<PracticePoint>,
    /// Each kind of the rule, and any other that was tried.
    pub kinds: Vec<KindProgress>,
    /// The rule to pass.
    pub rule: PassRule,
    /// Whether it is fulfilled now.
    pub passed: bool,
    /// What it still asks for; empty when passed.
    pub missing: Vec<Missing>,
    /// What to do next.
    pub next: NextExercise,
}

/// How far a learner is, by the attempts so far.
///
/// # Arguments
/// * `attempts`: in order of time. One whose errors are no numbers is left out.
/// * `rule`: when it is enough; see [`PassRule::default`].
///
/// # Returns
/// Bias and spread over the attempts that the rule counts, each kind by its latest attempts, and what comes next.
pub fn progress(attempts: &[Attempt], rule: &PassRule) -> Progress {
    let attempts: Vec<&Attempt> = attempts.iter().filter(|one| one.is_finite()).collect();
    let latest = &attempts[attempts.len().saturating_sub(rule.of)..];
    let first_liquid = end(latest.iter().map(|one| one.first_liquid_error_c));
    let last_crystal = end(latest.iter().map(|one| one.last_crystal_error_c));
    let kinds = kinds(&attempts, rule);

    let mut missing = Vec::new();
    if attempts.len() < rule.of {
        missing.push(Missing::Attempts);
    }
    let within = latest.iter().filter(|one| one.within(rule.limit_c)).count();
    if within < rule.within {
        missing.push(Missing::Within);
    }
    for (found, what) in [
        (first_liquid, Missing::BiasFirstLiquid),
        (last_crystal, Missing::BiasLastCrystal),
    ] {
        if found
            .bias_c
            .is_some_and(|bias_c| bias_c.abs() > rule.bias_limit_c + ROUNDING_C)
        {
            missing.push(what);
        }
    }
    let tried = |kind: &ExerciseKind| attempts.iter().any(|one| one.kind == *kind);
    if !rule.kinds.iter().all(tried) {
        missing.push(Missing::Kinds);
    }
    Progress {
        first_liquid,
        last_crystal,
        curve: (1..)
            .zip(&attempts)
            .map(|(n, one)| PracticePoint {
                n,
                when: one.when.clone(),
                kind: one.kind,
                first_liquid_error_c: one.first_liquid_error_c,
                last_crystal_error_c: one.last_crystal_error_c,
            })
            .collect(),
        kinds,
        rule: rule.clone(),
        passed: missing.is_empty(),
        missing,
        next: next::next(&attempts, rule),
    }
}

/// Mean, its standard error and the standard deviation of errors [°C].
fn end(errors_c: impl Iterator<Item = f64>) -> EndProgress {
    let errors_c: Vec<f64> = errors_c.collect();
    let n = errors_c.len();
    let bias_c = (n > 0).then(|| errors_c.iter().sum::<f64>() / n as f64);
    let spread_c = bias_c.filter(|_| n > 1).map(|bias_c| {
        let squares: f64 = errors_c.iter().map(|error| (error - bias_c).powi(2)).sum();
        (squares / (n as f64 - 1.0)).sqrt()
    });
    EndProgress {
        n,
        bias_c,
        bias_standard_error_c: spread_c.map(|spread_c| spread_c / (n as f64).sqrt()),
        spread_c,
    }
}

/// The kinds of the rule in its order, then any other that was tried.
fn kinds(attempts: &[&Attempt], rule: &PassRule) -> Vec<KindProgress> {
    let others = ExerciseKind::SIMULATED
        .into_iter()
        .chain([ExerciseKind::Recording])
        .filter(|kind| !rule.kinds.contains(kind))
        .filter(|kind| attempts.iter().any(|one| one.kind == *kind));
    rule.kinds
        .iter()
        .copied()
        .chain(others)
        .map(|kind| {
            let recent = recent(attempts, kind);
            let first_liquid_rms_c = rms(recent.iter().map(|one| one.first_liquid_error_c));
            let last_crystal_rms_c = rms(recent.iter().map(|one| one.last_crystal_error_c));
            let good = |rms_c: Option<f64>| rms_c.is_some_and(|rms_c| rms_c <= rule.limit_c);
            KindProgress {
                kind,
                n: attempts.iter().filter(|one| one.kind == kind).count(),
                first_liquid_rms_c,
                last_crystal_rms_c,
                passed: good(first_liquid_rms_c) && good(last_crystal_rms_c),
            }
        })
        .collect()
}

/// The latest attempts at a kind, [`RECENT`] at most, in order of time.
fn recent<'a>(attempts: &[&'a Attempt], kind: ExerciseKind) -> Vec<&'a Attempt> {
    let of_kind: Vec<&Attempt> = attempts
        .iter()
        .copied()
        .filter(|one| one.kind == kind)
        .collect();
    of_kind[of_kind.len().saturating_sub(RECENT)..].to_vec()
}

/// Root mean square; `None` of nothing.
fn rms(values: impl Iterator<Item = f64>) -> Option<f64> {
    let values: Vec<f64> = values.collect();
    let squares: f64 = values.iter().map(|value| value * value).sum();
    (!values.is_empty()).then(|| (squares / values.len() as f64).sqrt())
}

#[cfg(test)]
mod tests;
