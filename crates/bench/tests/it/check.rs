//! The device check against real parts.

use crate::support::{Device, Socket, TcpServer, bench};
use meltrange_bench::{DeviceRole, DeviceState, check};
use tokio::io::AsyncWriteExt as _;

#[tokio::test]
async fn what_is_there_is_said_and_nothing_is_written() {
    let device = Device::default();
    device.registers().input.insert(0, 1216);
    device.registers().holding.extend([(10, 1500), (12, 0)]);
    let (_server, port) = TcpServer::start(&device, 0);
    let connection = format!("kind = \"modbus\"\nconnection.tcp = \"127.0.0.1:{port}\"\n");
    let tables = format!(
        "[thermometer]\n{connection}register = 0\nscale = 0.1\n\
         [heater]\n{connection}setpoint = {{ register = 10, scale = 0.1 }}\nrun = {{ register = 12 }}\n"
    );
    let found = check(&bench(&tables)).await;
    let [thermometer, heater, camera] = &found[..] else {
        panic!("three devices, not {found:?}");
    };
    assert_eq!(thermometer.device, DeviceRole::Thermometer);
    assert_eq!(thermometer.state, DeviceState::Usable);
    assert_eq!(thermometer.raw.as_deref(), Some("0x04C0"));
    assert!((thermometer.temperature_c.expect("read") - 121.6).abs() < 1e-9);
    // No dead-man time: usable, and a doubt.
    assert_eq!(heater.state, DeviceState::Doubtful);
    assert_eq!(heater.temperature_c, Some(150.0));
    assert!(heater.found.contains("it is off"), "{}", heater.found);
    assert!(
        heater
            .next
            .as_deref()
            .expect("a doubt")
            .contains("dead_man_s")
    );
    assert_eq!(camera.state, DeviceState::NotTried);
    assert!(device.take_written().is_empty(), "nothing was written");

    let with_dead_man = format!("{tables}dead_man_s = 5.0\n");
    let found = check(&bench(&with_dead_man)).await;
    assert_eq!(found[1].state, DeviceState::Usable);

    device.registers().input.clear();
    let found = check(&bench(&tables)).await;
    assert_eq!(found[0].state, DeviceState::NotUsable);
    assert!(found[0].found.contains("exception 2"), "{}", found[0].found);
    assert!(found[0].next.is_some());
}

#[tokio::test]
async fn a_port_that_is_missing_and_lines_that_are_garbled() {
    let socket = Socket::new();
    let tables = format!(
        "[thermometer]\nkind = \"serial\"\nconnection.port = {:?}\n",
        socket.port()
    );
    let found = check(&bench(&tables)).await;
    assert_eq!(found[0].state, DeviceState::NotUsable);
    assert!(
        found[0].found.contains("cannot be opened"),
        "{}",
        found[0].found
    );
    let next = found[0].next.as_deref().expect("something to do");
    assert!(next.contains("serial port"), "{next}");
    assert_eq!(found[1].state, DeviceState::NotTried);

    let (mut device, _ours) = socket.plug();
    let saying = tokio::spawn(async move {
        while device.write_all(b"x\x01y\r\n").await.is_ok() {
            tokio::time::sleep(std::time::Duration::from_millis(50)).await;
        }
    });
    let found = check(&bench(&tables)).await;
    assert_eq!(found[0].raw.as_deref(), Some("\"x\\u{1}y\""));
    assert!(found[0].next.as_deref().expect("advice").contains("baud"));
    saying.abort();
}

#[tokio::test]
async fn nobody_at_an_address() {
    let listener = std::net::TcpListener::bind("127.0.0.1:0").expect("a free port");
    let port = listener.local_addr().expect("bound").port();
    drop(listener);
    let tables = format!(
        "[thermometer]\nkind = \"http\"\nurl = \"http://127.0.0.1:{port}/\"\n\
         [heater]\nkind = \"modbus\"\nconnection.tcp = \"127.0.0.1:{port}\"\nsetpoint = {{ register = 0 }}\nrun = {{ coil = 0 }}\n"
    );
    let found = check(&bench(&tables)).await;
    for finding in &found[..2] {
        assert_eq!(finding.state, DeviceState::NotUsable, "{finding:?}");
        assert!(finding.next.is_some(), "{finding:?}");
    }
}
