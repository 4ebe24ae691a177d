//! From one convention to another, where runs at several heating rates say how.

use crate::determination::{Determination, EndResult, EndsAtZeroRate};
use crate::temperature::Convention;
use crate::zero_rate::{ZeroRate, one_rate};
use meltrange_physics::Celsius;

/// How far outside the rates of the runs a law is still followed, as a factor.
const BEYOND_RATES: f64 = 1.5;

/// A temperature in another convention.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Converted {
    /// Value.
    pub temperature: Celsius,
    /// What it is now.
    pub convention: Convention,
    /// Standard uncertainty with that of the shift and half the difference of the laws [°C].
    pub standard_uncertainty_c: f64,
    /// What was added [°C].
    pub shift_c: f64,
}

/// Why a temperature stays in its convention.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ConversionError {
    /// No runs at several rates.
    #[error(
        "a {from} value was asked for as {to}, and there are no runs of this sample at two or more heating rates; the shift between the two is 0.2 to 2.2 °C and differs from substance to substance, so it is not guessed: heat fresh tubes at a second rate"
    )]
    NoRates {
        /// What it is.
        from: Convention,
        /// What it was to be.
        to: Convention,
    },
    /// Nobody said what the value is, or at which rate.
    #[error(
        "the value is \"{from}\" and \"{to}\" was asked for; both must be thermodynamic or at a stated rate"
    )]
    NotStated {
        /// What it is.
        from: Convention,
        /// What it was to be.
        to: Convention,
    },
    /// The value is a mean over rates, or not at the rate that it would be moved from.
    #[error(
        "the runs that the result is the mean of were heated at {found} and the value is \"{from}\"; expected runs at one known rate{expected}, from which the shift is taken"
    )]
    RunsAtOtherRates {
        /// Rates of the runs, in words.
        found: String,
        /// What the value is.
        from: Convention,
        /// Which rate, in words.
        expected: String,
    },
    /// Far from what was heated at.
    #[error(
        "{rate_c_per_min} °C/min lies outside the rates of the runs, {lowest} to {highest} °C/min; expected one between them"
    )]
    RateOutside {
        /// Asked for.
        rate_c_per_min: f64,
        /// Slowest run.
        lowest: f64,
        /// Fastest run.
        highest: f64,
    },
}

/// Convert a corrected temperature from one convention to another with the shift that the sample's
/// own runs at several rates show.
///
/// The shift by either law is taken between the two rates, zero for thermodynamic; the value is
/// moved by their mean, and half their difference is added to the uncertainty in squares, with the
/// uncertainty of the shift itself.
///
/// # Errors
/// [`ConversionError`] without such runs, where a convention is not stated, or for a rate outside.
pub fn convert_convention(
    value: Celsius,
    standard_uncertainty_c: f64,
    from: Convention,
    to: Convention,
    rates: Option<(&ZeroRate, [f64; 2])>,
) -> Result<Converted, ConversionError> {
    let unchanged = Converted {
        temperature: value,
        convention: to,
        standard_uncertainty_c,
        shift_c: 0.0,
    };
    let (Some(rate_from), Some(rate_to)) = (rate_of(from), rate_of(to)) else {
        return Err(ConversionError::NotStated { from, to });
    };
    if from == to {
        return Ok(unchanged);
    }
    let Some((zero_rate, [lowest, highest])) = rates else {
        return Err(ConversionError::NoRates { from, to });
    };
    for rate_c_per_min in [rate_from, rate_to] {
        let inside = (lowest / BEYOND_RATES..=highest * BEYOND_RATES).contains(&rate_c_per_min);
        if rate_c_per_min > 0.0 && !inside {
            return Err(ConversionError::RateOutside {
                rate_c_per_min,
                lowest,
                highest,
            });
        }
    }
    let line_c = zero_rate.line.shift_at_1_c_per_min_c * (rate_to - rate_from);
    let root_c = zero_rate.root.shift_at_1_c_per_min_c * (rate_to.sqrt() - rate_from.sqrt());
    let own_u_c = (zero_rate.line.shift_standard_uncertainty_c * (rate_to - rate_from))
        .abs()
        .max(
            (zero_rate.root.shift_standard_uncertainty_c * (rate_to.sqrt() - rate_from.sqrt()))
                .abs(),
        );
    let shift_c = (line_c + root_c) / 2.0;
    Ok(Converted {
        temperature: Celsius(value.0 + shift_c),
        convention: to,
        standard_uncertainty_c: standard_uncertainty_c
            .hypot(own_u_c)
            .hypot((line_c - root_c) / 2.0),
        shift_c,
    })
}

