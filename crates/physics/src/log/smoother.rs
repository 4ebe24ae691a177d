//! The smoothed course of a log: a Kalman smoother over rounded readings.
//!
//! Between samples the heating rate wanders at random (integrated random walk), by an amount that is
//! learnt from the log. Each rounded reading is taken for what it is, an interval, by expectation
//! propagation: its normal stand-in is refined with what the readings around it say.
//!
//! Sources: R. E. Kalman, J. Basic Eng. 82 (1960) 35; H. E. Rauch, F. Tung, C. T. Striebel, AIAA J. 3
//! (1965) 1445 (smoother); T. P. Minka, Proc. 17th UAI (2001) 362 (expectation propagation).

use super::LogSample;
use super::rounded::{Display, Site};

/// Heating rates at the start of a log, standard deviation [°C/s]: 20 °C/min.
const FIRST_RATE_C_PER_S: f64 = 0.33;

/// A first temperature is trusted no better than this [°C] beside its reading.
const FIRST_SPREAD_C: f64 = 1.0;

/// Rounds of refinement; from the third on results move by less than a tenth of their uncertainty.
const ROUNDS: usize = 3;

/// Temperature and rate with their covariance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct State {
    pub temperature_c: f64,
    pub rate_c_per_s: f64,
    /// Variance of the temperature [°C²].
    pub tt: f64,
    /// Covariance of temperature and rate [°C²/s].
    pub tr: f64,
    /// Variance of the rate [°C²/s²].
    pub rr: f64,
}

impl State {
    fn first(sample: &LogSample, display: Display) -> Self {
        Self {
            temperature_c: sample.temperature_c,
            rate_c_per_s: 0.0,
            tt: (FIRST_SPREAD_C + 2.0 * display.resolution_c).powi(2)
                + display.noise_c * display.noise_c,
            tr: 0.0,
            rr: FIRST_RATE_C_PER_S * FIRST_RATE_C_PER_S,
        }
    }

    /// Expectation `step_s` later, the rate wandering with `wander` [°C²/s³].
    fn after(&self, step_s: f64, wander: f64) -> Self {
        let h = step_s;
        Self {
            temperature_c: self.temperature_c + h * self.rate_c_per_s,
            rate_c_per_s: self.rate_c_per_s,
            tt: self.tt + h * (2.0 * self.tr + h * self.rr) + wander * h * h * h / 3.0,
            tr: self.tr + h * self.rr + wander * h * h / 2.0,
            rr: self.rr + wander * h,
        }
    }

    /// This state carried a short way past either end of the log.
    pub fn moved(&self, by_s: f64, wander: f64) -> Self {
        let forward = Self {
            rate_c_per_s: self.rate_c_per_s * by_s.signum(),
            tr: self.tr * by_s.signum(),
            ..*self
        }
        .after(by_s.abs(), wander);
        Self {
            rate_c_per_s: self.rate_c_per_s,
            tr: forward.tr * by_s.signum(),
            ..forward
        }
    }

    /// Expectation at `share` (0..1) of the step to the next sample: for a wandering rate a cubic
    /// through both temperatures and rates, and an uncertainty of its own between them.
    ///
    /// The covariance of the two ends is left out, so the uncertainty errs a little towards caution.
    pub fn between(&self, next: &Self, step_s: f64, share: f64, wander: f64) -> Self {
        let (s, r) = (share, 1.0 - share);
        let here = self.temperature_c * r * r * (1.0 + 2.0 * s)
            + next.temperature_c * s * s * (3.0 - 2.0 * s)
            + step_s * s * r * (self.rate_c_per_s * r - next.rate_c_per_s * s);
        let slope = 6.0 * s * r * (next.temperature_c - self.temperature_c) / step_s
            + self.rate_c_per_s * r * (1.0 - 3.0 * s)
            + next.rate_c_per_s * s * (3.0 * s - 2.0);
        let own = wander * (step_s * s * r).powi(3) / 3.0;
        Self {
            temperature_c: here,
            rate_c_per_s: slope,
            tt: self.tt * r + next.tt * s + own,
            tr: self.tr * r + next.tr * s,
            rr: self.rr * r + next.rr * s,
        }
    }

    fn with(&self, site: Site) -> Self {
        if site.precision <= 0.0 {
            return *self;
        }
        let share = 1.0 / (1.0 + self.tt * site.precision);
        // (weighted − precision × mean), scaled by what the reading leaves of the variance.
        let pull = (site.weighted_c - site.precision * self.temperature_c) * share;
        Self {
            temperature_c: self.temperature_c + self.tt * pull,
            rate_c_per_s: self.rate_c_per_s + self.tr * pull,
            tt: self.tt * share,
            tr: self.tr * share,
            rr: self.rr - self.tr * self.tr * site.precision * share,
        }
    }

