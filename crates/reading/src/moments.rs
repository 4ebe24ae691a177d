//! Moments from curves: when a series crosses a level for good, and how sure that is.

use crate::result::Moment;
use meltrange_physics::TemperatureLog;

/// Time below a level [s], and length of a return as share of it, that make the return a passing one.
const LONG_AWAY_S: f64 = 5.0;
const BRIEF: f64 = 0.4;
/// Least time to either side over which heating is looked at [s]: the log's noise must not count as heating.
const LEAST_REACH_S: f64 = 2.0;

/// Running median over `2·half+1` values, shorter at the ends.
pub(crate) fn running_median(values: &[f32], half: usize) -> Vec<f32> {
    (0..values.len())
        .map(|i| {
            let reach = half.min(i).min(values.len() - 1 - i);
            let mut part = values[i - reach..=i + reach].to_vec();
            crate::image::quantile(&mut part, 0.5)
        })
        .collect()
}

/// Median of the last `n` values, or of all when there are fewer.
pub(crate) fn median_of_last(values: &[f32], n: usize) -> f32 {
    let mut part = values[values.len().saturating_sub(n)..].to_vec();
    crate::image::quantile(&mut part, 0.5)
}

/// Last time before `until` (index) at which a rising series passes `level` upwards, interpolated.
pub(crate) fn last_rise(times_s: &[f64], values: &[f32], level: f32, until: usize) -> Option<f64> {
    let until = until.min(values.len().checked_sub(1)?);
    if values[until] < level {
        return None;
    }
    let below = (0..until).rev().find(|&i| values[i] < level);
    Some(match below {
        None => times_s[0],
        Some(i) => between(times_s, values, i, level),
    })
}

/// Last time at which a falling series passes `level` downwards for good, interpolated; `None` when it
/// ends above.
///
/// What comes back only briefly after a longer time below (a shaken picture, a passing bubble) is no return.
pub(crate) fn last_fall(times_s: &[f64], values: &[f32], level: f32) -> Option<f64> {
    let mut above = (0..values.len()).rev().find(|&i| values[i] >= level)?;
    if above + 1 >= values.len() {
        return None;
    }
    while let Some(below) = (0..above).rev().find(|&i| values[i] < level) {
        let Some(earlier) = (0..below).rev().find(|&i| values[i] >= level) else {
            break;
        };
        let away_s = times_s[below] - times_s[earlier];
        let back_s = times_s[above + 1] - times_s[below];
        if away_s < LONG_AWAY_S || back_s > BRIEF * away_s {
            break;
        }
        above = earlier;
    }
    Some(between(times_s, values, above, level))
}

fn between(times_s: &[f64], values: &[f32], i: usize, level: f32) -> f64 {
    let (a, b) = (values[i], values[i + 1]);
    let part = if (b - a).abs() < 1e-9 {
        0.5
    } else {
        ((level - a) / (b - a)).clamp(0.0, 1.0)
    };
    times_s[i] + f64::from(part) * (times_s[i + 1] - times_s[i])
}

/// The rising course nearest to a series: neighbours that fall are pooled (isotonic regression).
pub(crate) fn rising(values: &[f32]) -> Vec<f32> {
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for &value in values {
        let (mut mean, mut count) = (f64::from(value), 1);
        while let Some(&(before, n)) = pools.last().filter(|(before, _)| *before > mean) {
            mean = (mean * count as f64 + before * n as f64) / (count + n) as f64;
            count += n;
            pools.pop();
        }
        pools.push((mean, count));
    }
    pools
        .into_iter()
        .flat_map(|(mean, count)| std::iter::repeat_n(mean as f32, count))
        .collect()
}

/// Where a rising course passes `level`, interpolated; the first or last time when it never does.
pub(crate) fn passes(times_s: &[f64], rising: &[f32], level: f32) -> f64 {
    match rising.partition_point(|&v| v < level) {
        0 => times_s[0],
        n if n == rising.len() => times_s[n - 1],
        n => between(times_s, rising, n - 1, level),
    }
}

