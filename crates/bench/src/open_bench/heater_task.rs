//! Asks the heater anew every second, and for off when nobody asks any more.

use crate::clock::BenchClock;
use crate::device::{Heater, HeaterCommand};
use std::time::Duration;
use tokio::sync::{mpsc, watch};

/// It is asked this often [s], bench clock: the dead-man refresh.
const REFRESH_S: f64 = 1.0;
/// And no faster than this.
const LEAST: Duration = Duration::from_millis(15);
/// An answer is waited for this long.
const PATIENCE: Duration = Duration::from_secs(2);
/// At the end, off is tried so often.
const LAST_TRIES: u32 = 3;

/// What became of a command.
#[derive(Debug, Clone)]
pub(super) struct Asked {
    pub command: HeaterCommand,
    pub trouble: Option<String>,
}

/// Until nobody wants anything any more; then off.
pub(super) async fn keep_asking(
    mut heater: Box<dyn Heater>,
    clock: BenchClock,
    mut wanted: watch::Receiver<HeaterCommand>,
    told: mpsc::Sender<Asked>,
) {
    loop {
        let command = *wanted.borrow_and_update();
        let trouble = ask(&mut *heater, command).await;
        if told.send(Asked { command, trouble }).await.is_err() {
            break;
        }
        let next_s = clock.now_s() + REFRESH_S;
        tokio::time::sleep(LEAST).await;
        // Off is asked for at once; a moving setpoint waits for its turn.
        let switched_off = async {
            loop {
                let before = matches!(command, HeaterCommand::Off { .. });
                if wanted.changed().await.is_err() {
                    return false;
                }
                if matches!(*wanted.borrow(), HeaterCommand::Off { .. }) && !before {
                    return true;
                }
            }
        };
        let go_on = tokio::select! {
            go_on = switched_off => go_on,
            () = clock.sleep_until_s(next_s) => true,
        };
        if !go_on {
            break;
        }
    }
    for _ in 0..LAST_TRIES {
        if ask(&mut *heater, HeaterCommand::Off { fan: false })
            .await
            .is_none()
        {
            return;
        }
        tokio::time::sleep(Duration::from_millis(200)).await;
    }
    tracing::error!("the heater did not take the last command, off; switch it off by hand");
}

async fn ask(heater: &mut dyn Heater, command: HeaterCommand) -> Option<String> {
    match tokio::time::timeout(PATIENCE, heater.command(command)).await {
        Ok(Ok(_)) => None,
        Ok(Err(error)) => Some(error.to_string()),
        Err(_) => Some(format!("no answer within {} s", PATIENCE.as_secs())),
    }
}
