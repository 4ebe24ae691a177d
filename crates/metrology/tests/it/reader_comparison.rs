//! Readers compared, against worked examples and tables that others published.
//!
//! Marks as in tests/published: V2 quoted by a third party; C recomputed independently (numpy and scipy, by the
//! analysis of variance and the beta distribution where the crate uses the formulas of ISO 5725-2 and F and t);
//! M from memory, never the only ground of a failure.

use meltrange_metrology::*;

/// Rows of numbers of a table with comments and a head; an empty field is `None`.
fn table(text: &str) -> Vec<Vec<Option<f64>>> {
    text.lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(|line| line.split(',').map(|field| field.parse().ok()).collect())
        .collect()
}

fn numbers(text: &str) -> Vec<Vec<f64>> {
    table(text)
        .into_iter()
        .map(|row| {
            row.into_iter()
                .map(|field| field.expect("a number"))
                .collect()
        })
        .collect()
}

fn names(kind: &str, count: usize) -> Vec<String> {
    (1..=count)
        .map(|number| format!("{kind} {number}"))
        .collect()
}

fn sulphur() -> ReaderStudy {
    let mut study =
        ReaderStudy::new(names("laboratory", 8), names("level", 4)).expect("names differ");
    for row in numbers(include_str!(
        "../../../../tests/published/data/iso5725_sulphur_in_coal.csv"
    )) {
        study
            .add(row[0] as usize - 1, row[1] as usize - 1, row[2])
            .expect("in the study");
    }
    study
}

fn close(found: f64, expected: f64, tolerance: f64, what: &str) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{what}: {found}, expected {expected}"
    );
}

/// Unequal numbers per cell. General mean, s_r, s_L and s_R: mark C. The standard prints, from memory (M), m 0.690,
/// 1.252, 1.667, 3.250; s_r 0.015, 0.029, 0.017, 0.026; s_R 0.026, 0.061, 0.035, 0.058, which these round to.
#[test]
fn precision_of_sulphur_in_coal() {
    let expected = [
        [0.6903703704, 0.0151165066, 0.0215995546, 0.0263637921],
        [1.2523076923, 0.0287791720, 0.0533368496, 0.0606057775],
        [1.6674074074, 0.0170782513, 0.0302838829, 0.0347675169],
        [3.2496296296, 0.0260768096, 0.0520500851, 0.0582169336],
    ];
    let found = compare_readers(&sulphur()).expect("a sound study");
    let counts: Vec<usize> = found.by_level.iter().map(|level| level.n).collect();
    assert_eq!(counts, [27, 26, 27, 27]);
    for (level, expected) in found.by_level.iter().zip(expected) {
        let sd = |sd: Option<f64>| sd.expect("repeated by all");
        assert_eq!(level.readers, 8);
        close(level.mean_c, expected[0], 1e-9, &level.level);
        close(sd(level.repeatability_sd_c), expected[1], 1e-9, "s_r");
        close(sd(level.between_readers_sd_c), expected[2], 1e-9, "s_L");
        close(sd(level.reproducibility_sd_c), expected[3], 1e-9, "s_R");
    }
}

/// Mandel's h and k of two levels: mark C.
#[test]
fn h_and_k_of_sulphur_in_coal() {
    let h = [
        [
            0.708918, -0.429183, -0.980989, -1.256892, -0.015328, 1.778043, 0.536478, -0.567134,
        ],
        [
            -0.171742, -0.885131, 2.146772, -0.825682, -0.599775, 0.719994, -0.052844, 0.125504,
        ],
    ];
    let k = [
        [
            0.332564, 0.665129, 1.384576, 0.665129, 1.244342, 0.384012, 0.768025, 1.673871,
        ],
        [
            1.175708, 0.0, 0.415676, 1.573722, 1.571891, 0.831351, 0.865298, 0.23999,
        ],
    ];
    let found = compare_readers(&sulphur()).expect("a sound study");
    for (place, level) in [(0, 0), (1, 3)] {
        for reader in 0..8 {
            close(
                found.h[reader][level].expect("h"),
                h[place][reader],
                1e-6,
                "h",
            );
            close(
                found.k[reader][level].expect("k"),
                k[place][reader],
                1e-6,
                "k",
            );
        }
    }
    // Eight laboratories with about three values: C.
    close(
        found.h_critical[0].five_percent.expect("h"),
        1.7490784,
        1e-6,
        "h at 5 %",
    );
    close(
        found.h_critical[0].one_percent.expect("h"),
        2.0648902,
        1e-6,
        "h at 1 %",
    );
    close(
        found.k_critical[0].five_percent.expect("k"),
        1.668925,
        1e-6,
        "k at 5 %",
    );
    close(
        found.k_critical[0].one_percent.expect("k"),
        1.963777,
        1e-6,
        "k at 1 %",
    );
}

