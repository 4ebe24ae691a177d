//! Properties of the parsers; `fuzz/` drives the same entry points.

use meltrange_media::{parse_frame_list, parse_temperature_log};
use proptest::prelude::*;

/// Text made of the pieces that matter to the parsers.
fn table_like() -> impl Strategy<Value = Vec<u8>> {
    let piece = prop_oneof![
        Just("time_s".to_owned()),
        Just("temperature_c".to_owned()),
        Just("file".to_owned()),
        Just(",".to_owned()),
        Just("\n".to_owned()),
        Just("\r\n".to_owned()),
        Just("\"".to_owned()),
        Just("#".to_owned()),
        Just(";".to_owned()),
        Just("nan".to_owned()),
        Just("\u{feff}".to_owned()),
        any::<f64>().prop_map(|value| value.to_string()),
        (-300.0_f64..1200.0).prop_map(|value| format!("{value:.1}")),
        "\\PC{0,4}",
    ];
    prop::collection::vec(piece, 0..60).prop_map(|pieces| pieces.concat().into_bytes())
}

proptest! {
    #[test]
    fn any_bytes_are_a_log_or_an_error(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        if let Err(error) = parse_temperature_log("t.csv", &bytes) {
            prop_assert!(error.to_string().contains("t.csv"));
        }
        if let Err(error) = parse_frame_list("f.csv", &bytes) {
            prop_assert!(error.to_string().contains("f.csv"));
        }
    }

    #[test]
    fn any_table_is_a_log_or_an_error(body in table_like(), headed in any::<bool>()) {
        let mut text = if headed { b"time_s,temperature_c\n".to_vec() } else { Vec::new() };
        text.extend(&body);
        match parse_temperature_log("t.csv", &text) {
            Ok(read) => {
                let samples = read.log.samples();
                prop_assert!(samples.windows(2).all(|pair| pair[0].time_s < pair[1].time_s));
                let point = read.log.at(samples[0].time_s);
                prop_assert!(point.is_some_and(|point| point.temperature_c.is_finite()));
            }
            Err(error) => prop_assert!(error.to_string().contains("t.csv")),
        }
        let mut list = b"file,time_s\n".to_vec();
        list.extend(&body);
        if let Ok(entries) = parse_frame_list("f.csv", &list) {
            prop_assert!(entries.iter().all(|entry| entry.time_s.is_finite() && !entry.file.is_empty()));
        }
    }

    /// Rows in any order make the same log.
    #[test]
    fn order_of_rows_does_not_matter(
        temperatures in prop::collection::vec(20.0_f64..200.0, 2..40),
        keys in prop::collection::vec(any::<u32>(), 40),
    ) {
        let mut rows: Vec<String> = temperatures
            .iter()
            .enumerate()
            .map(|(at, temperature_c)| format!("{at},{temperature_c:.1}\n"))
            .collect();
        let text = |rows: &[String]| format!("time_s,temperature_c\n{}", rows.concat());
        let sorted = parse_temperature_log("t.csv", text(&rows).as_bytes()).expect("in order");
        let mut order: Vec<usize> = (0..rows.len()).collect();
        order.sort_by_key(|&at| keys[at]);
        rows = order.iter().map(|&at| rows[at].clone()).collect();
        // Long rising stretches that overlap are taken for two logs; a true shuffle has none.
        if let Ok(shuffled) = parse_temperature_log("t.csv", text(&rows).as_bytes()) {
            prop_assert_eq!(shuffled.log, sorted.log);
        }
    }
}
