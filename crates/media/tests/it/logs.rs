//! Temperature logs with the faults that they come with.

use meltrange_media::{LogError, LogRead, LogRemark, parse_temperature_log, read_log};

fn read(text: &str) -> Result<LogRead, LogError> {
    parse_temperature_log("temperature.csv", text.as_bytes())
}

fn fault(text: &str) -> String {
    read(text).expect_err("a fault").to_string()
}

/// Rows `0,120.0`, `1,120.1` and so on.
fn rows(count: usize) -> String {
    (0..count)
        .map(|at| format!("{at},{:.1}\n", 120.0 + 0.1 * at as f64))
        .collect()
}

#[test]
fn plain_logs_in_every_dress() {
    let plain = read(&format!("time_s,temperature_c\n{}", rows(20))).expect("plain");
    assert_eq!(plain.remarks, []);
    assert_eq!(plain.log.samples().len(), 20);
    let dressed = format!(
        "\u{feff}# bench A, made up\r\n\r\nnote, temperature_c ,\"time_s\",fan\r\n{}",
        (0..20)
            .map(|at| format!(
                "\"a, b\", {:.1} , {at} ,0,\r\n# in between\r\n",
                120.0 + 0.1 * at as f64
            ))
            .collect::<String>()
    );
    let dressed = read(&dressed).expect("the same");
    assert_eq!(dressed.log.samples(), plain.log.samples());
    assert_eq!(dressed.remarks, []);
}

#[test]
fn faults_are_mended_and_remarked() {
    let text = "time_s,temperature_c\n0,20.0\n1,20.1\n2,\n3, \n4,20.4\n4,20.6\n7,20.7\n5,20.5\n6,20.6\n8\n9,20.9\n";
    let read = read(text).expect("mended");
    let times: Vec<f64> = read
        .log
        .samples()
        .iter()
        .map(|sample| sample.time_s)
        .collect();
    assert_eq!(times, [0.0, 1.0, 4.0, 5.0, 6.0, 7.0, 9.0]);
    assert!((read.log.samples()[2].temperature_c - 20.5).abs() < 1e-12);
    assert_eq!(
        read.remarks,
        [
            LogRemark::NoTemperature {
                count: 3,
                first_line: 4
            },
            LogRemark::OutOfOrder {
                count: 1,
                first_line: 9
            },
            LogRemark::RepeatedTimes {
                count: 1,
                first_line: 7
            },
        ]
    );
}

#[test]
fn gaps_are_remarked() {
    let text: String = (0..200)
        .filter(|at| !(80..100).contains(at))
        .map(|at| format!("{at},{:.2}\n", 20.0 + 0.02 * f64::from(at)))
        .collect();
    let read = read(&format!("time_s,temperature_c\n{text}")).expect("a gap is no fault");
    assert_eq!(
        read.remarks,
        [LogRemark::Gap {
            from_s: 79.0,
            to_s: 100.0
        }]
    );
    assert_eq!(read.log.gap_around(90.0), Some((79.0, 100.0)));
}

#[test]
fn decimal_commas_are_recognised() {
    let header = "time_s,temperature_c\n";
    let expected = "temperature.csv, line 3: temperature_c is \"121,6\"; expected a number with a decimal point";
    assert_eq!(fault(&format!("{header}0,121\n1,121,6\n")), expected);
    assert_eq!(fault(&format!("{header}0,121\n1,\"121,6\"\n")), expected);
    // Both numbers split.
    assert_eq!(fault(&format!("{header}0,121\n0,5,121,6\n")), expected);
    let other = fault("temperature_c,time_s\n121,6,3\n");
    assert!(
        other.contains("121,6") || other.contains("decimal comma"),
        "{other}"
    );
    let many = fault(&format!("{header}v,w,x,y,z\n"));
    assert!(
        many.contains("5 values where the header names 2 columns"),
        "{many}"
    );
    let semicolons = fault("time_s;temperature_c\n0,5;121,6\n");
    assert!(
        semicolons.contains("line 1") && semicolons.contains("semicolons"),
        "{semicolons}"
    );
    let tabs = fault("time_s\ttemperature_c\n0.5\t121.6\n");
    assert!(tabs.contains("tabs"), "{tabs}");
}

