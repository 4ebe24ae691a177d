//! Names of what is not heated in a capillary, and of what needs more care than usual.

/// A class of substances as its names show it, all in small letters.
pub(super) struct Class {
    /// What a name holds anywhere, also within a word.
    pub parts: &'static [&'static str],
    /// What a name holds as whole words, one or several of each.
    pub words: &'static [&'static str],
    /// The same where a label is none: abbreviations that may be anybody's initials.
    pub short: &'static [&'static str],
    /// What only looks like one of the parts: a part within one of these is passed over, others are not.
    pub not: &'static [&'static str],
    /// What the class is called.
    pub class: &'static str,
}

const NOTHING: Class = Class {
    parts: &[],
    words: &[],
    short: &[],
    not: &[],
    class: "",
};

/// Classes that are refused.
///
/// # Source
/// CRC Handbook of Chemistry and Physics §16 table 1 (list's start read); US National Research Council, Prudent
/// Practices in the Laboratory (1995) §3.D.3, table 3.11 (read). The parts of names, what only looks like them, what
/// they are called for short, and azo initiators: common practice, no source.
pub(super) const REFUSED: &[Class] = &[
    Class {
        parts: &["azide", "azido"],
        not: &["hydrazid", "carbazid", "thiazid", "lazide", "niazide"],
        class: "azides",
        ..NOTHING
    },
    Class {
        parts: &["diazo"],
        not: &[
            "diazol",
            "diazoxide",
            "oxadiazon",
            "diazocin",
            "diazocan",
            "diazonan",
        ],
        class: "diazo compounds and diazonium salts",
        ..NOTHING
    },
    Class {
        parts: &["azobis", "azodiisobut"],
        short: &["aibn"],
        class: "azo initiators, which give off gas all at once",
        ..NOTHING
    },
    Class {
        parts: &["fulminat", "fulminic"],
        class: "fulminates",
        ..NOTHING
    },
    Class {
        parts: &["acetylid", "polyacetylen", "haloacetylen"],
        not: &["acetyliden"],
        class: "acetylides",
        ..NOTHING
    },
    Class {
        parts: &["nitroglycerin", "nitrocellulose"],
        words: &["cellulose nitrate"],
        class: "alkyl and polyol nitrates, alkyl and acyl nitrites",
        ..NOTHING
    },
    Class {
        parts: &["perchlorat", "perchloric", "perchloryl", "chlorite"],
        not: &["hypochlorite"],
        class: "perchlorates and chlorites",
        ..NOTHING
    },
    Class {
        parts: &[
            "peroxide",
            "peroxy",
            "perbenzo",
            "perphthal",
            "peracid",
            "butyl peracetate",
            "ozonide",
        ],
        words: &[
            "peracetic",
            "performic",
            "perpropionic",
            "trifluoroperacetic",
            "tatp",
            "hmtd",
            "mcpba",
        ],
        short: &["mekp", "cpba"],
        not: &["superoxide dismutase"],
        class: "organic peroxides, peroxy acids and ozonides",
    },
    Class {
        parts: &[
            "picrat",
            "picric",
            "picryl",
            "styphn",
            "trinitro",
            "tetranitro",
            "hexanitro",
        ],
        words: &[
            "tetryl",
            "hexogen",
            "octogen",
            "cyclonite",
            "nitroguanidine",
            // On a label, too: better one with these initials is renamed than one of these is heated.
            "tnt",
            "rdx",
            "hmx",
            "petn",
        ],
        short: &["ddnp", "hns", "tatb"],
        not: &["hexanitrocobalt", "tetranitrodiammin", "trinitrotriammin"],
        class: "explosives, picrates and polynitroaromatics",
    },
    Class {
        parts: &[
            "n-chloro",
            "n-bromo",
            "n-iodo",
            "n-dichloro",
            "n-dibromo",
            "nitrogen tri",
            "haloamine",
            "chloramine",
            "bromamine",
            "tetrazole",
            "tetrazene",
        ],
        words: &["halamine"],
        class: "N-halogen compounds and nitrogen-rich rings",
        ..NOTHING
    },
    Class {
        words: &[
            "ammonium nitrate",
            "ammonium nitrite",
            "guanidine nitrate",
            "urea nitrate",
            "hydrazine nitrate",
        ],
        class: "nitrates of bases",
        ..NOTHING
    },
    Class {
        words: &[
            "chlorate",
            "chloric acid",
            "bromate",
            "permanganate",
            "chromium trioxide",
        ],
        class: "strong oxidisers",
        ..NOTHING
    },
];

