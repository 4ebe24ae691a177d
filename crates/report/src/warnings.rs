//! What a person should know of a report that was made all the same.

use std::fmt;

/// A doubt about a report that was made; the report says the same in its own language.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum Warning {
    /// The letterhead's picture cannot be decoded.
    Logo {
        /// Number of the report.
        report: String,
    },
    /// The picture of a moment cannot be decoded.
    Picture {
        /// Number of the report.
        report: String,
        /// Which run, 1...
        run: usize,
    },
    /// The rectangle of a tube lies outside its picture, which is shown whole.
    Crop {
        /// Number of the report.
        report: String,
        /// Which run, 1...
        run: usize,
    },
    /// Values were no numbers.
    NotNumbers {
        /// Number of the report.
        report: String,
        /// How many places.
        count: usize,
    },
    /// No font has these characters.
    MissingGlyphs {
        /// Which, in order.
        characters: Vec<char>,
    },
    /// What the typesetter remarked.
    Typesetter {
        /// In its words.
        text: String,
    },
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Logo { report } => write!(
                f,
                "report {report}: the picture of the letterhead is left out; expected a whole JPEG or PNG file. Put another one into the letterhead"
            ),
            Self::Picture { report, run } => write!(
                f,
                "report {report}, run {run}: a picture cannot be decoded and is left out; expected a whole JPEG or PNG file. Verify the recording"
            ),
            Self::Crop { report, run } => write!(
                f,
                "report {report}, run {run}: the rectangle of a tube lies outside its picture, which is shown whole; expected fractions 0 to 1 of the picture's sides. Read the recording anew"
            ),
            Self::NotNumbers { report, count } => write!(
                f,
                "report {report}: {count} values are not numbers; a dash stands in their place"
            ),
            Self::MissingGlyphs { characters } => {
                write!(
                    f,
                    "no font at hand has these characters, their numbers stand in their place: "
                )?;
                write!(f, "{}", listed(characters))?;
                write!(f, ". Install a font that has them, or name its folder")
            }
            Self::Typesetter { text } => write!(f, "the typesetter remarked: {text}"),
        }
    }
}

/// Characters by number, and as they look to whoever has a font.
pub(crate) fn listed(characters: &[char]) -> String {
    let names: Vec<String> = characters
        .iter()
        .map(|&character| code_point(character))
        .collect();
    names.join(", ")
}

/// The number of a character as Unicode writes it.
pub(crate) fn code_point(character: char) -> String {
    format!("U+{:04X}", u32::from(character))
}
