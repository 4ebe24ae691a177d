//! Trying a heater without heating.

use super::{DeviceFinding, DeviceRole, DeviceState, failed};
use crate::bench_file::{HeaterSpec, ModbusConnection, ModbusHeaterSpec, SerialHeaterSpec};
use crate::heater::{ModbusHeater, SerialHeater};
use crate::modbus::hexadecimal;
use crate::open::Connections;
use crate::pattern::quoted;

const ROLE: DeviceRole = DeviceRole::Heater;

const NO_DEAD_MAN: &str = "set up its dead-man or watchdog time and state dead_man_s; without it a program or cable that fails leaves it heating (docs/bench.md)";

pub(super) async fn check(spec: &HeaterSpec, connections: &mut Connections) -> DeviceFinding {
    let not_tried = |kind, found| DeviceFinding::new(ROLE, kind, DeviceState::NotTried, found);
    match spec {
        HeaterSpec::ByHand => not_tried("by_hand", "a person turns the knob"),
        HeaterSpec::Simulated => not_tried("simulated", "it is always there"),
        HeaterSpec::Modbus(spec) => modbus(spec, connections).await,
        HeaterSpec::Serial(spec) => serial(spec, connections).await,
    }
}

/// Usable, unless nothing makes it fall back to off.
fn usable(kind: &'static str, found: String, dead_man_s: Option<f64>) -> DeviceFinding {
    match dead_man_s {
        Some(seconds) => DeviceFinding::new(
            ROLE,
            kind,
            DeviceState::Usable,
            format!("{found}; off by itself after {seconds} s, by the bench file"),
        ),
        None => DeviceFinding::new(
            ROLE,
            kind,
            DeviceState::Doubtful,
            format!("{found}; nothing makes it fall back to off"),
        )
        .next(NO_DEAD_MAN),
    }
}

async fn modbus(spec: &ModbusHeaterSpec, connections: &mut Connections) -> DeviceFinding {
    let kind = "modbus";
    let heater = ModbusHeater::new(spec, &connections.modbus(&spec.connection));
    let port = match &spec.connection {
        ModbusConnection::Rtu(serial) => Some(serial.port.as_str()),
        ModbusConnection::Tcp(_) => None,
    };
    match heater.state().await {
        Err(error) => failed(ROLE, kind, port, &error),
        Ok(state) => {
            let raw = hexadecimal(&state.words);
            let runs = match state.runs {
                Some(true) => ", and it is let heat now",
                Some(false) => ", and it is off",
                None => "",
            };
            let found = format!(
                "answered with {raw}: setpoint {} °C{runs}",
                state.setpoint_c
            );
            DeviceFinding {
                temperature_c: Some(state.setpoint_c),
                ..usable(kind, found, spec.dead_man_s).raw(raw)
            }
        }
    }
}

async fn serial(spec: &SerialHeaterSpec, connections: &mut Connections) -> DeviceFinding {
    let kind = "serial";
    let heater = match SerialHeater::new(spec, connections.lines(&spec.connection)) {
        Ok(heater) => heater,
        Err(found) => return DeviceFinding::new(ROLE, kind, DeviceState::NotUsable, found),
    };
    let port = Some(spec.connection.port.as_str());
    match heater.in_force().await {
        Err(error) => failed(ROLE, kind, port, &error),
        Ok(Some((line, setpoint_c))) => {
            let raw = quoted(&line);
            let found = format!("answered with {raw}: setpoint {setpoint_c} °C");
            DeviceFinding {
                temperature_c: Some(setpoint_c),
                ..usable(kind, found, spec.dead_man_s).raw(raw)
            }
        }
        // It cannot be asked, so it is told what harms least.
        Ok(None) => match heater.off(&[]).await {
            Err(error) => failed(ROLE, kind, port, &error),
            Ok(Some(line)) => {
                let raw = quoted(&line);
                usable(
                    kind,
                    format!("told off, answered with {raw}"),
                    spec.dead_man_s,
                )
                .raw(raw)
            }
            Ok(None) => DeviceFinding::new(
                ROLE,
                kind,
                DeviceState::Doubtful,
                "told off; it does not say whether it obeys",
            )
            .next("set reply, or readback, to what it answers, so that a loose wire is noticed"),
        },
    }
}
