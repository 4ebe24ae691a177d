//! Colours of the page against WCAG 2.2: 1.4.3 asks 4.5 for text, 1.4.11 asks 3 for what carries
//! meaning in a drawing. Relative luminance and contrast ratio as that recommendation defines them.

use std::collections::BTreeMap;

/// Of the evidence page and of reports.
const STYLES: [&str; 2] = [
    include_str!("../../src/evidence/style.css"),
    include_str!("../../src/templates/report.css"),
];

/// `:root` colours in the order of the style sheet: light, dark, print.
fn palettes(style: &str) -> Vec<BTreeMap<String, [f64; 3]>> {
    style
        .split(":root {")
        .skip(1)
        .map(|rest| {
            let block = rest.split('}').next().expect("split gives one part");
            block
                .split(';')
                .filter_map(|line| line.trim().strip_prefix("--")?.split_once(':'))
                .map(|(name, colour)| (name.to_owned(), channels(colour.trim())))
                .collect()
        })
        .collect()
}

fn channels(colour: &str) -> [f64; 3] {
    let digits = colour.strip_prefix('#').expect("colours are hexadecimal");
    let long: String = if digits.len() == 3 {
        digits.chars().flat_map(|digit| [digit, digit]).collect()
    } else {
        digits.to_owned()
    };
    [0, 2, 4].map(|at| {
        f64::from(u8::from_str_radix(&long[at..at + 2], 16).expect("two hexadecimal digits"))
            / 255.0
    })
}

fn luminance(colour: [f64; 3]) -> f64 {
    let [red, green, blue] = colour.map(|channel| {
        if channel <= 0.04045 {
            channel / 12.92
        } else {
            ((channel + 0.055) / 1.055).powf(2.4)
        }
    });
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

fn contrast(one: [f64; 3], other: [f64; 3]) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

#[test]
fn black_on_white_has_the_published_ratio() {
    // WCAG 2.2, definition of contrast ratio: 1 to 21.
    assert!((contrast([0.0; 3], [1.0; 3]) - 21.0).abs() < 1e-9);
}

#[test]
fn text_and_drawings_stand_out_in_every_palette() {
    let palettes = STYLES.map(palettes);
    assert!(
        palettes.iter().all(|one| one.len() == 3),
        "light, dark and print"
    );
    for palette in palettes.iter().flatten() {
        for ground in ["paper", "sheet"] {
            let wanted = [
                ("ink", 4.5),
                ("soft", 4.5),
                ("link", 4.5),
                ("first", 4.5),
                ("last", 4.5),
                ("flag", 4.5),
                ("solid", 3.0),
            ];
            for (name, least) in wanted {
                // Reports draw no solid fraction.
                let Some(colour) = palette.get(name) else {
                    assert_eq!(name, "solid");
                    continue;
                };
                let found = contrast(*colour, palette[ground]);
                assert!(
                    found >= least,
                    "--{name} on --{ground}: {found:.2} < {least}"
                );
            }
        }
    }
}