/// Who stands out, with statistics and critical values: mark C.
#[test]
fn who_stands_out_in_sulphur_in_coal() {
    let found = compare_readers(&sulphur()).expect("a sound study").outliers;
    let told: Vec<(StudyTest, &str, Vec<&str>, StudyVerdict)> = found
        .iter()
        .map(|one| {
            let readers = one.readers.iter().map(String::as_str).collect();
            (one.test, one.level.as_str(), readers, one.verdict)
        })
        .collect();
    assert_eq!(
        told,
        [
            (
                StudyTest::GrubbsTwo,
                "level 2",
                vec!["laboratory 3", "laboratory 6"],
                StudyVerdict::Straggler
            ),
            (
                StudyTest::Cochran,
                "level 3",
                vec!["laboratory 5"],
                StudyVerdict::Straggler
            ),
        ]
    );
    close(found[0].statistic, 0.1072892, 1e-7, "two largest");
    close(found[1].statistic, 0.5797101, 1e-7, "Cochran's C");
    close(found[1].five_percent, 0.5156875, 1e-7, "C at 5 %");
    close(found[1].one_percent, 0.6151665, 1e-7, "C at 1 %");
}

/// Both tables of Grubbs and Beck, 3 to 30 values: mark V2. Five of the last digits of the table for two differ by one
/// from what is integrated, and so may these.
#[test]
fn critical_values_of_grubbs() {
    let rows = table(include_str!(
        "../../../../tests/published/data/grubbs_critical.csv"
    ));
    assert_eq!(rows.len(), 28);
    for row in rows {
        let n = row[0].expect("a number of values") as usize;
        for (column, significance) in [(1, 0.05), (2, 0.01)] {
            let found = grubbs_one_critical(n, significance).expect("three or more");
            close(
                found,
                row[column].expect("listed"),
                1.5e-3,
                &format!("one of {n}"),
            );
        }
        let two = grubbs_two_critical(n);
        for (column, found) in [(3, two.five_percent), (4, two.one_percent)] {
            match (found, row[column]) {
                (Some(found), Some(listed)) => close(found, listed, 1.5e-4, &format!("two of {n}")),
                (found, listed) => assert_eq!(found, listed, "two of {n}"),
            }
        }
    }
    assert_eq!(grubbs_two_critical(41).five_percent, None);
}

/// Table of Eisenhart, Hastay and Wallis at 5 %: mark V2. It was worked out by hand; its last digits are off by up to three.
#[test]
fn critical_values_of_cochran() {
    let rows = numbers(include_str!(
        "../../../../tests/published/data/cochran_critical.csv"
    ));
    assert_eq!(rows.len(), 9);
    for row in rows {
        let p = row[0] as usize;
        for (freedom, &listed) in (1..).zip(&row[1..]) {
            let found = cochran_critical(p, freedom + 1, 0.05).expect("two or more");
            close(found, listed, 3e-4, &format!("{p} variances of {freedom}"));
        }
    }
    // C: 8 readers, 3 values, 1 %.
    close(
        cochran_critical(8, 3, 0.01).expect("C"),
        0.6151665,
        1e-6,
        "C at 1 %",
    );
}

