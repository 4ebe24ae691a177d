//! What is not heated in a capillary, and what needs more care than usual, by name and hazard code.
//!
//! A screen by name or code says "flagged" or "not flagged by this list", never "safe".

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

/// Classes that are refused: what stands in a name, what must not stand beside it, and the class.
///
/// # Source
/// CRC Handbook of Chemistry and Physics §16 table 1 (list's start read); US National Research Council, Prudent
/// Practices in the Laboratory (1995) §3.D.3, table 3.11 (read). The parts of names are our own.
const REFUSED: [(&[&str], &[&str], &str); 9] = [
    (&["azide"], &["hydrazide"], "azides"),
    (
        &["diazo"],
        &["diazole", "diazoline", "oxadiazo", "diazoxide", "thiadiazo"],
        "diazo compounds and diazonium salts",
    ),
    (&["fulminat"], &[], "fulminates"),
    (
        &["acetylid", "polyacetylen", "haloacetylen"],
        &[],
        "acetylides",
    ),
    (
        &[
            "nitroglycerin",
            "nitrocellulose",
            "tetranitrate",
            "trinitrate",
            "dinitrate",
            "methyl nitrate",
            "ethyl nitrate",
            "propyl nitrate",
            "butyl nitrate",
            "amyl nitrate",
            "nitrite, alkyl",
            "butyl nitrite",
            "amyl nitrite",
            "pentyl nitrite",
            "acetyl nitrate",
        ],
        &[],
        "alkyl and polyol nitrates, alkyl and acyl nitrites",
    ),
    (
        &["perchlorat", "chlorite"],
        &["hypochlorite"],
        "perchlorates and chlorites",
    ),
    (
        &[
            "peroxide",
            "peroxy",
            "perbenzoic",
            "ozonide",
            "hmtd",
            "tatp",
        ],
        &[],
        "organic peroxides, hydroperoxides and ozonides",
    ),
    (
        &[
            "picrat",
            "picric",
            "styphn",
            "trinitro",
            "tetranitro",
            "hexanitro",
            "tetryl",
            "hexogen",
            "octogen",
            "cyclonite",
        ],
        &[],
        "picrates and polynitroaromatics",
    ),
    (
        &[
            "n-chloro",
            "n-bromo",
            "n-iodo",
            "triiodide",
            "nitrogen trichloride",
            "halamine",
            "chloramine",
            "tetrazole",
            "tetrazene",
        ],
        &[],
        "N-halogen compounds and nitrogen-rich rings",
    ),
];

/// GHS hazard statements that are refused, that need approval, and that need a hood or a sealed tube.
///
/// # Source
/// Codes: UN GHS annex 3. What to do at a capillary: common practice, no source.
const REFUSED_CODES: [&str; 19] = [
    "EUH001", "EUH006", "EUH044", "H200", "H201", "H202", "H203", "H204", "H205", "H209", "H210",
    "H211", "H240", "H241", "H250", "H260", "H261", "H270", "H271",
];
const APPROVAL_CODES: [&str; 10] = [
    "EUH018", "EUH019", "H242", "H206", "H207", "H208", "H251", "H252", "H272", "H228",
];
const VAPOUR_CODES: [&str; 14] = [
    "H300", "H310", "H330", "H301", "H311", "H331", "H334", "H340", "H350", "H360", "H341", "H351",
    "H314", "H304",
];

/// What these classes are called for short, as whole words. Common practice, no source.
const REFUSED_WORDS: [(&[&str], &str); 4] = [
    (
        &[
            "tnt",
            "rdx",
            "hmx",
            "petn",
            "tetryl",
            "nitroguanidine",
            "ddnp",
            "hns",
            "tatb",
        ],
        "explosives",
    ),
    (&["tatp", "hmtd", "mekp"], "organic peroxides"),
    (
        &[
            "ammonium nitrate",
            "guanidine nitrate",
            "urea nitrate",
            "hydrazine nitrate",
        ],
        "nitrates of bases",
    ),
    (
        &["chlorate", "bromate", "permanganate", "chromium trioxide"],
        "strong oxidisers",
    ),
];

