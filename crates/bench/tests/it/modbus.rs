//! Registers over TCP and on a serial line.

use crate::support::{Device, Hearing, Socket, TcpServer, serve_rtu};

fn over_tcp(port: u16, more: &str) -> String {
    format!(
        "[thermometer]\nkind = \"modbus\"\nconnection.tcp = \"127.0.0.1:{port}\"\ninterval_s = 0.1\n{more}"
    )
}

#[tokio::test]
async fn every_way_a_number_can_lie() {
    let device = Device::default();
    device.registers().input.extend([
        (10, 1216),
        (11, 0xFFF6),
        // 121.625 as IEEE 754 binary32: sign 0, exponent 133, 0x42F34000.
        (20, 0x42F3),
        (21, 0x4000),
    ]);
    device.registers().holding.extend([(30, 0), (31, 12_160)]);
    let (_server, port) = TcpServer::start(&device, 0);
    for (keys, celsius) in [
        ("register = 10\nscale = 0.1\n", 121.6),
        ("register = 11\nscale = 0.1\n", -1.0),
        (
            "register = 10\nscale = 0.1\noffset = -20.0\ntype = \"u16\"\n",
            101.6,
        ),
        ("register = 20\ntype = \"f32\"\n", 121.625),
        (
            "register = 30\ntable = \"holding\"\ntype = \"u32\"\nscale = 0.01\n",
            121.6,
        ),
    ] {
        let mut hearing = Hearing::of(&over_tcp(port, keys));
        let found = hearing.temperature().await;
        assert!((found - celsius).abs() < 1e-9, "{keys}: {found}");
        hearing.ends().await;
    }
    device
        .registers()
        .input
        .extend([(20, 0x4000), (21, 0x42F3)]);
    let little = "register = 20\ntype = \"f32\"\nword_order = \"little\"\n";
    assert_eq!(
        Hearing::of(&over_tcp(port, little)).temperature().await,
        121.625
    );
}

#[tokio::test]
async fn over_tcp_it_is_lost_and_found() {
    let device = Device::default();
    device.registers().input.insert(0, 1216);
    let (server, port) = TcpServer::start(&device, 0);
    let mut hearing = Hearing::of(&over_tcp(port, "register = 0\nscale = 0.1\n"));
    let celsius = hearing.temperature().await;
    assert!((celsius - 121.6).abs() < 1e-9);

    // A broken sensor, as converters report it: the end of the range.
    device.registers().input.insert(0, 0x7FFF);
    loop {
        if let meltrange_bench::ThermometerNews::Unreadable { why, .. } = hearing.next().await {
            assert!(why.contains("3276.7"), "{why}");
            break;
        }
    }
    device.registers().input.clear();
    loop {
        let why = hearing.unreadable().await;
        if why.contains("exception 2") {
            assert!(why.contains("input register 0"), "{why}");
            break;
        }
    }
    device.registers().input.insert(0, 1300);

    drop(server);
    let why = hearing.lost().await;
    assert!(
        why.contains(&format!("unit 1 at 127.0.0.1:{port}")),
        "{why}"
    );
    hearing.quiet(1.0).await;
    let (_server, again) = TcpServer::start(&device, port);
    assert_eq!(again, port);
    hearing.found().await;
    assert!((hearing.temperature().await - 130.0).abs() < 1e-9);

    device.registers().is_mute = true;
    let why = hearing.lost().await;
    assert!(why.contains("did not answer within"), "{why}");
    device.registers().is_mute = false;
    hearing.found().await;
    hearing.ends().await;
}

#[tokio::test]
async fn on_a_serial_line_it_is_lost_and_found() {
    let socket = Socket::new();
    let device = Device::default();
    device.registers().input.insert(256, 1216);
    let (wire, ours) = socket.plug();
    let server = serve_rtu(&device, wire);
    let keys = format!(
        "[thermometer]\nkind = \"modbus\"\nconnection.rtu = {{ port = {:?}, baud = 19200, parity = \"even\" }}\n\
         register = 256\nscale = 0.1\ninterval_s = 0.1\n",
        socket.port()
    );
    let mut hearing = Hearing::of(&keys);
    for _ in 0..3 {
        assert!((hearing.temperature().await - 121.6).abs() < 1e-9);
    }
    socket.pull();
    server.abort();
    drop(ours);
    hearing.lost().await;
    hearing.quiet(0.5).await;
    let (wire, _ours) = socket.plug();
    device.registers().input.insert(256, 1300);
    let server = serve_rtu(&device, wire);
    hearing.found().await;
    assert!((hearing.temperature().await - 130.0).abs() < 1e-9);
    hearing.ends().await;
    server.abort();
}
