//! What becomes of values on the temperature scale in force before 1990.

use meltrange_physics::Celsius;

/// Coefficients of t90 − t68 in powers 1..=8 of t90/630 °C [°C].
///
/// Polynomial published with the CRC Handbook's conversion table; −200 to 630 °C, 1 mK above 0 °C.
const DIFFERENCE_C: [f64; 8] = [
    -0.148_759, -0.267_408, 1.080_760, 1.269_056, -4.089_591, -1.871_251, 7.438_081, -3.536_296,
];

/// A shift below this part of the standard uncertainty changes nothing that is stated.
const NEGLIGIBLE_PART: f64 = 1.0 / 3.0;

/// Range of the polynomial [°C].
const RANGE_C: std::ops::RangeInclusive<f64> = -200.0..=630.0;

/// t90 − t68 [°C] at a temperature on the scale of 1990; `None` outside −200 to 630 °C.
pub fn t90_minus_t68_c(t90: Celsius) -> Option<f64> {
    let x = t90.0 / 630.0;
    RANGE_C
        .contains(&t90.0)
        .then(|| DIFFERENCE_C.iter().rev().fold(0.0, |sum, a| (sum + a) * x))
}

/// Whether converting an old value would show.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OldScale {
    /// t90 − t68 [°C].
    pub difference_c: f64,
    /// Whether that is below a third of the standard uncertainty.
    pub negligible: bool,
}

/// Judge a conversion from the scale of 1968 beside a standard uncertainty [°C].
///
/// Below 300 °C the scales differ by at most 0.041 °C, less than any capillary can tell.
pub fn old_scale(temperature: Celsius, standard_uncertainty_c: f64) -> Option<OldScale> {
    t90_minus_t68_c(temperature).map(|difference_c| OldScale {
        difference_c,
        negligible: difference_c.abs() < NEGLIGIBLE_PART * standard_uncertainty_c,
    })
}