/// What is not measured in a packed capillary at all: parts of names, then whole names, and why.
const OUT_OF_SCOPE: [(&[&str], &str); 2] = [
    (
        &[
            "wax",
            "paraffin",
            "petrolatum",
            "vaseline",
            "tallow",
            "lard",
            "cocoa butter",
            "suet",
            "lanolin",
        ],
        "waxes and fats are measured by the rise of a column in an open tube, not here",
    ),
    (
        &[
            "polyethylene",
            "polystyrene",
            "polypropylene",
            "nylon",
            "polyamide",
            "polyester",
        ],
        "polymers soften over a range that a capillary does not show; use calorimetry",
    ),
];
const METALS: [&str; 16] = [
    "aluminium",
    "aluminum",
    "antimony",
    "bismuth",
    "cadmium",
    "gallium",
    "indium",
    "lead",
    "lithium",
    "magnesium",
    "mercury",
    "potassium",
    "sodium",
    "tin",
    "zinc",
    "solder",
];

/// Dry, they may explode; wet and in small amounts they are common at a bench. Common practice, no source.
const DRY: [&str; 2] = ["dinitrophenylhydrazine", "dinitrophenol"];

/// Substances that sublime: a sealed tube. Common practice, no source.
const SUBLIME: [&str; 12] = [
    "camphor",
    "naphthalene",
    "1,4-dichlorobenzene",
    "benzoic acid",
    "salicylic acid",
    "phthalic anhydride",
    "maleic anhydride",
    "anthracene",
    "anthraquinone",
    "caffeine",
    "iodine",
    "hexachloroethane",
];
/// Substances that lose gas or decompose: an open tube. Common practice, no source.
const GIVE_OFF: [&str; 11] = [
    "oxalic acid",
    "malonic acid",
    "citric acid",
    "phthalic acid",
    "hippuric acid",
    "dicyandiamide",
    "saccharin",
    "acetylsalicylic acid",
    "aspirin",
    "hydrate",
    "carbonate",
];
/// And what only looks like one of these.
const NOT_GIVE_OFF: [&str; 1] = ["carbohydrate"];
/// Toxic ones that are common at a bench. Common practice, no source.
const TOXIC: [&str; 9] = [
    "azobenzene",
    "phenacetin",
    "nitrophenol",
    "nitroaniline",
    "catechol",
    "phenol",
    "phenolphthalein",
    "2-naphthylamine",
    "benzidine",
];