/// What is not measured in a packed capillary at all, and why.
pub(super) const OUT_OF_SCOPE: &[Class] = &[
    Class {
        words: &[
            "wax",
            "waxes",
            "beeswax",
            "paraffin",
            "petrolatum",
            "vaseline",
            "tallow",
            "lard",
            "cocoa butter",
            "suet",
            "lanolin",
        ],
        class: "waxes and fats are measured by the rise of a column in an open tube, not here",
        ..NOTHING
    },
    Class {
        words: &[
            "wood's metal",
            "rose's metal",
            "field's metal",
            "alloy",
            "amalgam",
        ],
        class: "metals are not measured in a glass capillary",
        ..NOTHING
    },
    Class {
        parts: &[
            "polyethylene",
            "polystyrene",
            "polypropylene",
            "polyamide",
            "polyester",
        ],
        words: &["nylon"],
        class: "polymers soften over a range that a capillary does not show; use calorimetry",
        ..NOTHING
    },
];

/// Halogenated alkanes whose chain is normal, "n-", which no nitrogen is.
pub(super) const HALOGENS: [&str; 3] = ["chloro", "bromo", "iodo"];
pub(super) const SHORT_ALKANES: [&str; 9] = [
    "methane", "ethane", "propane", "butane", "pentane", "hexane", "heptane", "octane", "nonane",
];

/// What carries a nitrate or nitrite and ends in "yl", but is a metal with oxygen.
pub(super) const METAL_YL: [&str; 6] = [
    "uranyl",
    "vanadyl",
    "zirconyl",
    "titanyl",
    "bismuthyl",
    "hafnyl",
];

/// Metals and alloys.
pub(super) const METALS: [&str; 37] = [
    "aluminium",
    "aluminum",
    "antimony",
    "barium",
    "bismuth",
    "cadmium",
    "caesium",
    "calcium",
    "cerium",
    "cesium",
    "chromium",
    "cobalt",
    "copper",
    "gallium",
    "gold",
    "indium",
    "iron",
    "lanthanum",
    "lead",
    "lithium",
    "magnesium",
    "manganese",
    "mercury",
    "nickel",
    "palladium",
    "platinum",
    "potassium",
    "rubidium",
    "silver",
    "sodium",
    "solder",
    "strontium",
    "thallium",
    "tin",
    "titanium",
    "zinc",
    "zirconium",
];

/// What stands beside a metal's name while it is still the metal.
pub(super) const OF_METALS: [&str; 25] = [
    "metal",
    "metallic",
    "powder",
    "powdered",
    "dust",
    "filings",
    "shot",
    "granules",
    "granulated",
    "granular",
    "pellets",
    "wire",
    "foil",
    "sheet",
    "ribbon",
    "rod",
    "sticks",
    "turnings",
    "ingot",
    "chips",
    "pure",
    "purity",
    "puriss",
    "standard",
    "reference",
];

/// Dry, they may explode; wet and in small amounts they are common at a bench. Common practice, no source.
pub(super) const DRY: [&str; 2] = ["dinitrophenylhydrazine", "dinitrophenol"];
pub(super) const DRY_SHORT: [&str; 1] = ["dnph"];

/// Substances that sublime: a sealed tube. Common practice, no source.
pub(super) const SUBLIME: [&str; 12] = [
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
pub(super) const GIVE_OFF: [&str; 13] = [
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
    "bicarbonate",
    "hydrogencarbonate",
];

/// And what only looks like one of these.
pub(super) const NOT_GIVE_OFF: [&str; 1] = ["carbohydrate"];

/// Words that are meant at the end of a longer one, too: "monohydrate", "2-nitroaniline".
pub(super) const ENDINGS: [&str; 3] = ["hydrate", "nitrophenol", "nitroaniline"];

/// Toxic ones that are common at a bench. Common practice, no source.
pub(super) const TOXIC: [&str; 9] = [
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
