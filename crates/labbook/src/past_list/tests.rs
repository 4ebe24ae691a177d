use super::*;

fn read(text: &str) -> PastList {
    parse_past("past.csv", text.as_bytes()).expect("a table")
}

fn ends(list: &PastList) -> Vec<(Option<f64>, Option<f64>)> {
    list.rows.iter().map(|row| (row.from_c, row.to_c)).collect()
}

#[test]
fn ranges_are_read_as_people_write_them() {
    let list = read(
        "sample;mp;date\n\
         U-1;114-115;2019-03-12\n\
         U-2;114,0–115,5 °C;12.03.2019\n\
         U-3;ca. 115;\n\
         U-4;> 300 dec.;\n\
         U-5;132-3;\n\
         U-6;94.5 to 95.5 (corr.);\n\
         U-7;-5 - -3;\n\
         U-8;250 °F;\n",
    );
    assert_eq!(list.separator, ';');
    // 250 °F is 121.11 °C: (250 - 32) / 1.8, by the definition of the degree Fahrenheit (NIST SP 811, B.8).
    let expected = [
        (Some(114.0), Some(115.0)),
        (Some(114.0), Some(115.5)),
        (Some(115.0), Some(115.0)),
        (Some(300.0), None),
        (Some(132.0), Some(133.0)),
        (Some(94.5), Some(95.5)),
        (Some(-5.0), Some(-3.0)),
        (Some(121.11), Some(121.11)),
    ];
    assert_eq!(ends(&list), expected);
    assert!(list.rows[3].above && list.rows[3].decomposed);
    assert_eq!(list.rows[5].mark, CorrectionMark::Corrected);
    assert_eq!(list.rows[4].notes, ["132-3 was read as 132–133"]);
    assert_eq!(list.rows[0].measured_on, list.rows[1].measured_on);
    assert!(list.faults.is_empty(), "{:?}", list.faults);
}

#[test]
fn what_else_is_written_is_not_guessed() {
    for cell in [
        "122 (lit. 123)",
        "run 1: 114",
        "softens 110, melts 114",
        "114 ± 5",
        "121 (3 runs)",
        "< 50",
        "not molten at 300",
        "114,115",
        "c. 240",
    ] {
        let list = read(&format!("sample;mp\nU-1;{cell}\n"));
        assert_eq!(
            (list.rows.len(), list.faults.len()),
            (0, 1),
            "{cell}: {:?}",
            list.rows
        );
    }
    for (cell, from_c, above, decomposed, mark) in [
        (
            "114 nicht korrigiert",
            114.0,
            false,
            false,
            CorrectionMark::Uncorrected,
        ),
        (
            "114 (non-corrigé)",
            114.0,
            false,
            false,
            CorrectionMark::Uncorrected,
        ),
        ("dec. > 250", 250.0, true, true, CorrectionMark::NotStated),
        ("mp > 300 °C", 300.0, true, false, CorrectionMark::NotStated),
        (
            "210 no dec.",
            210.0,
            false,
            false,
            CorrectionMark::NotStated,
        ),
        ("388 °K", 114.85, false, false, CorrectionMark::NotStated),
        (
            "114 °C - 115 °C",
            114.0,
            false,
            false,
            CorrectionMark::NotStated,
        ),
    ] {
        let list = read(&format!("sample;mp\nU-1;{cell}\n"));
        let row = list
            .rows
            .first()
            .unwrap_or_else(|| panic!("{cell}: {:?}", list.faults));
        let found = (row.from_c, row.above, row.decomposed, row.mark);
        assert_eq!(found, (Some(from_c), above, decomposed, mark), "{cell}");
    }
}

#[test]
fn what_a_book_does_not_keep_is_named_before() {
    let long = "U".repeat(300);
    let list = read(&format!(
        "sample;mp;remarks\n{long};114;\nU-2;115;\u{7}\nU-3;116;\n"
    ));
    let at: Vec<u64> = list.faults.iter().map(|fault| fault.line).collect();
    assert_eq!(
        (at.as_slice(), list.rows.len()),
        ([2, 3].as_slice(), 1),
        "{:?}",
        list.faults
    );
}

#[test]
fn a_quotation_mark_that_is_not_closed_is_named() {
    let list = read("sample,remarks,mp\nA,\"yellow,114-115\nB,white,120-121\nC,\"tan,130\n");
    assert_eq!((list.rows.len(), list.faults[0].line), (0, 2), "{list:?}");
    assert!(
        list.faults[0].found.contains("to line 4"),
        "{:?}",
        list.faults
    );
}