/// Screen a substance by its name, with or without a CAS number or hazards beside it.
pub fn screen(name: &str) -> Screening {
    let name = name.to_lowercase();
    for (parts, never, class) in REFUSED {
        let named = parts.iter().find(|part| name.contains(**part));
        if let Some(part) = named
            && !never.iter().any(|other| name.contains(other))
        {
            return Screening::Refused {
                why: format!(
                    "\"{part}\" in its name points to {class}, which are not heated in a capillary; ask the responsible person, and identify it another way"
                ),
            };
        }
    }
    for (words, class) in REFUSED_WORDS {
        if let Some(word) = words.iter().find(|word| has_word(&name, word)) {
            return Screening::Refused {
                why: format!(
                    "\"{word}\" in its name points to {class}, which are not heated in a capillary; ask the responsible person, and identify it another way"
                ),
            };
        }
    }
    for (parts, why) in OUT_OF_SCOPE {
        if let Some(part) = parts.iter().find(|part| name.contains(**part)) {
            return Screening::Refused {
                why: format!("\"{part}\" in its name: {why}"),
            };
        }
    }
    if METALS.contains(&name.trim()) {
        return Screening::Refused {
            why: format!(
                "{}: metals are not measured in a glass capillary",
                name.trim()
            ),
        };
    }
    let mut minds = Vec::new();
    let is = |list: &[&str]| list.iter().any(|one| has_word(&name, one));
    if DRY.iter().any(|one| name.contains(one)) {
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
    if is(&GIVE_OFF) && !NOT_GIVE_OFF.iter().any(|other| name.contains(other)) {
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

/// Hazard statements of a text, `H` or `EUH` and three digits, whatever stands between and behind.
fn codes(text: &str) -> Vec<String> {
    let signs: Vec<char> = text.to_uppercase().chars().collect();
    let mut found = Vec::new();
    for at in 0..signs.len() {
        let prefix = match signs[at..] {
            ['E', 'U', 'H', ..] => "EUH",
            ['H', ..] => "H",
            _ => continue,
        };
        // The H of a word or of EUH is none.
        if at > 0 && signs[at - 1].is_alphabetic() {
            continue;
        }
        let behind = signs[at + prefix.len()..].iter();
        let digits: String = behind
            .skip_while(|sign| [' ', '-', '\u{a0}', '.'].contains(*sign))
            .take_while(|sign| sign.is_ascii_digit())
            .collect();
        if digits.len() == 3 {
            found.push(format!("{prefix}{digits}"));
        }
    }
    found
}

fn with(minds: Vec<String>) -> Screening {
    if minds.is_empty() {
        Screening::NotFlagged
    } else {
        Screening::Flagged { minds }
    }
}

/// Whether a name holds a word, not as the end or beginning of a longer one: "phenol" in "4-nitrophenol" is another.
fn has_word(name: &str, word: &str) -> bool {
    name.match_indices(word).any(|(at, _)| {
        let before = name[..at].chars().next_back();
        let after = name[at + word.len()..].chars().next();
        let joins = |sign: Option<char>| sign.is_some_and(char::is_alphabetic);
        // "monohydrate" and "2-nitroaniline" are meant, too.
        let part = ["hydrate", "nitrophenol", "nitroaniline"].contains(&word);
        (part || !joins(before)) && !joins(after)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Classes of CRC §16 table 1 and Prudent Practices table 3.11, each with one that belongs to it.
    #[test]
    fn what_may_explode_is_refused() {
        for name in [
            "sodium azide",
            "Benzenediazonium chloride",
            "Mercury fulminate",
            "silver acetylide",
            "pentaerythritol tetranitrate",
            "ammonium perchlorate",
            "dibenzoyl peroxide",
            "Picric acid",
            "2,4,6-trinitrotoluene",
            "N-bromosuccinimide",
            "1H-tetrazole",
            "TNT",
            "crude RDX, dried",
            "Ammonium nitrate",
            "potassium chlorate",
            "beeswax",
            "hard paraffin",
            "Tin",
        ] {
            assert!(matches!(screen(name), Screening::Refused { .. }), "{name}");
        }
    }

    #[test]
    fn usual_unknowns_are_not_refused_and_some_are_flagged() {
        for name in [
            "acetanilide",
            "urea",
            "trans-cinnamic acid",
            "benzil",
            "vanillin",
            "2-naphthol",
            "benzhydrazide",
            "diazoxide",
        ] {
            assert_eq!(screen(name), Screening::NotFlagged, "{name}");
        }
        for (name, part) in [
            ("benzoic acid", "sublimes"),
            ("oxalic acid dihydrate", "burst"),
            ("4-nitrophenol", "toxic"),
            ("Caffeine", "sublimes"),
            ("2,4-dinitrophenylhydrazine", "dry, it may explode"),
        ] {
            let Screening::Flagged { minds } = screen(name) else {
                panic!("{name} is not flagged");
            };
            assert!(
                minds.iter().any(|mind| mind.contains(part)),
                "{name}: {minds:?}"
            );
        }
    }

    #[test]
    fn hazard_statements_are_found_in_a_text() {
        assert!(matches!(
            screen_hazards("H319, H240"),
            Screening::Refused { .. }
        ));
        assert!(matches!(
            screen_hazards("irritant (h351; H360FD)"),
            Screening::Flagged { .. }
        ));
        assert_eq!(
            screen_hazards("H302 harmful if swallowed"),
            Screening::NotFlagged
        );
        assert_eq!(screen_hazards("irritates eyes"), Screening::NoStatement);
        assert_eq!(screen_hazards("Hot, 240"), Screening::NoStatement);
        assert_eq!(screen_hazards(""), Screening::NoStatement);
        for refused in ["H 240", "h-240", "EUH001", "EUH 044"] {
            assert!(
                matches!(screen_hazards(refused), Screening::Refused { .. }),
                "{refused}"
            );
        }
    }
}