    /// Expectation of this state given all later readings: `next` is the smoothed state `step_s`
    /// later, `ahead` what was expected there before.
    fn given_later(&self, step_s: f64, ahead: &Self, next: &Self) -> Self {
        // Covariance of this state with the one ahead: P Fᵀ.
        let (a, b) = (self.tt + step_s * self.tr, self.tr);
        let (c, d) = (self.tr + step_s * self.rr, self.rr);
        let det = ahead.tt * ahead.rr - ahead.tr * ahead.tr;
        if det <= 0.0 {
            return *self;
        }
        // Gain = P Fᵀ · ahead⁻¹.
        let g00 = (a * ahead.rr - b * ahead.tr) / det;
        let g01 = (b * ahead.tt - a * ahead.tr) / det;
        let g10 = (c * ahead.rr - d * ahead.tr) / det;
        let g11 = (d * ahead.tt - c * ahead.tr) / det;
        let (dt, dr) = (
            next.temperature_c - ahead.temperature_c,
            next.rate_c_per_s - ahead.rate_c_per_s,
        );
        let (v00, v01, v11) = (next.tt - ahead.tt, next.tr - ahead.tr, next.rr - ahead.rr);
        let between = |p0: f64, p1: f64, q0: f64, q1: f64| {
            p0 * (v00 * q0 + v01 * q1) + p1 * (v01 * q0 + v11 * q1)
        };
        Self {
            temperature_c: self.temperature_c + g00 * dt + g01 * dr,
            rate_c_per_s: self.rate_c_per_s + g10 * dt + g11 * dr,
            tt: (self.tt + between(g00, g01, g00, g01)).max(0.0),
            tr: self.tr + between(g00, g01, g10, g11),
            rr: (self.rr + between(g10, g11, g10, g11)).max(0.0),
        }
    }
}

/// What is smoothed, and how.
#[derive(Debug, Clone, Copy)]
pub(super) struct Course<'a> {
    pub samples: &'a [LogSample],
    /// Samples to be passed over.
    pub out: &'a [bool],
    pub display: Display,
    /// Steps longer than this are not bridged [s].
    pub longest_step_s: f64,
}

impl Course<'_> {
    fn step_s(&self, at: usize) -> Option<f64> {
        let step_s = self.samples[at].time_s - self.samples[at.checked_sub(1)?].time_s;
        (step_s <= self.longest_step_s).then_some(step_s)
    }

    /// Log-likelihood of each reading given those before it, `wander(at)` [°C²/s³] for the step to sample `at`.
    pub fn log_likelihoods(&self, wander: impl Fn(usize) -> f64) -> Vec<f64> {
        let mut sites = vec![Site::default(); self.samples.len()];
        let mut likelihoods = vec![0.0; self.samples.len()];
        self.first_pass(&wander, &mut sites, |at, log_likelihood| {
            likelihoods[at] = log_likelihood;
        });
        likelihoods
    }

    /// Smoothed state at each sample.
    pub fn smooth(&self, wander: impl Fn(usize) -> f64) -> Vec<State> {
        let mut sites = vec![Site::default(); self.samples.len()];
        self.first_pass(&wander, &mut sites, |_, _| {});
        let mut states = self.both_ways(&wander, &sites);
        for _ in 1..ROUNDS {
            self.refine(&states, &mut sites);
            states = self.both_ways(&wander, &sites);
        }
        states
    }

    /// Filter once, finding each reading's stand-in from the readings before it.
    fn first_pass(
        &self,
        wander: &impl Fn(usize) -> f64,
        sites: &mut [Site],
        mut tell: impl FnMut(usize, f64),
    ) {
        let mut state: Option<State> = None;
        for (at, sample) in self.samples.iter().enumerate() {
            let ahead = match (state, self.step_s(at)) {
                (Some(state), Some(step_s)) => state.after(step_s, wander(at)),
                _ => State::first(sample, self.display),
            };
            if !self.out[at] {
                let (site, log_likelihood) =
                    self.display
                        .site(sample.temperature_c, ahead.temperature_c, ahead.tt);
                sites[at] = site;
                tell(at, log_likelihood);
            }
            state = Some(ahead.with(sites[at]));
        }
    }

    /// Forward filter and backward smoother with given stand-ins.
    fn both_ways(&self, wander: &impl Fn(usize) -> f64, sites: &[Site]) -> Vec<State> {
        let mut ahead: Vec<State> = Vec::with_capacity(self.samples.len());
        let mut states: Vec<State> = Vec::with_capacity(self.samples.len());
        for (at, sample) in self.samples.iter().enumerate() {
            let expected = match (states.last(), self.step_s(at)) {
                (Some(state), Some(step_s)) => state.after(step_s, wander(at)),
                _ => State::first(sample, self.display),
            };
            states.push(expected.with(sites[at]));
            ahead.push(expected);
        }
        for at in (1..states.len()).rev() {
            if let Some(step_s) = self.step_s(at) {
                states[at - 1] = states[at - 1].given_later(step_s, &ahead[at], &states[at]);
            }
        }
        states
    }

    /// Find each reading's stand-in anew from what all the others say.
    fn refine(&self, states: &[State], sites: &mut [Site]) {
        for (at, (state, site)) in states.iter().zip(sites).enumerate() {
            let others = 1.0 / state.tt - site.precision;
            if self.out[at] || !others.is_finite() || others <= 1e-9 {
                continue;
            }
            let variance = 1.0 / others;
            let mean_c = variance * (state.temperature_c / state.tt - site.weighted_c);
            *site = self
                .display
                .site(self.samples[at].temperature_c, mean_c, variance)
                .0;
        }
    }
}
