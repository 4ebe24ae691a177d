//! Any bytes are a temperature log or an error that names the file; a log answers everywhere.
#![no_main]

use libfuzzer_sys::fuzz_target;
use meltrange_media::parse_temperature_log;

fuzz_target!(|bytes: &[u8]| {
    match parse_temperature_log("t.csv", bytes) {
        Err(error) => assert!(error.to_string().contains("t.csv")),
        Ok(read) => {
            let samples = read.log.samples();
            assert!(samples.windows(2).all(|pair| pair[0].time_s < pair[1].time_s));
            for sample in samples {
                let point = read.log.at(sample.time_s).expect("a log answers at its samples");
                assert!(point.temperature_c.is_finite());
                assert!(point.standard_uncertainty_c.is_finite());
            }
            let (start_s, end_s) = read.log.span_s();
            let _ = read.log.at(0.5 * (start_s + end_s));
            let _ = read.log.rate_c_per_s_between(start_s, end_s);
            let _ = read.log.time_at_temperature(100.0);
            let _ = read.log.gap_around(0.5 * (start_s + end_s));
            for remark in &read.remarks {
                assert!(!remark.to_string().is_empty());
            }
        }
    }
});
