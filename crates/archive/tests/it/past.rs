//! Spreadsheets of past results as people keep them.

use meltrange_archive::past_results::{Mark, Meaning, PastResult, PastResults, parse};
use proptest::prelude::*;

fn one(text: &str) -> PastResult {
    let found = parse(text);
    assert_eq!(found.rows.len(), 1, "{found:?}");
    found.rows[0].clone()
}

fn left_out(found: &PastResults) -> Vec<(u64, String)> {
    found
        .remarks
        .iter()
        .filter(|remark| remark.left_out)
        .map(|remark| (remark.line, remark.found.clone()))
        .collect()
}

#[test]
fn headers_in_four_languages_and_any_order_are_understood() {
    let expected = PastResult {
        line: 2,
        label: Some("U-1".into()),
        substance: Some("acetanilide".into()),
        from_c: Some(114.0),
        to_c: Some(115.5),
        mark: Mark::Corrected,
        rate_c_per_min: Some(1.5),
        on: Some(jiff::civil::date(2026, 11, 26)),
        by: Some("R. Amsel".into()),
        source: Some("book 3".into()),
        remarks: Some("dry".into()),
        ..PastResult::default()
    };
    for text in [
        "sample,substance,melting range (°C),corrected,heating rate (°C/min),date,by,source,notes\n\
         U-1,acetanilide,114.0-115.5,yes,1.5,2026-11-26,R. Amsel,book 3,dry\n",
        "Datum;Bearbeiter;Probe;Substanz;Schmelzbereich [°C];korrigiert;Heizrate [°C/min];Quelle;Bemerkungen\n\
         26.11.2026;R. Amsel;U-1;acetanilide;114,0–115,5;ja;1,5;book 3;dry\n",
        "Échantillon\tComposé\tPoint de fusion\tCorrigé\tVitesse de chauffe\tDate\tOpérateur\tSource\tRemarques\n\
         U-1\tacetanilide\t114,0 à 115,5 °C\toui\t1,5\t26/11/2026\tR. Amsel\tbook 3\tdry\n",
        "Muestra;Compuesto;Desde;Hasta;Corregido;Velocidad de calentamiento;Fecha;Analista;Fuente;Observaciones\n\
         U-1;acetanilide;114,0;115,5;sí;1,5;26/11/2026;R. Amsel;book 3;dry\n",
    ] {
        assert_eq!(one(text), expected, "{text}");
        assert_eq!(left_out(&parse(text)), [], "{text}");
    }
}

#[test]
fn ranges_are_taken_as_people_write_them() {
    // Cell; from, to [°C]; above, approximate, decomposed; mark.
    let cases = [
        (
            "114-115",
            114.0,
            Some(115.0),
            false,
            false,
            false,
            Mark::NotStated,
        ),
        (
            "114.0–115.5 °C",
            114.0,
            Some(115.5),
            false,
            false,
            false,
            Mark::NotStated,
        ),
        (
            "\"114,0 - 115,5\"",
            114.0,
            Some(115.5),
            false,
            false,
            false,
            Mark::NotStated,
        ),
        ("ca. 115", 115.0, None, false, true, false, Mark::NotStated),
        ("~115 °C", 115.0, None, false, true, false, Mark::NotStated),
        (
            "> 300 dec.",
            300.0,
            None,
            true,
            false,
            true,
            Mark::NotStated,
        ),
        (
            "212 (Zers.)",
            212.0,
            None,
            false,
            false,
            true,
            Mark::NotStated,
        ),
        (
            "210-212 °C (dec.)",
            210.0,
            Some(212.0),
            false,
            false,
            true,
            Mark::NotStated,
        ),
        (
            "114 - 115 korr.",
            114.0,
            Some(115.0),
            false,
            false,
            false,
            Mark::Corrected,
        ),
        (
            "114-115 (uncorr.)",
            114.0,
            Some(115.0),
            false,
            false,
            false,
            Mark::Uncorrected,
        ),
        // 237.2 °F and 387.15 K are 114 °C exactly: °C = (°F - 32)/1.8 = K - 273.15 (SI Brochure, 9th edition, 2.3.1
        // for the kelvin; the degree Fahrenheit by its definition).
        (
            "237.2 °F",
            114.0,
            None,
            false,
            false,
            false,
            Mark::NotStated,
        ),
        (
            "387.15 K",
            114.0,
            None,
            false,
            false,
            false,
            Mark::NotStated,
        ),
        (
            "-25 to -23",
            -25.0,
            Some(-23.0),
            false,
            false,
            false,
            Mark::NotStated,
        ),
    ];
    for (cell, from_c, to_c, above, approximate, decomposed, mark) in cases {
        let found = one(&format!("label,mp\nU-1,{cell}\n"));
        assert_eq!((found.from_c, found.to_c), (Some(from_c), to_c), "{cell}");
        assert_eq!(
            (found.above, found.approximate, found.decomposed, found.mark),
            (above, approximate, decomposed, mark),
            "{cell}"
        );
    }
    let fahrenheit = parse("label;mp (°F)\nU-1;237,2-239\n");
    assert_eq!(
        (fahrenheit.rows[0].from_c, fahrenheit.rows[0].to_c),
        (Some(114.0), Some(115.0))
    );
    assert!(fahrenheit.columns[1].how.contains("converted from °F"));
    let kelvin = one("label,from_k,to_k\nU-1,387.15,388.15\n");
    assert_eq!((kelvin.from_c, kelvin.to_c), (Some(114.0), Some(115.0)));
}

