//! An outlier screen against a wrong value in a public compilation.
//!
//! Triple points as carried by the PyPI package chemicals 1.5.2 (NIST WebBook), mark C. The same column
//! has fluorene at 90.94 °C; it melts at 114.8 °C.

use meltrange_metrology::{
    CalibrationOptions, CalibrationRemark, Certificate, Convention, StandardPoint, calibrate,
};
use meltrange_physics::Celsius;

#[test]
fn fluorene_is_suspected_and_nothing_else() {
    // A thermometer that reads 0.4 °C low and 0.5 % short, rounded to tenths as at a bench.
    let shows = |truth: f64| ((truth - 0.4 - 0.005 * (truth - 100.0)) * 10.0).round() / 10.0;
    let table = [
        ("naphthalene", 80.24, 80.24),
        ("benzil", 94.86, 94.86),
        ("acetanilide", 114.37, 114.37),
        ("fluorene", 90.94, 114.8),
        ("benzoic acid", 122.37, 122.37),
        ("urea", 134.39, 134.39),
        ("adipic acid", 151.55, 151.55),
        ("hydroquinone", 172.83, 172.83),
    ];
    let points: Vec<StandardPoint> = table
        .into_iter()
        .map(|(substance, listed, truth)| StandardPoint {
            substance: substance.to_owned(),
            reference: Celsius(listed),
            indicated: Celsius(shows(truth)),
            reference_u_c: None,
            indicated_u_c: None,
            convention: Convention::Thermodynamic,
            certificate: Certificate::NotStated,
        })
        .collect();
    let options = CalibrationOptions {
        degree: Some(1),
        origin: None,
    };
    let fit = calibrate(&points, options).expect("eight points");
    let suspects: Vec<&str> = fit
        .points
        .iter()
        .filter(|point| point.suspect)
        .map(|point| point.substance.as_str())
        .collect();
    assert_eq!(suspects, ["fluorene"]);
    assert!(
        fit.remarks
            .iter()
            .any(|remark| matches!(remark, CalibrationRemark::Suspect { .. }))
    );
    let sound: Vec<StandardPoint> = points
        .into_iter()
        .filter(|point| point.substance != "fluorene")
        .collect();
    let fit = calibrate(&sound, options).expect("seven points");
    assert!(fit.points.iter().all(|point| !point.suspect));
    assert!((fit.curve.at(Celsius(122.0)).correction_c - 0.51).abs() < 0.05);
}
