//! Any bytes are a list of pictures or an error that names the file.
#![no_main]

use libfuzzer_sys::fuzz_target;
use meltrange_media::parse_frame_list;

fuzz_target!(|bytes: &[u8]| {
    match parse_frame_list("frames.csv", bytes) {
        Err(error) => assert!(error.to_string().contains("frames.csv")),
        Ok(entries) => {
            assert!(!entries.is_empty());
            assert!(entries.iter().all(|entry| entry.time_s.is_finite()));
            assert!(entries.iter().all(|entry| !entry.file.is_empty()));
        }
    }
});