impl Determination {
    /// Both ends in another convention, first liquid first.
    ///
    /// A value at a rate is one only where the runs used were heated at that rate; a thermodynamic one only
    /// where they were heated as the standards were, which the correction then makes up for.
    ///
    /// # Errors
    /// As [`convert_convention`], and where the runs used were not heated at one such rate.
    pub fn converted(&self, to: Convention) -> Result<[Converted; 2], ConversionError> {
        let from = self.convention.unwrap_or_default();
        let rates: Vec<f64> = self
            .runs
            .iter()
            .filter(|run| run.used)
            .map_while(|run| run.heating_rate_c_per_min)
            .collect();
        let used = self.runs.iter().filter(|run| run.used).count();
        let wanted = match from {
            Convention::AtRate { rate_c_per_min } => rate_c_per_min,
            Convention::Thermodynamic | Convention::NotStated => None,
        };
        let fits = one_rate(&rates).is_some_and(|rate| {
            rates.len() == used && wanted.is_none_or(|wanted| one_rate(&[rate, wanted]).is_some())
        });
        if self.zero_rate.is_some() && !fits {
            let found: Vec<String> = rates.iter().map(|rate| format!("{rate:.2}")).collect();
            return Err(ConversionError::RunsAtOtherRates {
                found: if rates.len() == used {
                    format!("{} °C/min", found.join(", "))
                } else {
                    "rates that are not all known".to_owned()
                },
                from,
                expected: wanted.map_or_else(String::new, |rate| format!(", {rate} °C/min")),
            });
        }
        let end = |end: &EndResult, of: fn(&EndsAtZeroRate) -> &ZeroRate| {
            convert_convention(
                Celsius(end.value_c),
                end.standard_uncertainty_c,
                from,
                to,
                self.zero_rate
                    .as_ref()
                    .map(|both| (of(both), both.rates_c_per_min)),
            )
        };
        Ok([
            end(&self.first_liquid, |both| &both.first_liquid)?,
            end(&self.last_crystal, |both| &both.last_crystal)?,
        ])
    }
}

/// Heating rate that a convention means [°C/min]; `None` where it is not stated.
fn rate_of(convention: Convention) -> Option<f64> {
    match convention {
        Convention::Thermodynamic => Some(0.0),
        Convention::AtRate { rate_c_per_min } => rate_c_per_min,
        Convention::NotStated => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::zero_rate::{AtRate, zero_rate};

    const AT_1: Convention = Convention::AtRate {
        rate_c_per_min: Some(1.0),
    };

    fn runs() -> ZeroRate {
        let run = |rate_c_per_min: f64| AtRate {
            rate_c_per_min,
            temperature: Celsius(122.37 + 1.45 * rate_c_per_min.sqrt()),
            standard_uncertainty_c: 0.1,
        };
        zero_rate(&[run(1.0), run(4.0)]).expect("two rates")
    }

    #[test]
    fn a_value_is_converted_by_the_runs_own_shift() {
        let zero_rate = runs();
        let rates = Some((&zero_rate, [1.0, 4.0]));
        let found =
            convert_convention(Celsius(123.82), 0.1, AT_1, Convention::Thermodynamic, rates)
                .expect("there are rates");
        // Shifts from 1 °C/min to zero: root −1.45, line −1.45/3; the mean, and half the difference.
        assert!((found.shift_c + 1.45 * (1.0 + 1.0 / 3.0) / 2.0).abs() < 1e-9);
        assert!(found.standard_uncertainty_c > 1.45 / 3.0);
        assert_eq!(found.convention, Convention::Thermodynamic);
        let back = convert_convention(
            found.temperature,
            0.1,
            Convention::Thermodynamic,
            AT_1,
            rates,
        )
        .expect("there are rates");
        assert!((back.temperature.0 - 123.82).abs() < 1e-9);
    }

    #[test]
    fn without_rates_it_is_refused_with_the_reason() {
        let refused = |from, to, rates| {
            convert_convention(Celsius(123.8), 0.1, from, to, rates)
                .expect_err("it must not be guessed")
                .to_string()
        };
        let text = refused(AT_1, Convention::Thermodynamic, None);
        assert!(text.contains("not guessed"), "{text}");
        let text = refused(Convention::NotStated, Convention::Thermodynamic, None);
        assert!(text.contains("not stated"), "{text}");
        let zero_rate = runs();
        let ten = Convention::AtRate {
            rate_c_per_min: Some(10.0),
        };
        let text = refused(AT_1, ten, Some((&zero_rate, [1.0, 4.0])));
        assert!(text.contains("10 °C/min lies outside"), "{text}");
    }
}
