//! Agreement in digits.

/// Demand that `found` agrees with `certified` in at least `least` significant digits, counted as
/// −log10(|found − certified| / |certified|); says how many were reached.
#[expect(clippy::print_stdout, reason = "the digits reached are worth reading")]
pub(crate) fn assert_digits(found: f64, certified: f64, least: u32) {
    let digits = digits(found, certified);
    println!("{digits:.1} digits of {certified:e}, {least} asked for");
    assert!(
        digits >= f64::from(least),
        "{found:e} agrees with {certified:e} in {digits:.1} digits, {least} were asked for"
    );
}

/// Agreeing significant digits; 16 when nothing differs.
pub(crate) fn digits(found: f64, certified: f64) -> f64 {
    if found == certified {
        return 16.0;
    }
    -((found - certified).abs() / certified.abs()).log10()
}

#[test]
fn digits_are_counted() {
    assert!((digits(1.001, 1.0) - 3.0).abs() < 1e-9);
    assert!((digits(2.0, 1.0)).abs() < 1e-9);
    assert!(std::panic::catch_unwind(|| assert_digits(1.001, 1.0, 4)).is_err());
    assert!(std::panic::catch_unwind(|| assert_digits(f64::NAN, 1.0, 1)).is_err());
}
