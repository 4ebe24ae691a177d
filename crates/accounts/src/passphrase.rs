//! Which passphrases are taken.
//!
//! As NIST SP 800-63B-4, 3.1.1.2, has it: length is what counts, every character is taken, nothing is asked of
//! the mixture, nothing has to be changed by the calendar; what everybody tries first is refused, and so is what
//! is known of the person.

use crate::commonest::{COMMONEST, WELL_KNOWN};
use crate::limits::{PASSPHRASE_CHARS, PASSPHRASE_MOST_CHARS};
use unicode_normalization::UnicodeNormalization as _;

/// Words of this program that are no secret.
const OWN_WORDS: [&str; 4] = ["meltrange", "meltingrange", "meltingpoint", "labbook"];

/// Why a passphrase is not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Unfit {
    /// Too short.
    #[error(
        "the passphrase has {found} characters; expected at least {PASSPHRASE_CHARS}: four or five words that have nothing to do with each other make a good one"
    )]
    Short {
        /// Characters found.
        found: usize,
    },
    /// Too long.
    #[error("the passphrase has {found} characters; expected at most {PASSPHRASE_MOST_CHARS}")]
    Long {
        /// Characters found.
        found: usize,
    },
    /// Everybody tries it first.
    #[error(
        "the passphrase is one of those that are tried first, or little more than one; choose words that have nothing to do with each other"
    )]
    Common,
    /// The same again and again, or a run.
    #[error(
        "the passphrase repeats or counts on; choose words that have nothing to do with each other"
    )]
    Monotonous,
    /// The person's name, or this program's.
    #[error(
        "the passphrase is little more than your own name or that of this program; choose words that have nothing to do with you"
    )]
    Named,
}

/// A passphrase as it is hashed: composed characters, so that two keyboards that write an accent differently
/// mean the same (NFKC, as the section above asks for). Nothing is cut off.
pub(crate) fn normal(passphrase: &str) -> String {
    passphrase.nfkc().collect()
}

/// Whether somebody with this name may choose this passphrase.
///
/// # Errors
/// [`Unfit`] says why not.
pub fn fit(passphrase: &str, name: &str) -> Result<(), Unfit> {
    let normal = normal(passphrase);
    let found = normal.chars().count();
    if found < PASSPHRASE_CHARS {
        return Err(Unfit::Short { found });
    }
    if found > PASSPHRASE_MOST_CHARS {
        return Err(Unfit::Long { found });
    }
    let letters = letters(&normal);
    if is_monotonous(&normal) {
        return Err(Unfit::Monotonous);
    }
    let names = name_words(name);
    let own = names.iter().map(String::as_str).chain(OWN_WORDS);
    if is_made_of(&letters, own) {
        return Err(Unfit::Named);
    }
    if WELL_KNOWN.contains(&letters.as_str()) || is_made_of(&letters, COMMONEST) {
        return Err(Unfit::Common);
    }
    Ok(())
}

/// Letters and digits alone, in lower case.
fn letters(text: &str) -> String {
    text.chars()
        .filter(|letter| letter.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}

/// The name and its longer words.
fn name_words(name: &str) -> Vec<String> {
    let normal = normal(name);
    let whole = letters(&normal);
    let mut words: Vec<String> = normal
        .split_whitespace()
        .map(letters)
        .filter(|word| word.chars().count() >= 3)
        .collect();
    if whole.chars().count() >= 3 {
        words.push(whole);
    }
    words
}

/// Whether nothing of weight is left of a text when these words and all digits are taken out.
fn is_made_of<'a>(letters: &str, words: impl IntoIterator<Item = &'a str>) -> bool {
    let mut words: Vec<&str> = words.into_iter().collect();
    // The longest first: the whole name before its parts.
    words.sort_by_key(|word| std::cmp::Reverse(word.len()));
    let mut rest = letters.to_owned();
    let mut found = false;
    for word in words {
        if rest.contains(word) {
            found = true;
            rest = rest.replace(word, " ");
        }
    }
    let left = rest.chars().filter(|letter| letter.is_alphabetic()).count();
    found && left < 4
}

/// Whether a text has hardly any different characters, repeats a short piece, or counts on.
fn is_monotonous(text: &str) -> bool {
    let all: Vec<char> = text.chars().flat_map(char::to_lowercase).collect();
    let mut different = all.clone();
    different.sort_unstable();
    different.dedup();
    if different.len() < 5 {
        return true;
    }
    let repeats = (1..=4).any(|period| {
        all.iter()
            .zip(all.iter().skip(period))
            .all(|(one, later)| one == later)
    });
    let steps: Vec<i64> = all
        .iter()
        .zip(all.iter().skip(1))
        .map(|(one, next)| i64::from(u32::from(*next)) - i64::from(u32::from(*one)))
        .collect();
    let counts = [1, -1].into_iter().any(|step| {
        let on = steps.iter().filter(|found| **found == step).count();
        on * 10 >= steps.len() * 8
    });
    repeats || counts
}

#[cfg(test)]
mod tests {
    use super::*;

    const NAME: &str = "R. Amsel";

    #[test]
    fn length_alone_makes_a_passphrase() {
        for good in [
            "three owls on a warm block",
            "mossy anvil tuesday",
            "πέντε λέξεις μαζί εδώ",
            "no digits no signs at all",
            "                 spaces count  ",
            "9 5 71 38 26 4 90 x",
        ] {
            assert_eq!(fit(good, NAME), Ok(()), "{good}");
        }
        // 64 characters and more (NIST SP 800-63B-4, 3.1.1.2).
        let long = "slow copper kettle ".repeat(5);
        assert!(long.chars().count() > 64);
        assert_eq!(fit(&long, NAME), Ok(()));
        assert_eq!(fit("fourteen chars", NAME), Err(Unfit::Short { found: 14 }));
        assert_eq!(fit("", NAME), Err(Unfit::Short { found: 0 }));
        let endless = "wet sand and wire ".repeat(40);
        assert!(matches!(fit(&endless, NAME), Err(Unfit::Long { .. })));
    }

    #[test]
    fn characters_are_counted_composed() {
        // 15 characters with the accent composed; the same typed decomposed is 16 code points (UAX 15).
        let decomposed = "cafe\u{301} and a kiln";
        assert_eq!(normal(decomposed), "caf\u{e9} and a kiln");
        assert_eq!(fit(decomposed, NAME), Ok(()));
        assert_eq!(
            fit("cafe\u{301} and a kil", NAME),
            Err(Unfit::Short { found: 14 })
        );
    }

    #[test]
    fn what_is_tried_first_is_refused() {
        for (bad, why) in [
            ("passwordpassword", Unfit::Common),
            ("Password1234567", Unfit::Common),
            ("qwertyuiop12345", Unfit::Common),
            ("correct horse battery staple", Unfit::Common),
            ("letmein letmein!", Unfit::Common),
            ("aaaaaaaaaaaaaaaa", Unfit::Monotonous),
            ("abcabcabcabcabcabc", Unfit::Monotonous),
            ("12345678901234567", Unfit::Monotonous),
            ("abcdefghijklmnopq", Unfit::Monotonous),
            ("meltrange-2026-2027", Unfit::Named),
            ("R. Amsel 1234567", Unfit::Named),
            ("amselamselamsel", Unfit::Named),
        ] {
            assert_eq!(fit(bad, NAME), Err(why), "{bad}");
        }
        // A common word among others is no harm.
        assert_eq!(fit("dragon kiln umbrella", NAME), Ok(()));
        assert_eq!(fit("amsel on a wet fence", NAME), Ok(()));
    }
}
