//! Trying a thermometer.

use super::{DeviceFinding, DeviceRole, DeviceState, LISTEN, failed};
use crate::bench_file::{
    ModbusConnection, ModbusThermometerSpec, SerialThermometerSpec, ThermometerSpec,
};
use crate::clock::BenchClock;
use crate::device::ThermometerNews;
use crate::modbus::hexadecimal;
use crate::open::{Connections, open_thermometer};
use crate::pattern::quoted;
use crate::telling::plausible;
use crate::thermometer::{ModbusThermometer, SerialThermometer};
use tokio::sync::mpsc;
use tokio::time::{Instant, timeout_at};

const ROLE: DeviceRole = DeviceRole::Thermometer;

pub(super) async fn check(spec: &ThermometerSpec, connections: &mut Connections) -> DeviceFinding {
    let not_tried = |kind, found| DeviceFinding::new(ROLE, kind, DeviceState::NotTried, found);
    match spec {
        ThermometerSpec::Keyed => not_tried("keyed", "a person keys the temperatures in"),
        ThermometerSpec::Sent => not_tried("sent", "another program sends the temperatures"),
        ThermometerSpec::Simulated(_) => not_tried("simulated", "it is always there"),
        ThermometerSpec::Serial(spec) => serial(spec, connections).await,
        ThermometerSpec::Modbus(spec) => modbus(spec, connections).await,
        ThermometerSpec::Mqtt(_) => listen("mqtt", spec, connections).await,
        ThermometerSpec::Http(_) => listen("http", spec, connections).await,
        ThermometerSpec::Csv(_) => listen("csv", spec, connections).await,
        ThermometerSpec::Bluetooth(_) => listen("bluetooth", spec, connections).await,
    }
}

/// What was read, or why it is no temperature.
fn answered(
    kind: &'static str,
    raw: String,
    temperature: Result<f64, String>,
    next: &str,
) -> DeviceFinding {
    match temperature.and_then(plausible) {
        Ok(celsius) => {
            let found = format!("answered with {raw}: {celsius} °C");
            DeviceFinding {
                temperature_c: Some(celsius),
                ..DeviceFinding::new(ROLE, kind, DeviceState::Usable, found).raw(raw)
            }
        }
        Err(why) => {
            let found = format!("answered with {raw}, which is no temperature: {why}");
            DeviceFinding::new(ROLE, kind, DeviceState::NotUsable, found)
                .raw(raw)
                .next(next)
        }
    }
}

async fn serial(spec: &SerialThermometerSpec, connections: &mut Connections) -> DeviceFinding {
    let kind = "serial";
    let link = connections.lines(&spec.connection);
    let thermometer = match SerialThermometer::new(spec, link) {
        Ok(thermometer) => thermometer,
        Err(found) => return DeviceFinding::new(ROLE, kind, DeviceState::NotUsable, found),
    };
    match thermometer.next_line(LISTEN).await {
        Err(error) => failed(ROLE, kind, Some(&spec.connection.port), &error),
        Ok(line) => answered(
            kind,
            quoted(&line),
            thermometer.read(&line),
            "if the line looks garbled, compare baud, data_bits and parity with the manual; otherwise set pattern",
        ),
    }
}

async fn modbus(spec: &ModbusThermometerSpec, connections: &mut Connections) -> DeviceFinding {
    let kind = "modbus";
    let thermometer = ModbusThermometer::new(spec, &connections.modbus(&spec.connection));
    let port = match &spec.connection {
        ModbusConnection::Rtu(serial) => Some(serial.port.as_str()),
        ModbusConnection::Tcp(_) => None,
    };
    match thermometer.words().await {
        Err(error) => failed(ROLE, kind, port, &error),
        Ok(words) => answered(
            kind,
            hexadecimal(&words),
            thermometer.read(&words),
            "compare register, type, word_order and scale with the manual; a sensor that is not plugged in also reads like this",
        ),
    }
}

/// Listen as a run would, until there is a temperature.
async fn listen(
    kind: &'static str,
    spec: &ThermometerSpec,
    connections: &mut Connections,
) -> DeviceFinding {
    let opened = match open_thermometer(spec, connections) {
        Ok(opened) => opened,
        Err(error) => return failed(ROLE, kind, None, &error),
    };
    let (to, mut news) = mpsc::channel(16);
    let telling = tokio::spawn(opened.thermometer.tell(BenchClock::start(), to));
    let deadline = Instant::now() + LISTEN;
    let mut worst = None;
    let finding = loop {
        match timeout_at(deadline, news.recv()).await {
            Ok(Some(ThermometerNews::Sample(sample))) => {
                let found = format!("told {} °C", sample.temperature_c);
                break DeviceFinding {
                    temperature_c: Some(sample.temperature_c),
                    ..DeviceFinding::new(ROLE, kind, DeviceState::Usable, found)
                };
            }
            Ok(Some(ThermometerNews::Unreadable { why, .. })) => {
                worst = Some((format!("answered with {why}"), next_unreadable(spec)));
            }
            Ok(Some(ThermometerNews::Lost { why, .. })) => worst = Some((why, next_lost(spec))),
            Ok(Some(ThermometerNews::Found { .. })) => {}
            Ok(None) | Err(_) => {
                let silent = format!("told nothing within {} s", LISTEN.as_secs());
                let (found, next) = worst.unwrap_or((silent, next_silent(spec)));
                break DeviceFinding::new(ROLE, kind, DeviceState::NotUsable, found).next(next);
            }
        }
    };
    drop(news);
    // It ends by itself when nobody listens; a panic in it would be a fault of ours, told by the runtime.
    let _ = telling.await;
    finding
}

fn next_unreadable(spec: &ThermometerSpec) -> &'static str {
    match spec {
        ThermometerSpec::Csv(_) => {
            "let the other program write numbers with a decimal point, and name its column"
        }
        ThermometerSpec::Bluetooth(_) => {
            "see that the device measures, and try the other characteristic"
        }
        _ => "set json_pointer to where the number stands",
    }
}

fn next_lost(spec: &ThermometerSpec) -> &'static str {
    match spec {
        ThermometerSpec::Csv(_) => {
            "start the other program, and compare the path with where it writes"
        }
        ThermometerSpec::Mqtt(_) => "see that the broker runs and host and port are right",
        ThermometerSpec::Bluetooth(_) => "switch it on and bring it nearer",
        _ => "see that it is switched on and in this network",
    }
}

fn next_silent(spec: &ThermometerSpec) -> &'static str {
    match spec {
        ThermometerSpec::Csv(_) => {
            "see that the other program adds rows at least every few seconds"
        }
        ThermometerSpec::Mqtt(_) => {
            "compare the topic, and see that the thermometer publishes every few seconds"
        }
        _ => "see that it is switched on and measures",
    }
}
