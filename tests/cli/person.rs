//! `meltrange person`: accounts on the machine itself, and what `serve` says without them.

use crate::workshop::{Workshop, ended, meltrange};
use serde_json::Value;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

fn new_book(workshop: &Workshop) -> PathBuf {
    let book = workshop.path("practical");
    let made = ended(
        meltrange()
            .args(["book", "new"])
            .arg(&book)
            .args(["--by", "R. Amsel"]),
    );
    assert_eq!(made.status, Some(0), "{}", made.stderr);
    book
}

fn person(book: &Path, what: &str, more: &[&str]) -> crate::workshop::Ended {
    ended(meltrange().args(["person", what]).arg(book).args(more))
}

/// What `person passphrase` says to this on standard input.
fn given(book: &Path, name: &str, passphrase: &str) -> (bool, String) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_meltrange"))
        .args(["person", "passphrase"])
        .arg(book)
        .arg(name)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut stdin = child.stdin.take().expect("piped");
    // It may end without reading.
    let _ = writeln!(stdin, "{passphrase}");
    drop(stdin);
    let done = child.wait_with_output().expect("it ends");
    (
        done.status.success(),
        String::from_utf8_lossy(&done.stderr).into_owned(),
    )
}

#[test]
fn a_book_is_not_served_to_a_network_that_nobody_could_come_in_from() {
    let workshop = Workshop::new();
    let book = new_book(&workshop);
    for how in [["--listen", "127.0.0.1:0"].as_slice(), &["--guarded"]] {
        let refused = ended(
            meltrange()
                .arg("serve")
                .arg(&book)
                .args(how)
                .arg("--no-open"),
        );
        assert_eq!(refused.status, Some(1));
        assert!(
            refused.stderr.contains("no supervisor"),
            "{}",
            refused.stderr
        );
        assert!(
            refused.stderr.contains("meltrange person invite"),
            "{}",
            refused.stderr
        );
    }
    // Wrong usage.
    for how in [
        ["--listen", "127.0.0.1"].as_slice(),
        &["--listen", "127.0.0.1:0", "--guarded"],
        &["--listen", "127.0.0.1:0", "--port", "1"],
        &["--certificate", "a.pem"],
        &["--listen", "127.0.0.1:0", "--certificate", "a.pem"],
        &["--guarded", "--name", "https://bench.example.edu"],
    ] {
        let refused = ended(meltrange().arg("serve").arg(&book).args(how));
        assert_eq!(refused.status, Some(2), "{how:?}: {}", refused.stderr);
    }
}

/// Names of all files in a folder and below.
fn files_in(folder: &Path) -> Vec<String> {
    let mut names = Vec::new();
    for entry in std::fs::read_dir(folder).expect("a folder").flatten() {
        let path = entry.path();
        if path.is_dir() {
            names.extend(files_in(&path));
        } else {
            names.push(entry.file_name().to_string_lossy().into_owned());
        }
    }
    names
}

#[test]
fn invitations_and_passphrases_are_given_on_the_machine() {
    let workshop = Workshop::new();
    let book = new_book(&workshop);
    let invited = person(&book, "invite", &["r. amsel", "--json"]);
    assert_eq!(invited.status, Some(0), "{}", invited.stderr);
    let invited: Value = serde_json::from_str(&invited.stdout).expect("JSON");
    assert_eq!(invited["person"]["name"], "R. Amsel");
    assert_eq!(invited["code"].as_str().map(str::len), Some(29));
    let nobody = person(&book, "invite", &["Nobody"]);
    assert_eq!(nobody.status, Some(1));
    assert!(
        nobody.stderr.contains("there is no person Nobody"),
        "{}",
        nobody.stderr
    );

    let (done, said) = given(&book, "R. Amsel", "short");
    assert!(!done && said.contains("expected at least 15"), "{said}");
    let (done, said) = given(&book, "R. Amsel", "three owls on a warm block");
    assert!(done, "{said}");
    let listed = person(&book, "list", &["--json"]);
    let listed: Value = serde_json::from_str(&listed.stdout).expect("JSON");
    assert_eq!(listed["people"][0]["has_passphrase"], true);
    assert_eq!(listed["people"][0]["must_change"], true);

    assert_eq!(person(&book, "lock", &["R. Amsel"]).status, Some(0));
    let refused = person(&book, "invite", &["R. Amsel"]);
    assert!(
        refused.stderr.contains("meltrange person unlock"),
        "{}",
        refused.stderr
    );
    let locked = person(&book, "list", &[]);
    assert!(locked.stdout.contains("locked"), "{}", locked.stdout);
    assert_eq!(person(&book, "unlock", &["R. Amsel"]).status, Some(0));
    assert_eq!(person(&book, "log-out", &["R. Amsel"]).status, Some(0));
    let log = person(&book, "access-log", &["--json"]);
    let log: Value = serde_json::from_str(&log.stdout).expect("JSON");
    let kinds: Vec<&str> = log["entries"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|entry| entry["what"].as_str())
        .collect();
    assert_eq!(
        kinds,
        [
            "invited",
            "passphrase_set",
            "locked",
            "unlocked",
            "logged_out_everywhere"
        ]
    );
    // The book itself knows nothing of it, and what leaves the book neither.
    let out = workshop.path("out");
    let exported = ended(
        meltrange()
            .args(["book", "export"])
            .arg(&book)
            .arg("--out")
            .arg(&out),
    );
    assert_eq!(exported.status, Some(0), "{}", exported.stderr);
    let names: Vec<String> = files_in(&out);
    assert!(
        names.len() > 3 && !names.iter().any(|name| name.contains("account")),
        "{names:?}"
    );
    let sound = ended(meltrange().args(["book", "verify"]).arg(&book));
    assert_eq!(sound.status, Some(0), "{}", sound.stdout);
}