/// Quantiles of the beta distribution: mark C. ISO 5725-2 prints two decimals of the same, from memory (M).
#[test]
fn critical_values_of_mandel() {
    let h = [
        (3, 1.1511410, 1.1545581),
        (5, 1.5712214, 1.7150373),
        (16, 1.8649089, 2.3347152),
        (30, 1.9114057, 2.4508535),
    ];
    for (p, five, one) in h {
        close(
            mandel_h_critical(p, 0.05).expect("h"),
            five,
            1e-6,
            "h at 5 %",
        );
        close(
            mandel_h_critical(p, 0.01).expect("h"),
            one,
            1e-6,
            "h at 1 %",
        );
    }
    let k = [
        (3, [1.645448, 1.526165, 1.453286, 1.404359]),
        (8, [1.884817, 1.668925, 1.562143, 1.495048]),
        (30, [1.944666, 1.715908, 1.601044, 1.528705]),
    ];
    for (p, values) in k {
        for (n, expected) in (2..).zip(values) {
            close(
                mandel_k_critical(p, n, 0.05).expect("k"),
                expected,
                2e-6,
                "k at 5 %",
            );
        }
    }
    assert_eq!(mandel_h_critical(2, 0.05), None);
    assert_eq!(mandel_k_critical(1, 3, 0.05), None);
    assert_eq!(mandel_k_critical(4, 1, 0.05), None);
    assert_eq!(mandel_k_critical(4, 3, 0.0), None);
}

/// Bland and Altman 1986. Printed (V2, quoted by several): mean difference −2.1, s 38.8, d̄ ± 2 s −79.7 to 75.5, 95 %
/// interval of the bias −22.0 to 17.8; with more digits in a public test: −2.11764705882, 38.7651298736, −78.0959054849
/// and 73.8606113673, interval −22.0488376966 to 17.8135435790.
#[test]
fn limits_of_agreement_of_two_flow_meters() {
    let pairs: Vec<(f64, f64)> = numbers(include_str!(
        "../../../../tests/published/data/peak_flow.csv"
    ))
    .iter()
    .map(|row| (row[0], row[2]))
    .collect();
    let found = limits_of_agreement(&pairs).expect("17 pairs");
    assert_eq!(found.n, 17);
    close(found.bias_c, -2.11764705882, 1e-10, "bias");
    close(found.standard_deviation_c, 38.7651298736, 1e-9, "s");
    // The public test has 1.959964 for 1.96, which moves its limits by 0.0014.
    close(found.lower_c, -78.0959054849, 1.5e-3, "lower");
    close(found.upper_c, 73.8606113673, 1.5e-3, "upper");
    close(
        found.bias_95_c[0],
        -22.0488376966,
        1e-7,
        "interval of the bias",
    );
    close(
        found.bias_95_c[1],
        17.8135435790,
        1e-7,
        "interval of the bias",
    );
    // The article doubles s, and rounds it first.
    close(
        found.bias_c - 2.0 * found.standard_deviation_c,
        -79.7,
        0.06,
        "as printed",
    );
    close(
        found.bias_c + 2.0 * found.standard_deviation_c,
        75.5,
        0.1,
        "as printed",
    );
    // C, with the standard error of 1999. The article of 1986 has √(3/n) s instead, 0.7 % less: -114.3 to -45.1 and
    // 40.9 to 110.1 about its limits at 2 s.
    close(
        found.lower_95_c[0],
        -112.8533779,
        1e-6,
        "interval of the lower limit",
    );
    close(
        found.lower_95_c[1],
        -43.3412253,
        1e-6,
        "interval of the lower limit",
    );
    close(
        found.upper_95_c[0],
        39.1059312,
        1e-6,
        "interval of the upper limit",
    );
    close(
        found.upper_95_c[1],
        108.6180838,
        1e-6,
        "interval of the upper limit",
    );
    close(found.points[0].mean_c, 503.0, 0.0, "mean of the first");
    close(
        found.points[0].difference_c,
        -18.0,
        0.0,
        "difference of the first",
    );
}

