//! Which crate may use which: the layers of docs/architecture.md, checked against the manifests.

use cargo_metadata::{DependencyKind, MetadataCommand};
use std::collections::{BTreeMap, BTreeSet};

/// Crates without files, network or clock.
const PURE: [&str; 8] = [
    "identity",
    "physics",
    "reading",
    "display",
    "scene",
    "planning",
    "metrology",
    "teaching",
];

/// Each crate and what it may use. A crate that is not listed is a finding.
fn allowed() -> BTreeMap<&'static str, Vec<&'static str>> {
    BTreeMap::from([
        ("physics", vec![]),
        ("reading", vec!["physics"]),
        ("display", vec![]),
        ("scene", vec!["physics"]),
        ("metrology", vec!["physics"]),
        ("planning", vec!["physics"]),
        ("identity", vec!["physics", "planning"]),
        (
            "teaching",
            vec!["physics", "metrology", "identity", "scene"],
        ),
        ("media", vec!["physics", "reading"]),
        (
            "bench",
            vec![
                "physics", "planning", "reading", "scene", "media", "display",
            ],
        ),
        ("report", vec!["physics", "reading"]),
        ("accounts", vec![]),
        (
            "labbook",
            vec![
                "physics",
                "planning",
                "reading",
                "metrology",
                "media",
                "teaching",
            ],
        ),
        (
            "archive",
            vec![
                "physics",
                "reading",
                "metrology",
                "planning",
                "media",
                "labbook",
                "report",
            ],
        ),
        (
            "server",
            vec![
                "physics",
                "planning",
                "reading",
                "metrology",
                "identity",
                "media",
                "bench",
                "labbook",
                "report",
                "archive",
                "accounts",
                "scene",
                "teaching",
            ],
        ),
        (
            "cli",
            vec![
                "physics",
                "display",
                "reading",
                "scene",
                "metrology",
                "planning",
                "identity",
                "media",
                "bench",
                "report",
                "labbook",
                "archive",
                "accounts",
                "server",
            ],
        ),
    ])
}

/// Packages of other people that reach for files, network, devices or terminals.
const NOT_IN_PURE: [&str; 9] = [
    "tempfile",
    "clap",
    "indicatif",
    "tokio",
    "sqlx",
    "assert_cmd",
    "csv",
    "image",
    "miette",
];

/// Edges of the workspace, short names, tests' own dependencies left out.
fn edges() -> BTreeMap<String, BTreeSet<String>> {
    let metadata = MetadataCommand::new()
        .manifest_path(concat!(env!("CARGO_MANIFEST_DIR"), "/../Cargo.toml"))
        .no_deps()
        .other_options(["--offline".to_owned()])
        .exec()
        .expect("cargo metadata works where cargo test does");
    metadata
        .workspace_packages()
        .iter()
        .map(|package| {
            let uses = package
                .dependencies
                .iter()
                .filter(|dependency| dependency.kind != DependencyKind::Development)
                .map(|dependency| dependency.name.clone())
                .collect();
            (package.name.to_string(), uses)
        })
        .collect()
}

fn short(name: &str) -> Option<&str> {
    name.strip_prefix("meltrange-")
}

#[test]
fn crates_use_only_what_lies_below_them() {
    let allowed = allowed();
    let mut findings = Vec::new();
    for (package, uses) in edges() {
        let name = short(&package).expect("packages are named meltrange-*");
        if matches!(name, "tests" | "benches") {
            continue;
        }
        let Some(may_use) = allowed.get(name) else {
            findings.push(format!("{name} has no line in the table"));
            continue;
        };
        for used in uses.iter().filter_map(|used| short(used)) {
            if !may_use.contains(&used) {
                findings.push(format!("{name} uses {used}"));
            }
        }
    }
    assert!(findings.is_empty(), "{}", findings.join("\n"));
}

#[test]
fn pure_crates_use_no_package_with_input_or_output() {
    let edges = edges();
    let mut looked_at = 0;
    for name in PURE {
        let Some(uses) = edges.get(&format!("meltrange-{name}")) else {
            continue;
        };
        looked_at += 1;
        for banned in NOT_IN_PURE {
            assert!(!uses.contains(banned), "{name} uses {banned}");
        }
    }
    assert!(looked_at >= 3, "only {looked_at} pure crates were found");
}

#[test]
fn nothing_depends_on_the_tests_or_the_benches() {
    for (package, uses) in edges() {
        for top in ["meltrange-tests", "meltrange-benches", "meltrange-cli"] {
            assert!(!uses.contains(top), "{package} uses {top}");
        }
    }
}
