//! A setpoint controller with registers.

use crate::support::{Device, Hearing, Socket, TcpServer, heater, serve_rtu};
use meltrange_bench::{Accepted, Connections, DeviceError, HeaterCommand, open_heater};
use std::time::{Duration, Instant};

/// Setpoint 0, ramp 1, run 2, refresh 9; fan coil 3.
const MAP: &str = "setpoint = { register = 0, scale = 0.1 }\n\
    ramp = { register = 1, scale = 0.1 }\n\
    run = { register = 2, on = 5, off = 6 }\n\
    fan = { coil = 3 }\n\
    refresh = { register = 9, values = [0, 1] }\n\
    off_setpoint_c = 0.0\n\
    dead_man_s = 10.0\n";

fn controller() -> Device {
    let device = Device::default();
    device
        .registers()
        .holding
        .extend([(0, 0), (1, 0), (2, 6), (9, 0)]);
    device.registers().coils.insert(3, false);
    device
}

fn over_tcp(port: u16, map: &str) -> String {
    format!("[heater]\nkind = \"modbus\"\nconnection.tcp = \"127.0.0.1:{port}\"\n{map}")
}

const HEAT: HeaterCommand = HeaterCommand::Setpoint {
    setpoint_c: 121.64,
    rate_c_per_min: 1.5,
};

#[tokio::test]
async fn the_controller_sees_what_was_asked_for() {
    let device = controller();
    let (server, port) = TcpServer::start(&device, 0);
    let mut heater = heater(&over_tcp(port, MAP));
    assert_eq!(heater.traits().dead_man_s, Some(10.0));
    assert!(!heater.traits().by_hand);

    let accepted = heater.command(HEAT).await.expect("taken");
    // Rounded to the register's step.
    let setpoint_c = accepted.setpoint_c.expect("in force");
    assert!((setpoint_c - 121.6).abs() < 1e-9, "{setpoint_c}");
    // Refreshed first; the setpoint stands before heating is let.
    assert_eq!(
        device.take_written(),
        ["9=0", "1=15", "0=1216", "c3=false", "2=5"]
    );
    heater.command(HEAT).await.expect("taken");
    assert_eq!(device.take_written()[0], "9=1", "the refresh alternates");

    let off = heater.command(HeaterCommand::Off { fan: true }).await;
    assert_eq!(off.expect("off"), Accepted { setpoint_c: None });
    assert_eq!(device.take_written(), ["2=6", "0=0", "c3=true", "9=0"]);

    // Gone, and there again: told while it is gone, through when it is back.
    drop(server);
    tokio::time::sleep(Duration::from_millis(100)).await;
    let asked = Instant::now();
    let gone = heater.command(HEAT).await.expect_err("nobody there");
    assert!(asked.elapsed() < Duration::from_millis(1200));
    assert!(gone.to_string().contains("heater, unit 1"), "{gone}");
    let (server, _) = TcpServer::start(&device, port);
    heater.command(HEAT).await.expect("there again");
    assert_eq!(device.registers().holding[&2], 5);

    // Closed and there again between two commands, as controllers do with idle connections: no error.
    drop(server);
    tokio::time::sleep(Duration::from_millis(200)).await;
    let (_server, _) = TcpServer::start(&device, port);
    heater.command(HEAT).await.expect("connected anew");
}

#[tokio::test]
async fn what_is_not_in_force_is_an_error() {
    let device = controller();
    // A controller limited to 100 °C.
    device.registers().most.insert(0, 1000);
    let (_server, port) = TcpServer::start(&device, 0);
    let mut heater = heater(&over_tcp(port, MAP));
    let error = heater.command(HEAT).await.expect_err("limited");
    let DeviceError::Answer {
        found, expected, ..
    } = error
    else {
        panic!("{error}");
    };
    assert!(found.contains("100 in register 0"), "{found}");
    assert!(expected.contains("121.64"), "{expected}");
    assert_eq!(device.registers().holding[&2], 6, "it was not let heat");

    // Off goes as far as it can: run is taken away although the setpoint's register is refused.
    heater
        .command(HeaterCommand::Setpoint {
            setpoint_c: 90.0,
            rate_c_per_min: 0.0,
        })
        .await
        .expect("within its limit");
    device.registers().holding.remove(&0);
    let error = heater
        .command(HeaterCommand::Off { fan: false })
        .await
        .expect_err("one register is refused");
    assert!(error.to_string().contains("exception 2"), "{error}");
    assert_eq!(device.registers().holding[&2], 6);

    // A run register that stays where it is.
    device.registers().holding.insert(0, 0);
    device.registers().most.insert(2, 0);
    let error = heater.command(HEAT).await.expect_err("limited");
    assert!(error.to_string().contains("100 in register 0"), "{error}");
    device.registers().most.remove(&0);
    let error = heater.command(HEAT).await.expect_err("run stays");
    assert!(error.to_string().contains("run is"), "{error}");

    // Mute: an error within a second, or a little more.
    device.registers().is_mute = true;
    let asked = Instant::now();
    let error = heater.command(HEAT).await.expect_err("mute");
    assert!(matches!(error, DeviceError::Silent { .. }), "{error}");
    assert!(asked.elapsed() < Duration::from_millis(1200));
}

#[tokio::test]
async fn words_of_32_bits_and_function_16() {
    let device = Device::default();
    device.registers().holding.extend([(4, 0), (5, 0), (6, 0)]);
    let (_server, port) = TcpServer::start(&device, 0);
    let map = "setpoint = { register = 4, type = \"f32\", word_order = \"little\", scale = 1.0 }\n\
        readback_within_c = 0.01\nrun = { register = 6 }\nwrite = \"multiple\"\n";
    let mut heater = heater(&over_tcp(port, map));
    heater
        .command(HeaterCommand::Setpoint {
            setpoint_c: 121.625,
            rate_c_per_min: 0.0,
        })
        .await
        .expect("taken");
    // 121.625 as IEEE 754 binary32 is 0x42F34000.
    assert_eq!(
        device.take_written(),
        [
            format!("4={}", 0x4000),
            format!("5={}", 0x42F3),
            "6=1".into()
        ]
    );
}

/// Thermometer and controller on one serial line: neither disturbs the other, and after a pull both are there
/// again.
#[tokio::test]
async fn one_line_for_thermometer_and_heater() {
    let socket = Socket::new();
    let device = controller();
    device.registers().input.insert(7, 1216);
    let (wire, ours) = socket.plug();
    let server = serve_rtu(&device, wire);
    let connection = format!(
        "connection.rtu = {{ port = {:?}, baud = 115200 }}\n",
        socket.port()
    );
    let tables = format!(
        "[thermometer]\nkind = \"modbus\"\n{connection}register = 7\nscale = 0.1\ninterval_s = 0.05\n\
         [heater]\nkind = \"modbus\"\n{connection}{MAP}"
    );
    let mut connections = Connections::new();
    let spec = crate::support::bench(&tables);
    let mut heater = open_heater(&spec.heater, &mut connections).expect("a heater");
    let mut hearing = Hearing::with(&tables, &mut connections);
    for _ in 0..10 {
        heater.command(HEAT).await.expect("taken");
        assert!((hearing.temperature().await - 121.6).abs() < 1e-9);
    }
    socket.pull();
    server.abort();
    drop(ours);
    hearing.lost().await;
    heater.command(HEAT).await.expect_err("pulled");
    let (wire, _ours) = socket.plug();
    let server = serve_rtu(&device, wire);
    heater.command(HEAT).await.expect("there again");
    hearing.found().await;
    hearing.temperature().await;
    hearing.ends().await;
    server.abort();
}
