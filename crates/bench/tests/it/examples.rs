//! Every bench file that the documentation shows is sound and has the devices that it is named after.

use meltrange_bench::{BenchFile, Connections, open_heater, open_thermometer};
use std::path::Path;

#[test]
fn documented_bench_files_are_sound() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/bench-files");
    let kinds = [
        ("by-hand", "keyed", "by_hand"),
        ("csv", "csv", "by_hand"),
        ("display", "display", "by_hand"),
        ("modbus-rtu", "modbus", "modbus"),
        ("modbus-tcp", "modbus", "modbus"),
        ("mqtt", "mqtt", "by_hand"),
        ("serial", "serial", "serial"),
    ];
    for (name, thermometer, heater) in kinds {
        let path = folder.join(format!("{name}.toml"));
        let file = BenchFile::read(&path).unwrap_or_else(|error| panic!("{error}"));
        let printed = toml::Value::try_from(&file).expect("prints");
        assert_eq!(printed["thermometer"]["kind"].as_str(), Some(thermometer));
        assert_eq!(printed["heater"]["kind"].as_str(), Some(heater));
        let text = toml::to_string(&file).expect("prints");
        assert_eq!(BenchFile::parse(&text, &path).expect("reads back"), file);
        let mut connections = Connections::new();
        open_thermometer(&file.thermometer, &mut connections).expect("a kind that is there");
        open_heater(&file.heater, &mut connections).expect("a kind that is there");
    }
    let files = std::fs::read_dir(&folder).expect("there").count();
    let simulated = usize::from(folder.join("simulated.toml").exists());
    assert_eq!(files - simulated, kinds.len(), "each is named here");
}

#[test]
fn a_wrong_key_is_named() {
    const LEAST: &str = "name = \"North\"\nplaces = 3\nroom_c = 22.0\nmax_c = 300.0\n";
    const RTU: &str =
        "kind = \"modbus\"\nconnection.rtu = { port = \"/dev/ttyUSB0\" }\nregister = 0\n";
    const HEATER: &str = "[heater]\nkind = \"modbus\"\nconnection.tcp = \"a:502\"\n";
    for (tables, parts) in [
        (
            "[thermometer]\nkind = \"serial\"\nconnection = { port = \"COM3\", baud = 1 }\n".to_owned(),
            ["thermometer.connection.baud is 1", "300 to 4000000"],
        ),
        (
            "[thermometer]\nkind = \"serial\"\nconnection = { port = \"COM3\" }\npattern = '\\d+'\n".into(),
            ["thermometer.pattern", "(?<temperature>"],
        ),
        (
            "[thermometer]\nkind = \"serial\"\nconnection = { port = \"COM3\" }\ncolour = 1\n".into(),
            ["colour", "unknown field"],
        ),
        (
            "[thermometer]\nkind = \"modbus\"\nconnection.tcp = \"a\"\nregister = 0\n".into(),
            ["thermometer.connection.tcp is \"a\"", "host and port"],
        ),
        (
            format!("[thermometer]\n{RTU}scale = 0.0\n"),
            ["thermometer.scale is 0", "other than 0"],
        ),
        (
            format!("[thermometer]\n{RTU}interval_s = nan\n"),
            ["thermometer.interval_s is NaN", "0.05 to 60"],
        ),
        (
            "[thermometer]\nkind = \"mqtt\"\nhost = \"a\"\ntopic = \"b/#\"\n".into(),
            ["thermometer.topic", "one thermometer"],
        ),
        (
            "[thermometer]\nkind = \"http\"\nurl = \"https://a\"\n".into(),
            ["thermometer.url", "http://"],
        ),
        (
            "[thermometer]\nkind = \"csv\"\npath = \"a\"\nseparator = \".\"\n".into(),
            ["thermometer.separator", ";"],
        ),
        (
            format!("{HEATER}setpoint = {{ register = 0 }}\n"),
            ["heater.run is missing", "put off"],
        ),
        (
            // 300 °C in hundredths do not fit into 16 bits with a sign: 30000 do, 327.68 is the end.
            format!("{HEATER}setpoint = {{ register = 0, scale = 0.005 }}\noff_setpoint_c = 0.0\n"),
            ["heater.setpoint", "max_c, 300 °C"],
        ),
        (
            format!("{HEATER}setpoint = {{ register = 0 }}\nrun = {{ coil = 1 }}\ndead_man_s = 1.0\n"),
            ["heater.dead_man_s is 1", "3 to 600"],
        ),
        (
            "[heater]\nkind = \"serial\"\nconnection = { port = \"COM3\" }\nsetpoint = [\"SP\"]\noff = [\"X\"]\n".into(),
            ["heater.setpoint", "carries the setpoint"],
        ),
        (
            format!(
                "[thermometer]\n{RTU}[heater]\n{}setpoint = {{ register = 0 }}\noff_setpoint_c = 0.0\n",
                "kind = \"modbus\"\nconnection.rtu = { port = \"/dev/ttyUSB0\", baud = 19200 }\n"
            ),
            ["heater.connection", "one way to speak"],
        ),
        (
            "[thermometer]\nkind = \"serial\"\nconnection = { port = \"COM3\" }\n\
             [heater]\nkind = \"serial\"\nconnection = { port = \"COM3\" }\n\
             setpoint = [\"{setpoint_c}\"]\noff = [\"X\"]\n".into(),
            ["thermometer.poll is missing", "shares the port"],
        ),
    ] {
        let error = BenchFile::parse(&format!("{LEAST}{tables}"), Path::new("north.toml"))
            .expect_err(&tables)
            .to_string();
        for part in parts {
            assert!(error.contains(part), "{part} not in: {error}");
        }
    }
}
