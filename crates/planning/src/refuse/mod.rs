//! What is not heated in a capillary, and what needs more care than usual, by name and hazard code.
//!
//! A screen by name or code says "flagged" or "not flagged by this list", never "safe".

mod codes;
mod names;

use codes::{APPROVAL_CODES, REFUSED_CODES, VAPOUR_CODES, codes};
use names::{
    Class, DRY, DRY_SHORT, ENDINGS, GIVE_OFF, HALOGENS, METAL_YL, METALS, NOT_GIVE_OFF, OF_METALS,
    OUT_OF_SCOPE, REFUSED, SHORT_ALKANES, SUBLIME, TOXIC,
};
use serde::Serialize;

/// What the list says of a substance.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(tag = "state", rename_all = "snake_case")]
pub enum Screening {
    /// Never in a closed or heated capillary.
    Refused {
        /// Why.
        why: String,
    },
    /// With care, and after asking.
    Flagged {
        /// What to mind, one sentence each.
        minds: Vec<String>,
    },
    /// Nothing on this list; that says nothing on whether it is safe.
    NotFlagged,
    /// A text on hazards in which no hazard statement is found: nothing was screened.
    NoStatement,
}

/// What a text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Text {
    /// The name of a substance.
    Substance,
    /// What somebody wrote on a tube.
    Label,
}

/// Screen a substance by its name, with or without a CAS number or hazards beside it.
pub fn screen(name: &str) -> Screening {
    screened(name, Text::Substance)
}

/// Screen what a sample is called, which may be a name as well as initials or a surname with a number: abbreviations
/// of substances are not looked for in it, and metals only where there is nothing else.
pub fn screen_label(label: &str) -> Screening {
    screened(label, Text::Label)
}

fn screened(text: &str, kind: Text) -> Screening {
    let name = plain(text);
    let refused = REFUSED.iter().find_map(|class| {
        let part = shows(&name, class, kind)?;
        Some((part.to_owned(), class.class))
    });
    let refused = refused.or_else(|| {
        let ester = nitrate_ester(&name)?;
        Some((ester, "alkyl and polyol nitrates, alkyl and acyl nitrites"))
    });
    if let Some((part, class)) = refused {
        return Screening::Refused {
            why: format!(
                "\"{part}\" in its name points to {class}, which are not heated in a capillary; ask the responsible person, and identify it another way"
            ),
        };
    }
    for class in OUT_OF_SCOPE {
        if let Some(part) = shows(&name, class, kind) {
            return Screening::Refused {
                why: format!("\"{part}\" in its name: {}", class.class),
            };
        }
    }
    if let Some(metal) = metal(&name, kind) {
        return Screening::Refused {
            why: format!("{metal}: metals are not measured in a glass capillary"),
        };
    }
    minds(&name, kind)
}

/// What to mind of a substance that is not refused.
fn minds(name: &str, kind: Text) -> Screening {
    let mut minds = Vec::new();
    let is = |list: &[&str]| list.iter().any(|one| has_word(name, one));
    if DRY.iter().any(|one| name.contains(one)) || (kind == Text::Substance && is(&DRY_SHORT)) {
        minds.push(
            "dry, it may explode: keep it wet, heat very little of it, behind a shield, and with the responsible person's approval"
                .to_owned(),
        );
    }
    if is(&SUBLIME) {
        minds.push(
            "it sublimes: seal the tube at both ends, or the last crystal is read from what is left"
                .to_owned(),
        );
    }
    let gives_off = |one: &&str| words(name, one).any(|at| !within(name, at, &NOT_GIVE_OFF));
    if GIVE_OFF.iter().any(gives_off) {
        minds.push(
            "it may give off gas or decompose: leave the tube open, a sealed one can burst; wear eye protection"
                .to_owned(),
        );
    }
    if is(&TOXIC) {
        minds.push("it is toxic: heat it under a hood, and see its safety data sheet".to_owned());
    }
    with(minds)
}

/// Screen by hazard statements found in a text, such as `H351`, `H 240` or `EUH001`.
pub fn screen_hazards(hazards: &str) -> Screening {
    let codes = codes(hazards);
    if codes.is_empty() {
        return Screening::NoStatement;
    }
    let among = |list: &[&str]| codes.iter().find(|code| list.contains(&code.as_str()));
    if let Some(code) = among(&REFUSED_CODES) {
        return Screening::Refused {
            why: format!(
                "{code} says that it may explode or burn when heated or dry; it is not heated in a capillary. Ask the responsible person"
            ),
        };
    }
    let mut minds = Vec::new();
    if let Some(code) = among(&APPROVAL_CODES) {
        minds.push(format!(
            "{code}: only with the responsible person's approval, behind a shield, and very little of it"
        ));
    }
    if let Some(code) = among(&VAPOUR_CODES) {
        minds.push(format!(
            "{code}: under a hood or in a sealed tube; its vapour is a hazard"
        ));
    }
    with(minds)
}

fn with(minds: Vec<String>) -> Screening {
    if minds.is_empty() {
        Screening::NotFlagged
    } else {
        Screening::Flagged { minds }
    }
}

