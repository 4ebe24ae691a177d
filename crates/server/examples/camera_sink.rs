//! Serves a new book with one open bench, "North", whose camera is a browser, and writes down what
//! arrives: `camera_sink BOOK OUT`. The pages' tests drive it.
//!
//! `OUT/news.jsonl` has one line for each picture (`time_s`, bench clock; `file`), loss, return and doubt.

use meltrange_bench::{BenchClock, Camera as _, CameraNews, pushed_camera};
use meltrange_labbook::{Book, Person, Role};
use meltrange_server::{AppState, app};
use serde_json::{Value, json};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use tokio::sync::mpsc;

const BENCH: &str = "North";

#[tokio::main]
async fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args_os().skip(1).map(PathBuf::from);
    let (Some(book), Some(out)) = (arguments.next(), arguments.next()) else {
        return Err("expected: camera_sink BOOK OUT".into());
    };
    std::fs::create_dir_all(&out)?;
    let first = Person {
        name: "R. Amsel".into(),
        role: Role::Supervisor,
    };
    let (book, _) = Book::create(&book, "Evening practical", first).await?;
    let state = AppState::new(book)?;
    let clock = BenchClock::start();
    let (camera, inlet) = pushed_camera();
    let (to, news) = mpsc::channel(64);
    tokio::spawn(Box::new(camera).show(clock, to));
    state.camera_links().offer(BENCH, inlet, clock);
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await?;
    let address = format!("http://{}/\n", listener.local_addr()?);
    std::io::stdout().write_all(address.as_bytes())?;
    std::io::stdout().flush()?;
    tokio::select! {
        served = axum::serve(listener, app(state)) => served?,
        written = write_down(news, &out) => written?,
        _ = tokio::signal::ctrl_c() => {}
    }
    Ok(())
}

async fn write_down(mut news: mpsc::Receiver<CameraNews>, out: &Path) -> std::io::Result<()> {
    let mut lines = std::fs::File::create(out.join("news.jsonl"))?;
    let mut pictures = 0_u32;
    while let Some(news) = news.recv().await {
        let line: Value = match news {
            CameraNews::Picture { time_s, jpeg } => {
                let file = format!("{pictures:06}.jpg");
                std::fs::write(out.join(&file), &jpeg)?;
                pictures += 1;
                json!({ "kind": "picture", "time_s": time_s, "file": file })
            }
            CameraNews::Lost { time_s, why } => {
                json!({ "kind": "lost", "time_s": time_s, "why": why })
            }
            CameraNews::Found { time_s } => json!({ "kind": "found", "time_s": time_s }),
            CameraNews::Doubt { time_s, what } => {
                json!({ "kind": "doubt", "time_s": time_s, "what": what })
            }
        };
        writeln!(lines, "{line}")?;
    }
    Ok(())
}