#[test]
fn numbers_of_rows_are_no_labels_where_there_are_some() {
    let list = read("No;Sample;mp\n1;U-7;100\n");
    assert_eq!(list.rows[0].label, "U-7");
    assert_eq!(read("No;mp\n1;100\n").rows[0].label, "1");
}

#[test]
fn headings_of_four_languages_are_known_and_others_left_alone() {
    for (header, row) in [
        (
            "label,melting range,by,remarks,shelf",
            "U-1,114-115,E. Zeisig,dry,3",
        ),
        (
            "Probe;Schmelzbereich;gemessen von;Bemerkung;Regal",
            "U-1;114-115;E. Zeisig;dry;3",
        ),
        (
            "Échantillon;Point de fusion;Par;Remarques;Rayon",
            "U-1;114-115;E. Zeisig;dry;3",
        ),
        (
            "Muestra;Punto de fusión;Por;Observaciones;Estante",
            "U-1;114-115;E. Zeisig;dry;3",
        ),
    ] {
        let list = read(&format!("{header}\n{row}\n"));
        assert_eq!(ends(&list), [(Some(114.0), Some(115.0))], "{header}");
        assert_eq!(list.rows[0].by.as_deref(), Some("E. Zeisig"), "{header}");
        assert_eq!(list.rows[0].remarks.as_deref(), Some("dry"), "{header}");
        assert_eq!(list.columns[4].taken_for, None);
    }
}

#[test]
fn two_columns_units_and_decimal_commas() {
    let list = read("Probe;von (K);bis (K);Heizrate (°C/min);korrigiert\nA;387,15;388,65;1,0;ja\n");
    assert_eq!(ends(&list), [(Some(114.0), Some(115.5))]);
    let row = &list.rows[0];
    assert_eq!(row.heating_rate_c_per_min, Some(1.0));
    assert_eq!(row.mark, CorrectionMark::Corrected);
    assert!(row.notes[0].contains("converted from K"), "{:?}", row.notes);
}

#[test]
fn no_row_is_lost_and_what_is_wrong_is_named() {
    let list = read(
        "sample,mp,date\n\
         U-1,clear oil,\n\
         U-2,115-114,\n\
         ,100-101,\n\
         U-4,100-101,first of May\n\
         U-5,114,5-115,5,2019-03-12\n\
         U-6,3871,\n\
         U-7,,\n\
         U-8,100-101,03/04/2019\n",
    );
    let at: Vec<(u64, bool)> = list
        .faults
        .iter()
        .map(|fault| (fault.line, fault.left_out))
        .collect();
    let expected = [
        (2, true),
        (3, true),
        (4, true),
        (5, false),
        (6, true),
        (7, true),
        (8, true),
    ];
    assert_eq!(at, expected, "{:?}", list.faults);
    assert_eq!(list.rows.len(), 2);
    assert!(list.faults[4].expected.contains("decimal comma"));
    assert_eq!(list.rows[1].measured_on, "2019-04-03".parse().ok());
    assert!(list.remarks[0].contains("two ways"), "{:?}", list.remarks);
}

#[test]
fn what_is_no_table_is_refused() {
    for (text, word) in [
        ("", "empty"),
        ("  \n\n", "empty"),
        ("colour,shape\nred,round\n", "names the samples"),
        ("sample,colour\nU-1,red\n", "holds a result"),
    ] {
        let told = parse_past("past.csv", text.as_bytes())
            .expect_err("no table")
            .to_string();
        assert!(
            told.contains(word) && told.starts_with("past.csv"),
            "{told}"
        );
    }
    // A spreadsheet of the years before UTF-8: "°" is one byte.
    let old = parse_past("past.csv", b"Probe;Schmp. (\xB0C)\nA;114\n").expect("read");
    assert_eq!(old.rows.len(), 1);
    assert!(old.remarks[0].contains("8859"), "{:?}", old.remarks);
}

proptest::proptest! {
    /// Whatever is written, no row vanishes: each is understood or named.
    #[test]
    fn every_line_is_accounted_for(cells in proptest::collection::vec("[ -~]{0,12}", 1..20)) {
        let mut text = String::from("sample\tmp\n");
        let mut lines = 0;
        for cell in &cells {
            let cell = cell.replace(['\t', '"'], " ");
            text.push_str(&format!("U\t{cell}\n"));
            lines += 1;
        }
        let list = parse_past("past.csv", text.as_bytes()).expect("a table");
        let left_out = list.faults.iter().filter(|fault| fault.left_out).count();
        proptest::prop_assert_eq!(list.rows.len() + left_out, lines);
    }
}
