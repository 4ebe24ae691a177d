//! What a run looks like on a terminal: a line that follows it, and its events.

use crate::progress::{Progress, StatusLine};
use meltrange_bench::{Advice, BenchView, DeviceHealth, Happening, Look, RunView};
use meltrange_planning::LegKind;
use serde_json::Value;
use std::cell::Cell;
use std::path::Path;

/// The line, and how many events were told.
pub(super) struct Shown {
    line: StatusLine,
    told_until_s: Cell<f64>,
}

impl Shown {
    pub fn begin(progress: &Progress) -> Self {
        Self {
            line: progress.status(),
            told_until_s: Cell::new(f64::NEG_INFINITY),
        }
    }

    pub fn say(&self, text: &str) {
        self.line.say(text);
    }

    pub fn view(&self, view: &BenchView) {
        let Some(run) = &view.run else { return };
        let told_s = self.told_until_s.get();
        for event in run.events.iter().filter(|event| event.time_s > told_s) {
            let loud = if event.what == Happening::Fault {
                "!! "
            } else {
                ""
            };
            self.say(&format!("{:>6.0} s  {loud}{}", event.time_s, event.text));
            self.told_until_s.set(event.time_s);
        }
        self.line.show(&status(view, run));
    }
}

fn status(view: &BenchView, run: &RunView) -> String {
    let leg = run.programme.legs().get(run.leg).map(|leg| leg.kind());
    let mut text = format!(
        "{} {}  {}  wanted {:.1} °C",
        clock(run.time_s),
        leg.map_or("", leg_name),
        run.temperature_c
            .map_or("no temperature".into(), |now_c| format!("{now_c:.1} °C")),
        run.wanted_c,
    );
    if let Some(rate) = run.coaching.actual_c_per_min {
        text.push_str(&format!("  {rate:+.1} °C/min"));
    }
    match run.coaching.advice {
        Advice::More => text.push_str(" more"),
        Advice::Less => text.push_str(" less"),
        Advice::Hold | Advice::Off => {}
    }
    for tube in &run.tubes {
        text.push_str(&format!("  {}: {}", tube.place, look_name(tube.look)));
    }
    if let Some(left_s) = run.attend_left_s {
        text.push_str(&format!(
            "  waits for you: Enter begins the scan ({left_s:.0} s)"
        ));
    }
    if let DeviceHealth::Lost { why } = &view.camera {
        text.push_str(&format!("  camera: {why}"));
    }
    if let Some(trouble) = &view.recording_trouble {
        text.push_str(&format!("  RECORDING: {trouble}"));
    }
    text
}

fn clock(time_s: f64) -> String {
    format!(
        "{:02}:{:02}",
        (time_s / 60.0) as u64,
        (time_s % 60.0) as u64
    )
}

fn leg_name(kind: LegKind) -> &'static str {
    match kind {
        LegKind::Approach => "approach",
        LegKind::Soak => "soak",
        LegKind::Attend => "attend",
        LegKind::Scan => "scan",
        LegKind::Cool => "cool",
    }
}

fn look_name(look: Look) -> &'static str {
    match look {
        Look::Empty => "empty",
        Look::Waiting => "waiting",
        Look::Solid => "solid",
        Look::Settling => "settling",
        Look::FirstLiquid => "first liquid?",
        Look::Melting => "melting",
        Look::Clear => "clear",
        Look::Darkened => "darkened",
    }
}

/// What is told at the end.
pub(super) fn summary(document: &Value, book: &Path) -> String {
    let words = |key: &str| document[key].as_str().unwrap_or("").to_owned();
    let mut text = format!("The run is over: {}.\n", words("end"));
    for tube in document["tubes"].as_array().into_iter().flatten() {
        let at = |key: &str| {
            tube[key]
                .as_f64()
                .map_or("not seen".into(), |at_c| format!("{at_c:.1} °C"))
        };
        text.push_str(&format!(
            "tube {}: first liquid {}, last crystal {} (as called during the run; provisional)\n",
            tube["place"],
            at("first_liquid_c"),
            at("last_crystal_c")
        ));
    }
    if let Some([first, last]) = document["estimate_c"].as_array().map(Vec::as_slice)
        && document["tubes"]
            .as_array()
            .is_some_and(|tubes| !tubes.is_empty())
    {
        text.push_str(&format!(
            "about {:.0} to {:.0} °C; for a measuring run take fresh tubes and cool at least 20 °C below\n",
            first.as_f64().unwrap_or_default(),
            last.as_f64().unwrap_or_default()
        ));
    }
    text.push_str(&format!(
        "recording {} in {}, {} readings\n",
        words("recording"),
        book.display(),
        document["readings"]
    ));
    text
}