#[test]
fn what_is_not_understood_is_listed_and_its_row_kept() {
    let text = "# kept by hand\nlabel,mp,date,corrected,colour\n\
                U-1,abc,2026-11-26,yes,white\n\
                U-2,114-5,26.11.26,maybe,\n\
                ,115,03/04/2026,,\n\
                U-4,1150,2026-13-01,no,,extra\n\
                U-5,<115,,,\n";
    let found = parse(text);
    assert_eq!(found.rows.len(), 5);
    let lines: Vec<u64> = found.rows.iter().map(|row| row.line).collect();
    assert_eq!(lines, [3, 4, 5, 6, 7]);
    let all = left_out(&found);
    for expected in [
        (2, "colour"),
        (3, "abc"),
        (4, "114-5"),
        (4, "maybe"),
        (5, "03/04/2026"),
        (6, "1150"),
        (6, "2026-13-01"),
        (6, "6 cells"),
        (7, "<115"),
    ] {
        let expected = (expected.0, expected.1.to_owned());
        assert!(all.contains(&expected), "{expected:?} is not in {all:?}");
    }
    // A year of two digits is taken, and said.
    assert_eq!(found.rows[1].on, Some(jiff::civil::date(2026, 11, 26)));
    assert!(
        found
            .remarks
            .iter()
            .any(|remark| remark.line == 4 && remark.said.contains("two digits"))
    );
    // Nothing is taken of a cell that was not understood.
    assert!(
        found
            .rows
            .iter()
            .all(|row| row.from_c.is_none_or(|from_c| from_c == 115.0))
    );
}

#[test]
fn dates_with_strokes_are_read_as_others_of_the_column_show() {
    let rows = |dates: &[&str]| {
        let lines: Vec<String> = dates
            .iter()
            .map(|date| format!("U-1,115,{date}\n"))
            .collect();
        parse(&format!("label,mp,date\n{}", lines.concat()))
    };
    let month_first = rows(&["03/04/2026", "11/26/2026"]);
    assert_eq!(month_first.rows[0].on, Some(jiff::civil::date(2026, 3, 4)));
    assert!(
        month_first.columns[2]
            .how
            .contains("month comes first, as line 3 shows")
    );
    let day_first = rows(&["03/04/2026", "26/11/2026"]);
    assert_eq!(day_first.rows[0].on, Some(jiff::civil::date(2026, 4, 3)));
    let mixed = rows(&["03/04/2026", "26/11/2026", "11/26/2026"]);
    assert_eq!(mixed.rows[0].on, None);
    assert_eq!(mixed.rows[1].on, mixed.rows[2].on);
    let alone = rows(&["03/04/2026", "05/05/2026"]);
    assert_eq!(alone.rows[0].on, None);
    assert_eq!(alone.rows[1].on, Some(jiff::civil::date(2026, 5, 5)));
}

#[test]
fn two_columns_of_one_meaning_and_none_of_ranges_are_said() {
    let found = parse("label,sample,weight\nU-1,U-1,3\n");
    assert_eq!(found.columns[0].meaning, Some(Meaning::Label));
    assert_eq!(found.columns[1].meaning, None);
    assert!(
        found
            .remarks
            .iter()
            .any(|remark| remark.found.contains("no column of melting ranges"))
    );
    assert!(parse("").rows.is_empty());
    assert_eq!(parse("").remarks.len(), 1);
}

proptest! {
    #[test]
    fn any_text_gives_an_answer(text in "[ -~\n\t;äé°–>]{0,200}") {
        let found = parse(&text);
        for row in &found.rows {
            prop_assert!(row.line >= 1);
        }
    }

    #[test]
    fn ranges_come_back(from in -1000_i32..5000, width in 0_i32..500, comma in any::<bool>()) {
        let (from_c, to_c) = (f64::from(from) / 10.0, f64::from(from + width) / 10.0);
        prop_assume!(from_c >= 0.0);
        let cell = format!("{from_c:.1} - {to_c:.1}");
        let cell = if comma { cell.replace('.', ",") } else { cell };
        let found = one(&format!("label;mp\nU-1;{cell}\n"));
        prop_assert_eq!((found.from_c, found.to_c), (Some(from_c), Some(to_c)));
    }
}
