//! Wrong usage ends with 2 before anything is touched; help and version end with 0.

use crate::workshop::{ended, meltrange};

#[test]
fn wrong_usage_ends_with_2_and_prints_nothing() {
    let cases: [&[&str]; 9] = [
        &[],
        &["melt"],
        &["read"],
        &["read", "run.mp4"],
        &[
            "read",
            "run.mp4",
            "--temperature",
            "log.csv",
            "--tubes",
            "4",
        ],
        &[
            "read",
            "run.mp4",
            "--temperature",
            "log.csv",
            "--tubes",
            "0",
        ],
        &[
            "read",
            "run.mp4",
            "--temperature",
            "log.csv",
            "--video-start",
            "12,5",
        ],
        &[
            "read",
            "run.mp4",
            "--temperature",
            "log.csv",
            "--video-start",
            "nan",
        ],
        &["simulate", "scene.toml"],
    ];
    for arguments in cases {
        let found = ended(meltrange().args(arguments));
        assert_eq!(found.status, Some(2), "{arguments:?}: {}", found.stderr);
        assert_eq!(found.stdout, "", "{arguments:?}");
        assert!(!found.stderr.is_empty(), "{arguments:?} says nothing");
    }
}

#[test]
fn help_and_version_end_with_0() {
    for arguments in [&["--help"] as &[&str], &["--version"], &["read", "--help"]] {
        let found = ended(meltrange().args(arguments));
        assert_eq!(found.status, Some(0), "{arguments:?}");
        assert!(!found.stdout.is_empty(), "{arguments:?}");
    }
}

#[test]
fn help_of_read_gives_units_and_an_example() {
    let found = ended(meltrange().args(["read", "--help"]));
    for words in ["[s]", "time_s", "Example: meltrange read", "not corrected"] {
        assert!(found.stdout.contains(words), "{words}: {}", found.stdout);
    }
}
