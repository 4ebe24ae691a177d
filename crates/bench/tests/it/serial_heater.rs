//! A setpoint controller that takes lines.

use crate::support::{Hearing, Socket, bench};
use meltrange_bench::{Connections, HeaterCommand, open_heater};
use std::sync::{Arc, Mutex};
use tokio::io::{AsyncBufReadExt as _, AsyncWriteExt as _, BufReader};
use tokio::task::JoinHandle;
use tokio_serial::SerialStream;

/// What the controller was told, and what it answers when asked for its setpoint.
#[derive(Clone, Default)]
struct Controller {
    told: Arc<Mutex<Vec<String>>>,
    most_c: Arc<Mutex<Option<f64>>>,
}

impl Controller {
    fn take_told(&self) -> Vec<String> {
        std::mem::take(&mut self.told.lock().expect("sound"))
    }

    fn serve(&self, wire: SerialStream) -> JoinHandle<()> {
        let controller = self.clone();
        tokio::spawn(async move {
            let mut wire = BufReader::new(wire);
            let mut setpoint_c = 0.0;
            loop {
                let mut line = String::new();
                match wire.read_line(&mut line).await {
                    Ok(n) if n > 0 => {}
                    _ => return,
                }
                let line = line.trim().to_owned();
                let answer = match line.split_once(' ') {
                    Some(("SP", value)) => match value.parse::<f64>() {
                        Ok(value) => {
                            let most = controller.most_c.lock().expect("sound");
                            setpoint_c = value.min(most.unwrap_or(f64::MAX));
                            "OK".to_owned()
                        }
                        Err(_) => "ERR 1".to_owned(),
                    },
                    _ if line == "SP?" => format!("{setpoint_c:.1}"),
                    _ if line == "T?" => "121.6".to_owned(),
                    _ if ["RUN", "STOP", "FAN1", "FAN0"].contains(&line.as_str()) => "OK".into(),
                    _ => "ERR 2".to_owned(),
                };
                controller.told.lock().expect("sound").push(line);
                if wire
                    .write_all(format!("{answer}\r\n").as_bytes())
                    .await
                    .is_err()
                {
                    return;
                }
            }
        })
    }
}

fn tables(socket: &Socket, more: &str) -> String {
    let port = socket.port();
    format!(
        "[thermometer]\nkind = \"serial\"\nconnection.port = {port:?}\npoll = \"T?\\r\\n\"\ninterval_s = 0.05\n\
         [heater]\nkind = \"serial\"\nconnection.port = {port:?}\n\
         setpoint = [\"SP {{setpoint_c:.1}}\\r\\n\", \"RUN\\r\\n\"]\noff = [\"STOP\\r\\n\", \"SP 0\\r\\n\"]\n\
         fan_on = [\"FAN1\\r\\n\"]\nfan_off = [\"FAN0\\r\\n\"]\nreply = \"^OK$\"\n{more}"
    )
}

const HEAT: HeaterCommand = HeaterCommand::Setpoint {
    setpoint_c: 121.64,
    rate_c_per_min: 1.5,
};

#[tokio::test]
async fn lines_are_sent_answered_and_read_back() {
    let socket = Socket::new();
    let controller = Controller::default();
    let (wire, ours) = socket.plug();
    let server = controller.serve(wire);
    let tables = tables(&socket, "readback = \"SP?\\r\\n\"\n");
    let mut connections = Connections::new();
    let mut heater = open_heater(&bench(&tables).heater, &mut connections).expect("a heater");
    let accepted = heater.command(HEAT).await.expect("taken");
    assert_eq!(accepted.setpoint_c, Some(121.6));
    assert_eq!(controller.take_told(), ["FAN0", "SP 121.6", "RUN", "SP?"]);
    let off = heater.command(HeaterCommand::Off { fan: true }).await;
    assert_eq!(off.expect("off").setpoint_c, None);
    assert_eq!(controller.take_told(), ["STOP", "SP 0", "FAN1"]);

    *controller.most_c.lock().expect("sound") = Some(100.0);
    let error = heater.command(HEAT).await.expect_err("limited");
    assert!(error.to_string().contains("setpoint of 100 °C"), "{error}");
    *controller.most_c.lock().expect("sound") = None;

    // The thermometer asks on the same port meanwhile.
    let mut hearing = Hearing::with(&tables, &mut connections);
    for _ in 0..10 {
        heater.command(HEAT).await.expect("taken");
        assert_eq!(hearing.temperature().await, 121.6);
    }

    socket.pull();
    server.abort();
    drop(ours);
    hearing.lost().await;
    let error = heater.command(HEAT).await.expect_err("pulled");
    assert!(error.to_string().contains("ttyBench"), "{error}");
    let (wire, _ours) = socket.plug();
    let server = controller.serve(wire);
    heater.command(HEAT).await.expect("there again");
    hearing.found().await;
    assert_eq!(hearing.temperature().await, 121.6);
    hearing.ends().await;
    server.abort();
}

#[tokio::test]
async fn another_answer_is_an_error_and_off_goes_on() {
    let socket = Socket::new();
    let controller = Controller::default();
    let (wire, _ours) = socket.plug();
    let server = controller.serve(wire);
    let tables = tables(&socket, "").replace("STOP", "HALT");
    let mut heater =
        open_heater(&bench(&tables).heater, &mut Connections::new()).expect("a heater");
    let error = heater
        .command(HeaterCommand::Off { fan: false })
        .await
        .expect_err("it does not know HALT");
    assert!(error.to_string().contains("\"ERR 2\" to \"HALT"), "{error}");
    assert_eq!(controller.take_told(), ["HALT", "SP 0", "FAN0"]);
    server.abort();
}