#[test]
fn headers_are_asked_for() {
    let none = fault("0,121.6\n1,121.7\n");
    assert!(
        none.contains("line 1: the header line is missing (found \"0,121.6\")"),
        "{none}"
    );
    let names = fault("# log\nt,temp\n0,121.6\n");
    assert!(
        names.contains("line 2: there is no column time_s (columns found: t, temp)"),
        "{names}"
    );
    let twice = fault("time_s,temperature_c,time_s\n0,121.6,1\n");
    assert!(twice.contains("named more than once"), "{twice}");
    assert!(fault("").contains("holds no table"));
    assert!(fault("# only this\n").contains("holds no table"));
    assert!(fault("time_s,temperature_c\n").contains("no rows"));
}

#[test]
fn impossible_values_are_named() {
    let header = "time_s,temperature_c\n";
    let text = fault(&format!("{header}0,121.6\n1,warm\n"));
    assert!(text.contains("line 3: temperature_c is \"warm\""), "{text}");
    let text = fault(&format!("{header}0,121.6\n1,NaN\n"));
    assert!(
        text.contains("line 3: temperature_c is \"NaN\"") && text.contains("an empty cell"),
        "{text}"
    );
    for cell in ["-nan", "inf", "-infinity", "1e999", "121.6 °C", "0x10"] {
        let text = fault(&format!("{header}0,121.6\n1,{cell}\n"));
        assert!(text.contains("line 3: temperature_c is"), "{text}");
    }
    let time = fault(&format!("{header}0,121.6\n,121.7\n"));
    assert!(time.contains("line 3: time_s is \"\""), "{time}");
    let cold = fault(&format!("{header}0,121.6\n1,-300\n"));
    assert!(cold.contains("line 3") && cold.contains("-300"), "{cold}");
    let code = fault(&format!("{header}0,121.6\n1,9999\n"));
    assert!(code.contains("fault code"), "{code}");
    let single = fault(&format!("{header}0,121.6\n"));
    assert!(single.contains("1 usable sample"), "{single}");
    let empty = fault(&format!("{header}0,\n1,\n"));
    assert!(empty.contains("0 usable sample"), "{empty}");
}

#[test]
fn two_logs_in_one_file_are_not_mixed() {
    let text = format!("time_s,temperature_c\n{}{}", rows(40), rows(40));
    let error = read(&text).expect_err("two logs");
    assert!(
        matches!(error, LogError::ClockRestarts { line: 42, .. }),
        "{error}"
    );
    // A late row or two are only sorted.
    let late = format!("time_s,temperature_c\n{}20.5,122.0\n21.5,122.1\n", rows(40));
    assert!(read(&late).is_ok());
}

#[test]
fn other_encodings_are_explained() {
    let utf16: Vec<u8> = "\u{feff}time_s,temperature_c\n0,1\n"
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .collect();
    let text = parse_temperature_log("t.csv", &utf16).expect_err("UTF-16");
    assert!(text.to_string().contains("UTF-16"), "{text}");
    let sheet = parse_temperature_log("t.csv", b"PK\x03\x04....").expect_err("a zip file");
    assert!(sheet.to_string().contains("spreadsheet"), "{sheet}");
    // Latin-1 in a comment or in another column does no harm.
    let latin = b"# 20 \xb0C\ntime_s,temperature_c,note\n0,20.0,\xb0\n1,20.1,\n";
    assert!(parse_temperature_log("t.csv", latin).is_ok());
}

#[test]
fn a_missing_file_is_named() {
    let error = read_log("absent/temperature.csv".as_ref()).expect_err("not there");
    assert_eq!(
        error.to_string(),
        "absent/temperature.csv could not be read"
    );
}
