//! Reference substances that are usual for checking a thermometer at a capillary.
//!
//! No value here is a reference value: lots differ, and the label in the cupboard counts. The
//! temperatures serve to find the right substance and to notice a slip of the pen.

use serde::Serialize;

/// A substance that is usual as a reference.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct UsualStandard {
    /// Name.
    pub name: &'static str,
    /// CAS registry number.
    pub cas: &'static str,
    /// Where it melts in a capillary at about 1 °C/min, to the degree [°C].
    pub about_c: f64,
    /// What to mind with it: behaviour and the usual hazards, not a safety data sheet.
    pub cautions: &'static str,
}

/// Farther than this from [`UsualStandard::about_c`] a value on a label is worth a second look [°C].
pub const WORTH_A_SECOND_LOOK_C: f64 = 3.0;

/// Usual reference substances, lowest first.
///
/// # Source
/// The choice follows the reference substances of pharmacopoeias and of national institutes;
/// temperatures from memory to the degree, for orientation only; cautions: common practice and the
/// usual classification, no single source. The safety data sheet of the lot counts.
pub fn usual_standards() -> &'static [UsualStandard] {
    &USUAL
}

const fn usual(
    name: &'static str,
    cas: &'static str,
    about_c: f64,
    cautions: &'static str,
) -> UsualStandard {
    UsualStandard {
        name,
        cas,
        about_c,
        cautions,
    }
}

const USUAL: [UsualStandard; 17] = [
    usual(
        "phenyl salicylate",
        "118-55-8",
        42.0,
        "supercools: use fresh powder for every tube; skin sensitiser",
    ),
    usual(
        "benzophenone",
        "119-61-9",
        48.0,
        "two forms, the unstable one melts near 26 °C: use powder that was never melted; suspected of causing cancer",
    ),
    usual(
        "4-nitrotoluene",
        "99-99-0",
        52.0,
        "toxic by skin, mouth and breath: gloves, fume hood",
    ),
    usual(
        "azobenzene",
        "103-33-3",
        69.0,
        "may cause cancer, suspected of causing genetic defects: many places do not allow it in teaching; light turns part of it into another isomer",
    ),
    usual(
        "naphthalene",
        "91-20-3",
        80.0,
        "sublimes: seal the tube; suspected of causing cancer, harmful to water life",
    ),
    usual(
        "vanillin",
        "121-33-5",
        82.0,
        "several forms, oxidises in air, sublimes a little; irritates the eyes",
    ),
    usual("benzil", "134-81-6", 96.0, "irritates eyes and skin"),
    usual(
        "acetanilide",
        "103-84-4",
        115.0,
        "dry it well: wet crystals melt sharply near 83 °C; harmful if swallowed",
    ),
    usual(
        "benzoic acid",
        "65-85-0",
        123.0,
        "sublimes: seal the tube; damages the eyes",
    ),
    usual(
        "phenacetin",
        "62-44-2",
        135.0,
        "may cause cancer: many places do not allow it in teaching",
    ),
    usual(
        "benzanilide",
        "93-98-1",
        163.0,
        "handbooks differ by several degrees: trust the certificate only",
    ),
    usual(
        "sulfanilamide",
        "63-74-1",
        166.0,
        "at least three forms; use a lot certified for melting",
    ),
    usual(
        "sulfapyridine",
        "144-83-2",
        192.0,
        "several forms; may sensitise",
    ),
    usual(
        "saccharin",
        "81-07-2",
        228.0,
        "decomposes close to melting: give the heating rate, do not linger",
    ),
    usual(
        "caffeine",
        "58-08-2",
        237.0,
        "sublimes: seal the tube; changes its form near 141 to 153 °C; harmful if swallowed",
    ),
    usual(
        "carbazole",
        "86-74-8",
        246.0,
        "sublimes; suspected of causing cancer, harmful to water life",
    ),
    usual(
        "phenolphthalein",
        "77-09-8",
        263.0,
        "may cause cancer, suspected of harming fertility: many places do not allow it in teaching",
    ),
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Check digit of CAS registry numbers: the digits from the right, weighted 1, 2, 3 …, modulo 10.
    #[test]
    fn registry_numbers_carry_their_check_digit_and_the_list_rises() {
        for substance in usual_standards() {
            let digits: Vec<u32> = substance
                .cas
                .chars()
                .filter_map(|c| c.to_digit(10))
                .collect();
            let (check, rest) = digits.split_last().expect("digits");
            let sum: u32 = (1..)
                .zip(rest.iter().rev())
                .map(|(place, digit)| place * digit)
                .sum();
            assert_eq!(sum % 10, *check, "{}", substance.name);
            assert!(!substance.cautions.is_empty());
        }
        assert!(usual_standards().is_sorted_by(|a, b| a.about_c < b.about_c));
    }
}
