//! Fonts: those that are carried, and those that are looked for when a character is missing.

use crate::error::FontError;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;
use typst::foundations::Bytes;
use typst::text::{Font, FontBook, FontStyle, FontWeight};
use typst::utils::LazyHash;

/// Where systems keep their fonts, whoever uses them; those of a person are for the caller to add.
pub const USUAL_FONT_FOLDERS: [&str; 6] = [
    "/usr/share/fonts",
    "/usr/local/share/fonts",
    "/System/Library/Fonts",
    "/Library/Fonts",
    "C:\\Windows\\Fonts",
    "/system/fonts",
];

/// Larger files are left alone; the largest collections of Han characters have about 20 MB.
const LARGEST_FONT_BYTES: u64 = 64 * 1024 * 1024;

/// Folders below folders that are looked into.
const DEEPEST: usize = 6;

static CARRIED: LazyLock<Vec<Font>> = LazyLock::new(|| {
    typst_assets::fonts()
        .flat_map(|file| Font::iter(Bytes::new(file)))
        .collect()
});

/// Fonts that a report may be set in.
///
/// Latin, Greek, Cyrillic and mathematical signs are carried (Libertinus Serif, New Computer Modern, DejaVu
/// Sans Mono). Folders are read only when a report has characters that none of these have, and of their
/// files only as many as are needed.
#[derive(Debug, Clone, Default)]
pub struct Fonts {
    added: Vec<Font>,
    folders: Vec<PathBuf>,
}

impl Fonts {
    /// Those that are carried, and whatever folders of the system have where a character is missing.
    pub fn with_usual_folders() -> Self {
        Self::default().searching(USUAL_FONT_FOLDERS.map(PathBuf::from))
    }

    /// With further folders to search for missing characters, in this order; those that do not exist or
    /// cannot be read count as empty.
    pub fn searching(mut self, folders: impl IntoIterator<Item = PathBuf>) -> Self {
        self.folders.extend(folders);
        self
    }

    /// With a font file.
    ///
    /// # Errors
    /// [`FontError`] for what is none.
    pub fn with_file(mut self, file: Vec<u8>) -> Result<Self, FontError> {
        let bytes = file.len();
        let before = self.added.len();
        self.added.extend(Font::iter(Bytes::new(file)));
        if self.added.len() == before {
            return Err(FontError { bytes });
        }
        Ok(self)
    }

    /// All that are at hand for a document with these characters, and which of them no font has.
    pub(crate) fn for_characters(&self, used: &BTreeSet<char>) -> (FontSet, BTreeSet<char>) {
        let mut fonts: Vec<Font> = CARRIED.iter().chain(&self.added).cloned().collect();
        let mut missing: BTreeSet<char> = used
            .iter()
            .copied()
            .filter(|&character| !fonts.iter().any(|font| has(font, character)))
            .collect();
        if !missing.is_empty() {
            for folder in &self.folders {
                search(folder, DEEPEST, &mut missing, &mut fonts);
            }
        }
        (FontSet::of(fonts), missing)
    }
}

/// Fonts with their catalogue, as the typesetter wants them.
#[derive(Debug)]
pub(crate) struct FontSet {
    pub book: LazyHash<FontBook>,
    pub fonts: Vec<Font>,
}

impl FontSet {
    fn of(fonts: Vec<Font>) -> Self {
        Self {
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
        }
    }
}

fn has(font: &Font, character: char) -> bool {
    font.info().coverage.contains(u32::from(character))
}

/// Adds upright fonts of usual weight that have missing characters, in the order of their paths.
fn search(folder: &Path, deep: usize, missing: &mut BTreeSet<char>, fonts: &mut Vec<Font>) {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return;
    };
    let mut paths: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    paths.sort();
    for path in paths {
        if missing.is_empty() {
            return;
        }
        if path.is_dir() {
            if deep > 0 {
                search(&path, deep - 1, missing, fonts);
            }
            continue;
        }
        if !is_font(&path) {
            continue;
        }
        let Ok(file) = std::fs::read(&path) else {
            continue;
        };
        for font in Font::iter(Bytes::new(file)) {
            let variant = font.info().variant;
            let plain = variant.style == FontStyle::Normal && variant.weight == FontWeight::REGULAR;
            let found: Vec<char> = missing
                .iter()
                .copied()
                .filter(|&character| plain && has(&font, character))
                .collect();
            if !found.is_empty() {
                missing.retain(|character| !found.contains(character));
                fonts.push(font);
            }
        }
    }
}

fn is_font(path: &Path) -> bool {
    let known = path
        .extension()
        .and_then(|ending| ending.to_str())
        .is_some_and(|ending| {
            ["ttf", "otf", "ttc", "otc"]
                .iter()
                .any(|one| ending.eq_ignore_ascii_case(one))
        });
    known
        && std::fs::metadata(path)
            .is_ok_and(|found| found.is_file() && found.len() <= LARGEST_FONT_BYTES)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_no_font() {
        let found = Fonts::default().with_file(b"not a font".to_vec());
        assert_eq!(found.map(|_| ()), Err(FontError { bytes: 10 }));
    }

    #[test]
    fn what_nobody_has_is_missing() {
        let used = BTreeSet::from(['a', 'ß', '°', '\u{202f}', '漢']);
        let (_, missing) = Fonts::default().for_characters(&used);
        // That the carried fonts have no Han characters is what the folders are for.
        assert_eq!(missing, BTreeSet::from(['漢']));
    }
}
