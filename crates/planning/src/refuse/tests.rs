//! Names and codes that are refused, flagged and passed over.

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

fn is_refused(found: &Screening) -> bool {
    matches!(found, Screening::Refused { .. })
}

/// An exception is one of the match alone: what stands beside it is looked at all the same.
#[test]
fn what_belongs_to_a_class_is_refused_whatever_stands_beside_it() {
    for name in [
        "azidobenzene",
        "4-azidobenzoic acid",
        "sodium azide with benzhydrazide",
        "1,2,3-thiadiazole-4-diazonium chloride",
        "picryl chloride",
        "perchloric acid",
        "perchloryl fluoride",
        "peracetic acid",
        "3-chloroperbenzoic acid",
        "mCPBA",
        "m-CPBA, 75 %",
        "chlorates, mixed",
        "AIBN",
        "2,2'-azobis(2-methylpropionitrile)",
        "ethyl nitrite",
        "isopentyl nitrite",
        "methylnitrate",
        "isosorbide dinitrate",
        "nitrogen triiodide",
        "N,N-dichlorourethane",
        "N-chlorosuccinimide",
        "chloramine-T trihydrate",
        "tin metal",
        "indium, 99.9 %",
        "Granulated zinc",
        "Wood\u{2019}s metal",
        "lard",
        "wax",
        "carnauba wax",
        // Hyphens that are not the keyboard's, a space that is none, and one that is not seen.
        "N\u{2010}bromosuccinimide",
        "N\u{2011}bromosuccinimide",
        "N\u{2013}bromosuccinimide",
        "ammonium\u{a0}nitrate",
        "sodium a\u{ad}zide",
    ] {
        assert!(is_refused(&screen(name)), "{name}");
    }
}

#[test]
fn what_only_looks_like_a_class_is_not_refused() {
    for name in [
        "semicarbazide",
        "thiosemicarbazide hydrochloride",
        "1,5-diphenylcarbazide",
        "hydrochlorothiazide",
        "bendroflumethiazide",
        "gliclazide",
        "diazolidinyl urea",
        "1,2,3-thiadiazole",
        "superoxide dismutase",
        "zinc dinitrate",
        "cobalt(II) dinitrate hexahydrate",
        "uranyl nitrate",
        "silver nitrate",
        "antimony triiodide",
        "naphthalamine",
        "sodium hexanitrocobaltate(III)",
        "n-bromodecane",
        "1-n-chlorobutane",
        "N-chloroacetylglycine",
        "tin(II) chloride",
        "lead oxide",
        "sodium benzoate",
        "cocaine hydrochlorate",
        "perchloroethylene",
    ] {
        assert!(!is_refused(&screen(name)), "{name}: {:?}", screen(name));
    }
}

/// Initials and surnames with a number are what tubes are labelled with.
#[test]
fn a_label_is_screened_by_words_that_are_no_initials_and_no_surnames() {
    for label in ["Willard-2", "Pollard 1", "Waxman 3", "HNS-3", "Lead 3"] {
        assert_eq!(screen_label(label), Screening::NotFlagged, "{label}");
    }
    for label in [
        "sodium azide",
        "2,4,6-trinitrotoluene",
        "picric acid 2",
        "TNT 1",
        "RDX, crude",
        "TATP",
        "beeswax",
        "wax",
        "potassium chlorate",
        "tin",
    ] {
        assert!(is_refused(&screen_label(label)), "{label}");
    }
    assert!(matches!(
        screen_label("benzoic acid"),
        Screening::Flagged { .. }
    ));
}

#[test]
fn what_gives_off_gas_or_explodes_dry_is_flagged() {
    for (name, part) in [
        ("sodium bicarbonate", "burst"),
        ("sodium hydrogencarbonate", "burst"),
        ("potassium hydrogen carbonate", "burst"),
        ("a carbohydrate monohydrate", "burst"),
        ("DNPH", "dry, it may explode"),
    ] {
        let Screening::Flagged { minds } = screen(name) else {
            panic!("{name} is not flagged");
        };
        assert!(
            minds.iter().any(|mind| mind.contains(part)),
            "{name}: {minds:?}"
        );
    }
    assert_eq!(screen("a carbohydrate"), Screening::NotFlagged);
}

#[test]
fn codes_are_found_behind_few_signs_and_all_of_a_combined_one() {
    for (text, expected) in [
        ("H302, H:240", vec!["H302", "H240"]),
        ("H302; H\u{2013}240", vec!["H302", "H240"]),
        ("H302\tH\t240", vec!["H302", "H240"]),
        ("H302 (H_240)", vec!["H302", "H240"]),
        ("H301/311/331", vec!["H301", "H311", "H331"]),
        ("H300+310+330", vec!["H300", "H310", "H330"]),
        ("H301 + H311", vec!["H301", "H311"]),
        ("H301 + 311: toxic", vec!["H301", "H311"]),
        ("H360FD/H350i", vec!["H360", "H350"]),
        ("EUH-001; EUH 044", vec!["EUH001", "EUH044"]),
        ("1H 300 MHz", vec![]),
        ("vitamin H - 500 mg", vec![]),
        ("H2400, H24, H .... 240", vec![]),
        ("Hot, 240", vec![]),
    ] {
        assert_eq!(codes(text), expected, "{text}");
    }
    assert!(is_refused(&screen_hazards("H302\tH\t240")));
    assert_eq!(screen_hazards("vitamin H - 500 mg"), Screening::NoStatement);
}