#[test]
fn what_cannot_be_compared_is_said() {
    let one = ReaderStudy::new(names("reader", 1), names("level", 1)).expect("names");
    assert_eq!(
        compare_readers(&one),
        Err(ComparisonError::TooFewReaders { found: 1 })
    );
    let mut study = ReaderStudy::new(names("reader", 2), names("level", 2)).expect("names");
    assert!(matches!(
        study.add(0, 0, f64::NAN),
        Err(ComparisonError::NotFinite { .. })
    ));
    assert!(matches!(
        study.add(2, 0, 1.0),
        Err(ComparisonError::NotThere { what: "reader", .. })
    ));
    study.add(0, 0, 1.0).expect("in the study");
    assert!(matches!(
        compare_readers(&study),
        Err(ComparisonError::NothingRead { .. })
    ));
    study.add(1, 0, 2.0).expect("in the study");
    assert!(matches!(
        compare_readers(&study),
        Err(ComparisonError::NobodyRead { .. })
    ));
    let twice = vec!["A".to_owned(), "A".to_owned()];
    assert!(ReaderStudy::new(twice, names("level", 1)).is_err());
    assert_eq!(
        limits_of_agreement(&[(1.0, 1.0)]),
        Err(AgreementError::TooFew { found: 1 })
    );
    assert!(matches!(
        limits_of_agreement(&[(1.0, 1.0), (f64::INFINITY, 1.0)]),
        Err(AgreementError::NotFinite { pair: 2, .. })
    ));
}

/// One value each, or all alike: numbers that cannot be had are not there, and nobody stands out.
#[test]
fn small_studies_say_what_they_can() {
    let mut study = ReaderStudy::new(names("reader", 3), names("level", 1)).expect("names");
    for (reader, value) in [0.1, 0.4, -0.2].into_iter().enumerate() {
        study.add(reader, 0, value).expect("in the study");
    }
    let found = compare_readers(&study).expect("three readers");
    close(found.by_level[0].mean_c, 0.1, 1e-12, "mean");
    assert_eq!(found.by_level[0].repeatability_sd_c, None);
    assert_eq!(found.by_level[0].between_readers_sd_c, None);
    assert_eq!(found.by_level[0].reproducibility_sd_c, None);
    close(found.h[1][0].expect("h"), 1.0, 1e-12, "h");
    assert_eq!(found.k[0][0], None);
    assert_eq!(found.readers[0].spread_c, None);
    assert!(found.outliers.is_empty());

    let mut alike = ReaderStudy::new(names("reader", 5), names("level", 1)).expect("names");
    for reader in 0..5 {
        for _ in 0..3 {
            alike.add(reader, 0, 0.1).expect("in the study");
        }
    }
    let found = compare_readers(&alike).expect("five readers");
    assert_eq!(found.by_level[0].reproducibility_sd_c, Some(0.0));
    assert!(found.h.concat().iter().all(Option::is_none));
    assert!(found.k.concat().iter().all(Option::is_none));
    assert!(found.outliers.is_empty(), "{:?}", found.outliers);
}

/// A reader far off is an outlier; taken out, the other end is looked at without it, and pairs are not.
#[test]
fn one_far_off_at_each_end() {
    let means = [0.0, 0.01, -0.01, 0.02, -0.02, 0.0, 5.0, -1.0];
    let mut study = ReaderStudy::new(names("reader", 8), names("level", 1)).expect("names");
    for (reader, value) in means.into_iter().enumerate() {
        study.add(reader, 0, value).expect("in the study");
    }
    let found = compare_readers(&study).expect("eight readers").outliers;
    let told: Vec<(&str, StudyVerdict)> = found
        .iter()
        .map(|one| (one.readers[0].as_str(), one.verdict))
        .collect();
    assert_eq!(
        told,
        [
            ("reader 7", StudyVerdict::Outlier),
            ("reader 8", StudyVerdict::Outlier)
        ]
    );
    assert!(found.iter().all(|one| one.test == StudyTest::GrubbsOne));
}
