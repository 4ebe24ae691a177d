//! Licences of every package that the workspace can pull in, against a list of those accepted.

use cargo_metadata::{Metadata, MetadataCommand};

/// SPDX identifiers that go together with MIT OR Apache-2.0.
const ACCEPTED: [&str; 16] = [
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    // Of data: root certificates.
    "CDLA-Permissive-2.0",
    "IJG",
    "ISC",
    "MIT",
    "MIT-0",
    // Asks for the source of its own files alone (serialport, as it is).
    "MPL-2.0",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

fn metadata() -> Metadata {
    MetadataCommand::new()
        .manifest_path(concat!(env!("CARGO_MANIFEST_DIR"), "/../Cargo.toml"))
        .other_options(["--locked".to_owned()])
        .exec()
        .expect("cargo metadata works where cargo test does")
}

/// Whether an SPDX expression can be met with accepted licences alone: AND asks for both sides,
/// OR (and the older `/`) for one, AND binds tighter, brackets as usual.
fn acceptable(expression: &str) -> Result<bool, String> {
    let spaced = expression
        .replace('(', " ( ")
        .replace(')', " ) ")
        .replace('/', " OR ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut rest = words.as_slice();
    let answer = either(&mut rest)?;
    if rest.is_empty() {
        Ok(answer)
    } else {
        Err(format!("\"{}\" is left over", rest.join(" ")))
    }
}

fn either(rest: &mut &[&str]) -> Result<bool, String> {
    let mut answer = both(rest)?;
    while let [word, after @ ..] = *rest
        && *word == "OR"
    {
        *rest = after;
        answer |= both(rest)?;
    }
    Ok(answer)
}

fn both(rest: &mut &[&str]) -> Result<bool, String> {
    let mut answer = one(rest)?;
    while let [word, after @ ..] = *rest
        && *word == "AND"
    {
        *rest = after;
        answer &= one(rest)?;
    }
    Ok(answer)
}

fn one(rest: &mut &[&str]) -> Result<bool, String> {
    match *rest {
        ["(", after @ ..] => {
            *rest = after;
            let answer = either(rest)?;
            let [")", after @ ..] = *rest else {
                return Err("a bracket stays open".to_owned());
            };
            *rest = after;
            Ok(answer)
        }
        [licence, "WITH", exception, after @ ..] => {
            *rest = after;
            Ok(listed(&format!("{licence} WITH {exception}")))
        }
        [licence, after @ ..] if !matches!(*licence, ")" | "AND" | "OR") => {
            *rest = after;
            Ok(listed(licence))
        }
        _ => Err("a licence is missing".to_owned()),
    }
}

fn listed(licence: &str) -> bool {
    ACCEPTED.contains(&licence)
}

#[test]
fn every_package_has_an_accepted_licence() {
    let metadata = metadata();
    let findings: Vec<String> = metadata
        .packages
        .iter()
        .filter_map(|package| {
            let found = package.license.as_deref().unwrap_or("no licence stated");
            match acceptable(found) {
                Ok(true) => None,
                Ok(false) => Some(format!("{} {}: {found}", package.name, package.version)),
                Err(reason) => Some(format!("{}: {found}: {reason}", package.name)),
            }
        })
        .collect();
    assert!(findings.is_empty(), "{}", findings.join("\n"));
    // The workspace alone has half a dozen packages: fewer than fifty means nothing was looked at.
    assert!(metadata.packages.len() > 50, "{}", metadata.packages.len());
}

#[test]
fn packages_come_from_a_registry_or_from_here() {
    for package in metadata().packages {
        if let Some(source) = &package.source {
            assert!(
                source.is_crates_io(),
                "{} comes from {}",
                package.name,
                source.repr
            );
        }
    }
}

#[test]
fn expressions_are_weighed_as_spdx_says() {
    // SPDX specification, annex on licence expressions: WITH binds tightest, then AND, then OR.
    for (expression, expected) in [
        ("MIT", true),
        ("GPL-3.0-only", false),
        ("MIT OR GPL-3.0-only", true),
        ("MIT AND GPL-3.0-only", false),
        ("GPL-3.0-only AND MIT OR ISC", true),
        ("(MIT OR Apache-2.0) AND IJG", true),
        ("(MIT OR Apache-2.0) AND GPL-2.0-only", false),
        ("Apache-2.0 WITH LLVM-exception OR GPL-2.0-only", true),
        ("Unlicense/MIT", true),
    ] {
        assert_eq!(acceptable(expression), Ok(expected), "{expression}");
    }
    assert!(acceptable("(MIT").is_err());
    assert!(acceptable("MIT AND").is_err());
}
