//! What one rounded, noisy reading says about the temperature behind it.

use std::f64::consts::{FRAC_1_SQRT_2, PI};

use libm::erfc;

/// Probability below which the reading contradicts the expectation so far that only its distance
/// from it counts.
const CONTRADICTION: f64 = 1e-12;

/// How a thermometer's display comes about: temperature plus noise, rounded to a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Display {
    /// Step [°C]; 0 when not rounded.
    pub resolution_c: f64,
    /// Standard deviation of the noise before rounding [°C], > 0.
    pub noise_c: f64,
}

/// Logarithm of the probability of a reading, with its first and (negative) second derivative by the
/// expected temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Evidence {
    pub log_likelihood: f64,
    pub slope: f64,
    pub curvature: f64,
}

/// A normal likelihood that has the same effect: precision [°C⁻²] and precision × value.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Site {
    pub precision: f64,
    pub weighted_c: f64,
}

impl Display {
    /// Evidence of reading `shown_c` when the temperature is expected as normal with this mean and variance.
    ///
    /// Rounding: the unrounded value lay in `shown ± step/2`, so the probability is
    /// Φ((shown + step/2 − mean)/s) − Φ((shown − step/2 − mean)/s) with s² = variance + noise².
    pub fn evidence(self, shown_c: f64, mean_c: f64, variance_c2: f64) -> Evidence {
        let total = variance_c2 + self.noise_c * self.noise_c;
        let s = total.sqrt();
        let off = shown_c - mean_c;
        let half = 0.5 * self.resolution_c;
        if half > 0.0 {
            let (low, high) = ((off - half) / s, (off + half) / s);
            let probability = normal_between(low, high);
            if probability > CONTRADICTION {
                let (at_low, at_high) = (density(low), density(high));
                let slope = (at_low - at_high) / (s * probability);
                let curvature =
                    slope * slope - (low * at_low - high * at_high) / (total * probability);
                return Evidence {
                    log_likelihood: probability.ln(),
                    slope,
                    curvature: curvature.max(0.0),
                };
            }
        }
        let wide = total + self.resolution_c * self.resolution_c / 12.0;
        let scale = if half > 0.0 { self.resolution_c } else { 1.0 };
        Evidence {
            log_likelihood: (scale / (2.0 * PI * wide).sqrt()).ln() - 0.5 * off * off / wide,
            slope: off / wide,
            curvature: 1.0 / wide,
        }
    }

    /// The normal likelihood that moves a normal expectation to the mean and variance that the
    /// reading really leads to (moment matching).
    pub fn site(self, shown_c: f64, mean_c: f64, variance_c2: f64) -> (Site, f64) {
        let evidence = self.evidence(shown_c, mean_c, variance_c2);
        // Left-over share of the variance; positive as curvature < 1/variance for any noise > 0.
        let left = (1.0 - variance_c2 * evidence.curvature).max(1e-9);
        let site = Site {
            precision: evidence.curvature / left,
            weighted_c: (mean_c * evidence.curvature + evidence.slope) / left,
        };
        (site, evidence.log_likelihood)
    }
}

fn density(x: f64) -> f64 {
    (-0.5 * x * x).exp() / (2.0 * PI).sqrt()
}

/// Probability of a standard normal value between two limits, accurate in both tails.
fn normal_between(low: f64, high: f64) -> f64 {
    let above = |x: f64| 0.5 * erfc(x * FRAC_1_SQRT_2);
    if low > 0.0 {
        above(low) - above(high)
    } else {
        above(-high) - above(-low)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_coarse_step_between_its_limits_says_little() {
        let display = Display {
            resolution_c: 1.0,
            noise_c: 0.01,
        };
        let (site, log_likelihood) = display.site(20.0, 20.1, 0.05_f64.powi(2));
        assert!(site.precision < 1e-6, "{site:?}");
        assert!(log_likelihood.abs() < 1e-6);
    }

    #[test]
    fn a_fine_step_is_an_ordinary_normal_reading() {
        let display = Display {
            resolution_c: 1e-3,
            noise_c: 0.05,
        };
        let (site, _) = display.site(20.0, 20.1, 0.02_f64.powi(2));
        assert!((1.0 / site.precision).sqrt() - 0.05 < 1e-5, "{site:?}");
        assert!((site.weighted_c / site.precision - 20.0).abs() < 1e-4);
    }

    #[test]
    fn derivatives_agree_with_finite_differences() {
        let display = Display {
            resolution_c: 0.1,
            noise_c: 0.02,
        };
        let (variance, step) = (0.03_f64.powi(2), 1e-4);
        for mean_c in [19.8, 19.95, 20.0, 20.06, 20.3] {
            let at = |shift: f64| display.evidence(20.0, mean_c + shift, variance);
            let slope = (at(step).log_likelihood - at(-step).log_likelihood) / (2.0 * step);
            let curvature = -(at(step).slope - at(-step).slope) / (2.0 * step);
            let found = at(0.0);
            assert!((found.slope - slope).abs() < 1e-3 * slope.abs().max(1.0));
            assert!((found.curvature - curvature).abs() < 1e-3 * curvature.abs());
        }
    }

    #[test]
    fn tails_stay_finite() {
        let display = Display {
            resolution_c: 0.1,
            noise_c: 0.001,
        };
        for mean_c in [-1e6, 0.0, 19.0, 1e6] {
            let (site, log_likelihood) = display.site(20.0, mean_c, 1e-8);
            assert!(site.precision > 0.0 && site.precision.is_finite());
            assert!(log_likelihood.is_finite());
        }
    }
}
