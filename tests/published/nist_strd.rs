//! NIST Statistical Reference Datasets, linear regression: certified values (mark V, all reproduced
//! independently in exact arithmetic, C).
//!
//! How many digits may be asked: 9 on Norris and NoInt, 8 on Pontius, 7 on Longley. Certified values
//! have 15; double precision and conditioning leave fewer.

use crate::digits::assert_digits;
use crate::rows;
use meltrange_metrology::{LeastSquares, fit_polynomial, least_squares};
use serde::Deserialize;

#[derive(Deserialize)]
struct Pair {
    y: f64,
    x: f64,
}

fn pairs(table: &str) -> (Vec<f64>, Vec<f64>) {
    let pairs: Vec<Pair> = rows(table).expect("the table is sound");
    pairs.into_iter().map(|pair| (pair.x, pair.y)).unzip()
}

struct Certified<'a> {
    estimates: &'a [f64],
    standard_deviations: &'a [f64],
    residual_sd: f64,
    digits: u32,
}

fn check(estimates: &[f64], cofactors: &[Vec<f64>], fit: &LeastSquares, certified: &Certified<'_>) {
    let variance = fit.residual_variance().expect("observations to spare");
    assert_eq!(estimates.len(), certified.estimates.len());
    for (index, &found) in estimates.iter().enumerate() {
        assert_digits(found, certified.estimates[index], certified.digits);
        let u = (cofactors[index][index] * variance).sqrt();
        assert_digits(u, certified.standard_deviations[index], certified.digits);
    }
    assert_digits(variance.sqrt(), certified.residual_sd, certified.digits);
}

/// 1 − Σr²/Σ(y − ȳ)².
fn r_squared(fit: &LeastSquares, y: &[f64]) -> f64 {
    let mean = y.iter().sum::<f64>() / y.len() as f64;
    let total: f64 = y.iter().map(|y| (y - mean).powi(2)).sum();
    1.0 - fit.weighted_sum_of_squares / total
}

#[test]
fn norris_a_line() {
    let (x, y) = pairs(include_str!("data/strd_norris.csv"));
    assert_eq!(x.len(), 36);
    let fit = fit_polynomial(&x, &y, None, 1, 0.0).expect("a sound set");
    let certified = Certified {
        estimates: &[-0.262323073774029, 1.00211681802045],
        standard_deviations: &[0.232818234301152, 0.429796848199937e-3],
        residual_sd: 0.884796396144373,
        digits: 9,
    };
    check(
        &fit.coefficients,
        &fit.cofactors,
        &fit.about_centre,
        &certified,
    );
    let variance = fit.about_centre.residual_variance().expect("34 to spare");
    assert_digits(
        fit.about_centre.weighted_sum_of_squares,
        26.6173985294224,
        9,
    );
    // Computed in exact arithmetic (C), nine digits given.
    assert_digits(fit.cofactors[0][1] * variance, -7.743_275_36e-5, 8);
    assert_digits(r_squared(&fit.about_centre, &y), 0.999993745883712, 9);
}

/// Fails with normal equations in double precision, which is why it is here.
#[test]
fn pontius_a_parabola() {
    let (x, y) = pairs(include_str!("data/strd_pontius.csv"));
    assert_eq!(x.len(), 40);
    let fit = fit_polynomial(&x, &y, None, 2, 0.0).expect("a sound set");
    let certified = Certified {
        estimates: &[
            0.673565789473684e-3,
            0.732059160401003e-6,
            -0.316081871345029e-14,
        ],
        standard_deviations: &[
            0.107938612033077e-3,
            0.157817399981659e-9,
            0.486652849992036e-16,
        ],
        residual_sd: 0.205177424076185e-3,
        digits: 8,
    };
    check(
        &fit.coefficients,
        &fit.cofactors,
        &fit.about_centre,
        &certified,
    );
    assert_digits(
        fit.about_centre.weighted_sum_of_squares,
        1.55761768796992e-6,
        8,
    );
    assert_digits(r_squared(&fit.about_centre, &y), 0.999999900178537, 9);
}

#[test]
fn no_intercept_1_and_2() {
    let sets: [(Vec<f64>, Vec<f64>, [f64; 3]); 2] = [
        (
            (60..=70).map(f64::from).collect(),
            (130..=140).map(f64::from).collect(),
            [2.07438016528926, 0.165289256198347e-1, 3.56753034006338],
        ),
        (
            vec![4.0, 5.0, 6.0],
            vec![3.0, 4.0, 4.0],
            [0.727272727272727, 0.420827318078432e-1, 0.369274472937998],
        ),
    ];
    for (x, y, [estimate, standard_deviation, residual_sd]) in sets {
        let rows: Vec<Vec<f64>> = x.iter().map(|x| vec![*x]).collect();
        let fit = least_squares(&rows, &y, None).expect("a sound set");
        let certified = Certified {
            estimates: &[estimate],
            standard_deviations: &[standard_deviation],
            residual_sd,
            digits: 9,
        };
        check(&fit.estimates, &fit.cofactors, &fit, &certified);
    }
}

#[derive(Deserialize)]
struct Longley {
    y: f64,
    x1: f64,
    x2: f64,
    x3: f64,
    x4: f64,
    x5: f64,
    x6: f64,
}

#[test]
fn longley_six_regressors_that_almost_depend_on_each_other() {
    let table: Vec<Longley> = rows(include_str!("data/strd_longley.csv")).expect("a sound table");
    assert_eq!(table.len(), 16);
    let regressors: Vec<Vec<f64>> = table
        .iter()
        .map(|row| vec![1.0, row.x1, row.x2, row.x3, row.x4, row.x5, row.x6])
        .collect();
    let y: Vec<f64> = table.iter().map(|row| row.y).collect();
    let fit = least_squares(&regressors, &y, None).expect("a sound set");
    let certified = Certified {
        estimates: &[
            -3482258.63459582,
            15.0618722713733,
            -0.358191792925910e-1,
            -2.02022980381683,
            -1.03322686717359,
            -0.511041056535807e-1,
            1829.15146461355,
        ],
        standard_deviations: &[
            890420.383607373,
            84.9149257747669,
            0.334910077722432e-1,
            0.488399681651699,
            0.214274163161675,
            0.226073200069370,
            455.478499142212,
        ],
        residual_sd: 304.854073561965,
        digits: 7,
    };
    check(&fit.estimates, &fit.cofactors, &fit, &certified);
    assert_digits(fit.weighted_sum_of_squares, 836424.055505915, 7);
    assert_digits(r_squared(&fit, &y), 0.995479004577296, 7);
}
