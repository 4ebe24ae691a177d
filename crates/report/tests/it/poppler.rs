//! What other programs see in a PDF: poppler's tools (Debian: poppler-utils).

use std::path::{Path, PathBuf};
use std::process::Command;

/// A PDF on disk for as long as it is looked at.
pub(crate) struct OnDisk {
    folder: tempfile::TempDir,
}

impl OnDisk {
    pub fn of(bytes: &[u8]) -> Self {
        let folder = tempfile::tempdir().expect("a folder for a test");
        std::fs::write(folder.path().join("report.pdf"), bytes).expect("room for a report");
        Self { folder }
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("report.pdf")
    }

    /// Text in the order in which it is set.
    pub fn text(&self) -> String {
        run(
            "pdftotext",
            &["-raw", "-enc", "UTF-8"],
            &self.path(),
            &["-"],
        )
    }

    /// Text page by page.
    pub fn pages(&self) -> Vec<String> {
        let text = self.text();
        let mut pages: Vec<String> = text.split('\u{c}').map(str::to_owned).collect();
        // A form feed ends each page.
        pages.pop();
        pages
    }

    /// Metadata as XMP.
    pub fn metadata(&self) -> String {
        run("pdfinfo", &["-meta"], &self.path(), &[])
    }

    /// How many pages poppler counts.
    pub fn page_count(&self) -> usize {
        let info = self.info();
        let count = info.lines().find_map(|line| line.strip_prefix("Pages:"));
        count
            .and_then(|count| count.trim().parse().ok())
            .expect("pdfinfo counts pages")
    }

    pub fn info(&self) -> String {
        run("pdfinfo", &[], &self.path(), &[])
    }

    /// Fonts line by line, without the heading.
    pub fn fonts(&self) -> Vec<String> {
        let text = run("pdffonts", &[], &self.path(), &[]);
        text.lines().skip(2).map(str::to_owned).collect()
    }

    /// The first page drawn, as luma with its width.
    pub fn first_page(&self) -> (Vec<u8>, usize) {
        let to = self.folder.path().join("page");
        let to = to.to_str().expect("a plain path");
        run(
            "pdftoppm",
            &["-r", "40", "-gray", "-f", "1", "-l", "1", "-singlefile"],
            &self.path(),
            &[to],
        );
        let file = std::fs::read(format!("{to}.pgm")).expect("pdftoppm wrote it");
        // PGM: "P5", width, height, largest value, each ended by white space, then a byte a pixel.
        let mut at = 0;
        let mut words = Vec::new();
        while words.len() < 4 {
            let from = at;
            while !file[at].is_ascii_whitespace() {
                at += 1;
            }
            words.push(String::from_utf8_lossy(&file[from..at]).into_owned());
            at += 1;
        }
        assert_eq!(words[0], "P5");
        let width = words[1].parse().expect("a width");
        (file[at..].to_vec(), width)
    }
}

fn run(program: &str, before: &[&str], file: &Path, after: &[&str]) -> String {
    let found = Command::new(program)
        .args(before)
        .arg(file)
        .args(after)
        .output()
        .unwrap_or_else(|error| {
            panic!("{program}: {error}; install poppler-utils (scripts/set-up.sh poppler)")
        });
    let told = String::from_utf8_lossy(&found.stderr);
    // Of MarkInfo's Suspects, a boolean in ISO 32000-1 (table 321), poppler 22 says it is the wrong type.
    let told = told.replace("Syntax Error: Suspects object is wrong type (boolean)", "");
    assert!(
        found.status.success() && !told.contains("Error"),
        "{program}: {told}"
    );
    String::from_utf8(found.stdout).expect("UTF-8 was asked for")
}

/// Without spaces, breaks and what is not to be seen: lines break differently on paper and in a test.
pub(crate) fn squeezed(text: &str) -> String {
    text.chars()
        .filter(|letter| {
            !letter.is_whitespace()
                && !matches!(letter, '\u{200b}' | '\u{ad}' | '\u{2067}' | '\u{2069}')
        })
        .collect()
}

#[track_caller]
pub(crate) fn assert_says(text: &str, words: &str) {
    assert!(
        squeezed(text).contains(&squeezed(words)),
        "\"{words}\" is not in:\n{text}"
    );
}
