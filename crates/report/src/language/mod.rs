//! Languages of a report: every text it uses, and how it writes numbers and dates.
//!
//! One file a language fills one [`Words`]; a text that is missing does not compile.

mod de;
mod en;
mod es;
mod fr;
mod locale;
mod words;

pub(crate) use locale::Locale;
pub(crate) use words::{Words, fill};

use serde::{Deserialize, Serialize};

/// Language of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Language {
    /// English, decimal point.
    #[default]
    #[serde(rename = "en")]
    English,
    /// German, decimal comma.
    #[serde(rename = "de")]
    German,
    /// French, decimal comma.
    #[serde(rename = "fr")]
    French,
    /// Spanish, decimal comma.
    #[serde(rename = "es")]
    Spanish,
}

/// How dates are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Dates {
    /// `2026-11-25`, the same everywhere.
    #[default]
    Iso,
    /// As usual where the language is spoken.
    Local,
}

impl Language {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::English, Self::German, Self::French, Self::Spanish];

    /// BCP 47 tag.
    pub fn tag(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::German => "de",
            Self::French => "fr",
            Self::Spanish => "es",
        }
    }

    /// From its BCP 47 tag, a region after it notwithstanding (`de-AT` is German).
    pub fn tagged(tag: &str) -> Option<Self> {
        let main = tag.split(['-', '_']).next()?.to_ascii_lowercase();
        Self::ALL
            .into_iter()
            .find(|language| language.tag() == main)
    }

    pub(crate) fn words(self) -> &'static Words {
        match self {
            Self::English => &en::WORDS,
            Self::German => &de::WORDS,
            Self::French => &fr::WORDS,
            Self::Spanish => &es::WORDS,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    fn gaps(text: &str) -> BTreeSet<&str> {
        text.split('{')
            .skip(1)
            .filter_map(|rest| rest.split_once('}').map(|(name, _)| name))
            .collect()
    }

    #[test]
    fn every_language_says_everything_with_the_same_gaps() {
        for language in Language::ALL {
            let pairs = Language::English.words().all().into_iter();
            for ((key, english), (_, other)) in pairs.zip(language.words().all()) {
                assert!(!other.trim().is_empty(), "{language:?} {key}");
                assert_eq!(gaps(english), gaps(other), "{language:?} {key}");
                assert!(!other.contains("  "), "{language:?} {key}");
            }
        }
    }

    #[test]
    fn tags_come_back_as_languages() {
        for language in Language::ALL {
            assert_eq!(Language::tagged(language.tag()), Some(language));
        }
        assert_eq!(Language::tagged("de-AT"), Some(Language::German));
        assert_eq!(Language::tagged("tlh"), None);
    }
}