/// Small letters, every hyphen, dash and prime the one of the keyboard, every space one space, nothing that is not seen.
fn plain(text: &str) -> String {
    let seen = text.chars().filter_map(|sign| match sign {
        '\u{ad}' | '\u{200b}'..='\u{200d}' | '\u{2060}' | '\u{feff}' => None,
        '\u{2010}'..='\u{2015}'
        | '\u{2043}'
        | '\u{2212}'
        | '\u{fe58}'
        | '\u{fe63}'
        | '\u{ff0d}' => Some('-'),
        '\u{2019}' | '\u{2032}' => Some('\''),
        sign => Some(sign),
    });
    let seen: String = seen.collect();
    let words: Vec<&str> = seen.split_whitespace().collect();
    words.join(" ").to_lowercase()
}

/// What of a class a name holds.
fn shows(name: &str, class: &Class, kind: Text) -> Option<&'static str> {
    let part = class.parts.iter().find(|part| {
        name.match_indices(**part)
            .any(|(at, _)| !within(name, at, class.not) && !is_carbon_bound(name, at))
    });
    let short = match kind {
        Text::Substance => class.short,
        Text::Label => &[],
    };
    let mut whole = class.words.iter().chain(short);
    let word = || whole.find(|word| has_word(name, word));
    part.or_else(word).copied()
}

/// Whether what begins at a place begins within one of the others.
fn within(name: &str, at: usize, others: &[&str]) -> bool {
    others.iter().any(|other| {
        let mut places = name.match_indices(other);
        places.any(|(from, _)| (from..from + other.len()).contains(&at))
    })
}

/// Whether the "n-" there is no nitrogen with a halogen on it: the normal chain of "n-bromodecane", the end of a word, an
/// acyl group.
fn is_carbon_bound(name: &str, at: usize) -> bool {
    let Some(behind) = name[at..].strip_prefix("n-") else {
        return false;
    };
    if name[..at].ends_with(char::is_alphabetic) {
        return true;
    }
    let word = behind.split(|sign: char| !sign.is_alphabetic()).next();
    let mut chains = HALOGENS
        .iter()
        .filter_map(|halogen| word.unwrap_or_default().strip_prefix(halogen));
    chains.any(|chain| {
        SHORT_ALKANES.contains(&chain)
            || ["decane", "cosane"].iter().any(|end| chain.ends_with(end))
            || ["acetyl", "benzoyl", "methylphthalimide"]
                .iter()
                .any(|acyl| chain.starts_with(acyl))
    })
}

/// A nitrate or nitrite of an alkyl or acyl group, or several nitrates of one alcohol; those of metals are none.
fn nitrate_ester(name: &str) -> Option<String> {
    let mut before = "";
    for word in name.split(|sign: char| !sign.is_alphabetic()) {
        // Between a metal and its nitrate stands its valency.
        if word.is_empty() || ["i", "ii", "iii", "iv", "v", "vi"].contains(&word) {
            continue;
        }
        let one = word.strip_suffix('s').unwrap_or(word);
        if let Some(stem) = ["nitrate", "nitrite"]
            .iter()
            .find_map(|end| one.strip_suffix(end))
        {
            let count = ["di", "tri", "tetra", "penta", "hexa"];
            let several = count.iter().find_map(|count| stem.strip_suffix(count));
            // Written in one word or in two.
            let carrier = match several.unwrap_or(stem) {
                "" => before,
                carrier => carrier,
            };
            let is_metal = METALS.contains(&carrier)
                || METAL_YL.contains(&carrier)
                || (carrier.ends_with("ium")
                    && !["onium", "zinium", "dinium"]
                        .iter()
                        .any(|base| carrier.ends_with(base)));
            if !is_metal && (several.is_some() || carrier.ends_with("yl")) {
                return Some(match several.unwrap_or(stem) {
                    "" => format!("{carrier} {word}"),
                    _ => word.to_owned(),
                });
            }
        }
        before = word;
    }
    None
}

/// The metal that a name says and nothing else with it: "tin metal" and "indium, 99.9 %", not "tin(II) chloride".
fn metal(name: &str, kind: Text) -> Option<&str> {
    if kind == Text::Label {
        return METALS.contains(&name).then_some(name);
    }
    let mut words = name
        .split(|sign: char| !sign.is_alphabetic())
        .filter(|word| !word.is_empty());
    let metal = words.clone().find(|word| METALS.contains(word))?;
    words
        .all(|word| METALS.contains(&word) || OF_METALS.contains(&word))
        .then_some(metal)
}

/// Whether a name holds a word, not as the end or beginning of a longer one: "phenol" in "4-nitrophenol" is another.
fn has_word(name: &str, word: &str) -> bool {
    words(name, word).next().is_some()
}

/// Where a name holds a word, one or several of it.
fn words<'a>(name: &'a str, word: &'a str) -> impl Iterator<Item = usize> + 'a {
    let places = name.match_indices(word).map(|(at, _)| at);
    places.filter(move |&at| {
        let joins = |sign: Option<char>| sign.is_some_and(char::is_alphabetic);
        let behind = &name[at + word.len()..];
        let behind = behind.strip_prefix('s').unwrap_or(behind);
        (ENDINGS.contains(&word) || !joins(name[..at].chars().next_back()))
            && !joins(behind.chars().next())
    })
}

#[cfg(test)]
mod tests;