/// A moment from the log; `time_uncertainty_s` is everything uncertain about the time.
///
/// What that means in temperature is told from the heating over all of that time: at one instant a
/// controller's cycling may hold the temperature still, or hurry it.
pub(crate) fn moment(log: &TemperatureLog, time_s: f64, time_uncertainty_s: f64) -> Option<Moment> {
    let point = log.at(time_s)?;
    let reach_s = time_uncertainty_s.max(LEAST_REACH_S);
    let (start_s, end_s) = log.span_s();
    let (from_s, to_s) = (
        (time_s - reach_s).max(start_s),
        (time_s + reach_s).min(end_s),
    );
    let rate_c_per_s = if from_s < to_s {
        log.rate_c_per_s_between(from_s, to_s)
    } else {
        None
    };
    let from_time_c = time_uncertainty_s * rate_c_per_s.unwrap_or(point.rate_c_per_s).abs();
    Some(Moment {
        time_s,
        temperature_c: point.temperature_c,
        standard_uncertainty_c: point.standard_uncertainty_c.hypot(from_time_c),
    })
}

/// Largest distance between neighbouring times around `time_s` [s].
pub(crate) fn spacing_around(times_s: &[f64], time_s: f64) -> f64 {
    let after = times_s.partition_point(|&t| t <= time_s);
    if after == 0 || after >= times_s.len() {
        return 0.0;
    }
    times_s[after] - times_s[after - 1]
}

/// Middle, and half the span, of three values.
pub(crate) fn middle_and_spread(mut values: Vec<f64>) -> Option<(f64, f64)> {
    values.sort_by(f64::total_cmp);
    let (first, last) = (values.first()?, values.last()?);
    Some((values[values.len() / 2], 0.5 * (last - first)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rising_course_pools_what_falls() {
        assert_eq!(rising(&[0.0, 2.0, 1.0, 3.0]), [0.0, 1.5, 1.5, 3.0]);
        let t = [0.0, 1.0, 2.0, 3.0];
        assert_eq!(passes(&t, &rising(&[0.0, 2.0, 1.0, 3.0]), 0.75), 0.5);
        assert_eq!(passes(&t, &[0.0; 4], 1.0), 3.0);
        assert_eq!(passes(&t, &[1.0; 4], 1.0), 0.0);
    }

    #[test]
    fn a_ripple_does_not_hide_what_time_costs() {
        // 0.3 °C/min with a controller's cycling that holds the temperature for moments.
        let samples = (0..600)
            .map(|i| {
                let time_s = f64::from(i);
                let ripple = 0.0215 * (std::f64::consts::TAU * time_s / 27.0).sin();
                meltrange_physics::LogSample {
                    time_s,
                    temperature_c: 100.0 + 0.005 * time_s + ripple,
                }
            })
            .collect();
        let log = TemperatureLog::new(samples).expect("times rise");
        for time_s in (200..227).map(f64::from) {
            let u = moment(&log, time_s, 54.0)
                .expect("within the log")
                .standard_uncertainty_c;
            assert!((u - 0.27).abs() < 0.03, "{u} at {time_s}");
        }
    }

    #[test]
    fn crossings_take_the_last_passage() {
        let t = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0];
        let v = [0.0, 0.3, 0.0, 0.0, 0.2, 0.4];
        assert!((last_rise(&t, &v, 0.1, 5).expect("rises") - 3.5).abs() < 1e-6);
        assert_eq!(last_rise(&t, &v, 0.5, 5), None);
        let down = [1.0, 0.4, 0.6, 0.2, 0.0, 0.0];
        assert!((last_fall(&t, &down, 0.1).expect("falls") - 3.5).abs() < 1e-6);
        assert_eq!(last_fall(&t, &v, 0.1), None);
        let long: Vec<f64> = (0..20).map(f64::from).collect();
        let mut passing = vec![0.0; 20];
        passing[..4].fill(1.0);
        passing[15] = 1.0;
        let fall = last_fall(&long, &passing, 0.5).expect("falls");
        assert!((fall - 3.5).abs() < 1e-6, "{fall}");
    }
}
