//! How temperatures, uncertainties, rates and times are written for people.
//!
//! GUM (JCGM 100:2008) 7.2.6: an uncertainty is stated with at most two significant digits and the
//! value is rounded to the same decimal place.

use meltrange_reading::{Moment, TubeReading};

/// Digits after the point beyond which a melting temperature says nothing.
const MOST_DECIMALS: usize = 2;

/// Digits after the point in a melting range; common practice writes tenths.
const MOST_RANGE_DECIMALS: usize = 1;

/// What stands where there is no value.
pub const NONE: &str = "–";

/// A value and its standard uncertainty, rounded to belong together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rounded {
    /// The value, without unit.
    pub value: String,
    /// Its standard uncertainty, without unit.
    pub uncertainty: String,
}

/// Round a temperature and its standard uncertainty [°C] to at most two significant digits of the
/// uncertainty and never finer than 0.01 °C; an uncertainty below that is rounded up to it.
pub fn rounded(value_c: f64, standard_uncertainty_c: f64) -> Rounded {
    let decimals = decimals_for(standard_uncertainty_c);
    let least = 10_f64.powi(-(decimals as i32));
    Rounded {
        value: fixed(value_c, decimals),
        uncertainty: fixed(standard_uncertainty_c.max(least), decimals),
    }
}

/// Temperature of a moment with its unit, e.g. `113.42 °C`.
pub fn moment_temperature(moment: &Moment) -> String {
    let rounded = rounded(moment.temperature_c, moment.standard_uncertainty_c);
    format!("{} °C", rounded.value)
}

/// Temperature of a moment with its standard uncertainty, e.g. `113.42 °C (u 0.05 °C)`.
pub fn moment_with_uncertainty(moment: &Moment) -> String {
    let rounded = rounded(moment.temperature_c, moment.standard_uncertainty_c);
    format!("{} °C (u {} °C)", rounded.value, rounded.uncertainty)
}

/// The same for a column headed by the unit, e.g. `113.42 (u 0.05)`; [`NONE`] without a moment.
pub fn moment_cell(moment: Option<&Moment>) -> String {
    let Some(moment) = moment else {
        return NONE.to_owned();
    };
    let rounded = rounded(moment.temperature_c, moment.standard_uncertainty_c);
    format!("{} (u {})", rounded.value, rounded.uncertainty)
}

/// Melting range of a tube, e.g. `113.4–114.3 °C`; `from 113.4 °C` when only the first liquid was
/// seen, `to 114.3 °C` when only the last crystal was, [`NONE`] without either.
pub fn range(tube: &TubeReading) -> String {
    let text = |moment: &Moment| {
        let decimals = decimals_for(moment.standard_uncertainty_c).min(MOST_RANGE_DECIMALS);
        fixed(moment.temperature_c, decimals)
    };
    match (&tube.first_liquid, &tube.last_crystal) {
        (Some(first), Some(last)) => format!("{}–{} °C", text(first), text(last)),
        (Some(first), None) => format!("from {} °C", text(first)),
        (None, Some(last)) => format!("to {} °C", text(last)),
        (None, None) => NONE.to_owned(),
    }
}

/// Heating rate for a column headed by the unit, e.g. `1.02`; [`NONE`] without one.
pub fn rate_cell(rate_c_per_min: Option<f64>) -> String {
    rate_c_per_min.map_or(NONE.to_owned(), |rate_c_per_min| {
        let decimals = if rate_c_per_min.abs() < 10.0 { 2 } else { 1 };
        fixed(rate_c_per_min, decimals)
    })
}

/// A logged temperature that carries no uncertainty of its own, e.g. `113.4 °C`.
pub fn logged_temperature(temperature_c: f64) -> String {
    format!("{} °C", fixed(temperature_c, 1))
}

/// Time on the log's clock as minutes and seconds, e.g. `3:25.4`.
pub fn clock(time_s: f64) -> String {
    if !time_s.is_finite() {
        return NONE.to_owned();
    }
    let tenths = (time_s * 10.0).round() as i64;
    let sign = if tenths < 0 { "-" } else { "" };
    let (minutes, rest) = (tenths.abs() / 600, tenths.abs() % 600);
    format!("{sign}{minutes}:{:02}.{}", rest / 10, rest % 10)
}

/// Share as per cent, e.g. `0.5 %` or `20 %`.
pub fn percent(fraction: f64) -> String {
    let percent = fraction * 100.0;
    let decimals = if (percent - percent.round()).abs() > 0.05 {
        1
    } else {
        0
    };
    format!("{} %", fixed(percent, decimals))
}

/// Fixed number of decimals, without a minus before zero; [`NONE`] for what is not finite.
pub fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return NONE.to_owned();
    }
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|digit| matches!(digit, '0' | '.')) => rest.to_owned(),
        _ => text,
    }
}

/// Decimals that show two significant digits of an uncertainty.
fn decimals_for(standard_uncertainty_c: f64) -> usize {
    if !standard_uncertainty_c.is_finite() || standard_uncertainty_c <= 0.0 {
        return MOST_DECIMALS;
    }
    // 0.0951 rounds to 0.10 at two decimals: digits are counted from the power of ten below.
    let leading = standard_uncertainty_c.log10().floor() as i32;
    (1 - leading).clamp(0, MOST_DECIMALS as i32) as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moment(temperature_c: f64, standard_uncertainty_c: f64) -> Moment {
        Moment {
            time_s: 60.0,
            temperature_c,
            standard_uncertainty_c,
        }
    }

    #[test]
    fn uncertainty_keeps_two_digits_and_the_value_follows() {
        // JCGM 100:2008, 7.2.6: 10.057 62 ohm with u = 27 milliohm is written 10.058 ohm; the same
        // rule one and two places to the left, and stopped at hundredths.
        let cases = [
            (113.4237, 0.27, "113.42", "0.27"),
            (113.4237, 2.7, "113.4", "2.7"),
            (113.4237, 27.0, "113", "27"),
            (113.4237, 0.043, "113.42", "0.04"),
            (113.4237, 0.001, "113.42", "0.01"),
            (-0.004, 0.05, "0.00", "0.05"),
        ];
        for (value, uncertainty, value_text, uncertainty_text) in cases {
            let found = rounded(value, uncertainty);
            assert_eq!(
                (found.value.as_str(), found.uncertainty.as_str()),
                (value_text, uncertainty_text),
                "{value} with {uncertainty}"
            );
        }
    }

    #[test]
    fn moments_say_their_unit() {
        let found = moment_with_uncertainty(&moment(80.234, 0.06));
        assert_eq!(found, "80.23 °C (u 0.06 °C)");
    }

    #[test]
    fn clock_carries_over_the_minute() {
        assert_eq!(clock(59.96), "1:00.0");
        assert_eq!(clock(205.4), "3:25.4");
        assert_eq!(clock(-1.25), "-0:01.3");
        assert_eq!(clock(f64::NAN), NONE);
    }

    #[test]
    fn per_cent_shows_a_half_only_where_there_is_one() {
        assert_eq!(percent(0.005), "0.5 %");
        assert_eq!(percent(0.2), "20 %");
    }
}
