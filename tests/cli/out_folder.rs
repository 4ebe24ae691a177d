//! `--out`: whole or not at all, and never over what belongs to somebody.

use crate::workshop::{RISING_LOG, Workshop};
use std::process::Command;

#[test]
fn a_folder_that_holds_something_else_is_refused_before_the_reading() {
    let workshop = Workshop::new();
    let thesis = workshop.path("thesis");
    std::fs::create_dir(&thesis).expect("there is room");
    std::fs::write(thesis.join("chapter.tex"), "mine").expect("there is room");
    let log = workshop.file("log.csv", RISING_LOG);
    // The pictures are not there either: the folder is looked at first.
    let media = workshop.path("gone.mp4");
    for place in ["thesis", "thesis/", "./thesis"] {
        workshop
            .read(&media, &log, &["--out", place])
            .assert_refused(&["chapter.tex", "--out"]);
    }
    assert_eq!(
        std::fs::read_to_string(thesis.join("chapter.tex")).expect("still there"),
        "mine"
    );
    workshop
        .read(&media, &log, &["--out", "log.csv"])
        .assert_refused(&["log.csv"]);
}

#[test]
fn a_full_disk_leaves_nothing() {
    let workshop = Workshop::new();
    let recording = workshop.recording("frames");
    let before = workshop.names();
    // A limit on the size of files stands in for the disk; with its signal ignored, writing
    // fails as it does without room. 8 blocks are fewer than one picture of the page needs.
    let output = Command::new("sh")
        .arg("-c")
        .arg("trap '' XFSZ; ulimit -f 8; exec \"$0\" \"$@\"")
        .arg(env!("CARGO_BIN_EXE_meltrange"))
        .arg("read")
        .arg(&recording)
        .arg("--temperature")
        .arg(recording.join("temperature.csv"))
        .arg("--out")
        .arg(workshop.path("deep/evidence"))
        .arg("--json")
        .output()
        .expect("sh is there");
    let message = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{message}");
    assert!(message.contains("could not be written"), "{message}");
    assert!(output.stdout.is_empty());
    assert_eq!(workshop.names(), before);
}

#[test]
fn a_full_file_system_leaves_nothing() {
    let workshop = Workshop::new();
    let disk = workshop.path("disk");
    std::fs::create_dir(&disk).expect("there is room");
    // A file system of our own in a namespace of our own: no rights on the machine are needed
    // where the kernel lets people make such namespaces.
    const SIZE: &str = "mount -t tmpfs -o size=64k none \"$0\"";
    let in_namespace = |script: &str| {
        let mut command = Command::new("unshare");
        command
            .args(["--user", "--map-root-user", "--mount", "sh", "-c", script])
            .arg(&disk);
        command
    };
    let mountable = in_namespace(SIZE).output();
    if !mountable.is_ok_and(|tried| tried.status.success()) {
        #[expect(clippy::print_stderr, reason = "a test left out must say so")]
        {
            eprintln!("skipped: this machine does not let us mount a small file system");
        }
        return;
    }
    let recording = workshop.recording("frames");
    let script = format!(
        "{SIZE} && cd \"$0\" && \"$1\" read \"$2\" --temperature \"$2/temperature.csv\" --out deep/evidence; \
         status=$?; echo \"left: $(ls -A \"$0\")\"; exit $status"
    );
    let output = in_namespace(&script)
        .arg(env!("CARGO_BIN_EXE_meltrange"))
        .arg(&recording)
        .output()
        .expect("unshare ran a moment ago");
    let message = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{message}");
    for words in ["deep/evidence", "No space left", "hint: "] {
        assert!(message.contains(words), "{words}: {message}");
    }
    assert_eq!(String::from_utf8_lossy(&output.stdout), "left: \n");
}
