//! A session plan as a calendar (RFC 5545): when somebody must be at which bench, and what for.

use icalendar::{Calendar, Component as _, Event, EventLike as _};
use meltrange_labbook::Digest;
use meltrange_planning::{PlannedBench, PlannedLoad, SessionPlan};

/// Longest line of a calendar [bytes], its end left out (RFC 5545, 3.1).
const LONGEST_LINE: usize = 75;

/// How long somebody is at a bench for its end [min].
const END_MIN: f64 = 5.0;

/// What a plan does not say.
#[derive(Debug, Clone, PartialEq)]
pub struct CalendarOrder {
    /// When the session begins.
    pub start: jiff::Timestamp,
    /// When the calendar is made.
    pub stamp: jiff::Timestamp,
    /// How long it takes to set a load in [min], as the plan reckons.
    pub load_min: f64,
    /// Who is there; where the plan needs more, they are numbered.
    pub people: Vec<String>,
}

/// The calendar of a plan: for each load when its tubes are set in, by whom, at which bench; for each bench its
/// end. Where not all fits into the session, of what does. Event ids are those of the tubes, so that a plan made
/// anew moves events instead of doubling them.
pub fn calendar(plan: &SessionPlan, order: &CalendarOrder) -> String {
    let benches = plan.in_time_benches.as_ref().unwrap_or(&plan.benches);
    let mut calendar = Calendar::new();
    calendar.append_property(icalendar::Property::new(
        "PRODID",
        "-//meltrange//session plan//EN",
    ));
    let mut steps: Vec<Step<'_>> = benches
        .iter()
        .flat_map(|bench| steps(bench, order))
        .collect();
    steps.sort_by(|one, other| one.from_min.total_cmp(&other.from_min));
    // Whoever is free takes the next step: the plan asks for no more hands than there are.
    let mut busy_until_min: Vec<f64> = Vec::new();
    for step in &steps {
        let free = busy_until_min
            .iter()
            .position(|&until_min| until_min <= step.from_min + 1e-6);
        let who = free.unwrap_or(busy_until_min.len());
        if who == busy_until_min.len() {
            busy_until_min.push(0.0);
        }
        if let Some(until_min) = busy_until_min.get_mut(who) {
            *until_min = step.to_min;
        }
        let name = order
            .people
            .get(who)
            .cloned()
            .unwrap_or_else(|| format!("person {}", who + 1));
        calendar.push(event(step, &name, order));
    }
    folded(&calendar.to_string())
}

/// Something that needs a person at a bench.
struct Step<'a> {
    bench: &'a str,
    from_min: f64,
    to_min: f64,
    what: What<'a>,
}

enum What<'a> {
    SetIn {
        load: &'a PlannedLoad,
        number: usize,
    },
    End,
}

fn steps<'a>(bench: &'a PlannedBench, order: &CalendarOrder) -> Vec<Step<'a>> {
    let mut steps: Vec<Step<'a>> = bench
        .loads
        .iter()
        .enumerate()
        .map(|(at, load)| Step {
            bench: &bench.bench,
            from_min: load.load_start_min,
            to_min: (load.load_start_min + order.load_min)
                .min(load.end_min)
                .max(load.load_start_min + 1.0),
            what: What::SetIn {
                load,
                number: at + 1,
            },
        })
        .collect();
    if let Some(last) = bench.loads.last() {
        steps.push(Step {
            bench: &bench.bench,
            from_min: last.end_min,
            to_min: last.end_min + END_MIN,
            what: What::End,
        });
    }
    steps
}

fn event(step: &Step<'_>, who: &str, order: &CalendarOrder) -> Event {
    let at = |minutes: f64| time(order.start, minutes);
    let bench = step.bench;
    let (key, summary, description) = match &step.what {
        What::SetIn { load, number } => {
            let tubes: Vec<String> = load
                .tubes
                .iter()
                .map(|tube| format!("{} ({})", tube.sample, tube.replicate))
                .collect();
            let scans: Vec<String> = load
                .scan_windows_c
                .iter()
                .map(|[from_c, to_c]| format!("{from_c:.1} to {to_c:.1} °C"))
                .collect();
            let tubes = tubes.join(", ");
            (
                format!("{bench}\n{tubes}"),
                format!("{bench}: set in {tubes}"),
                format!(
                    "{who} at {bench}, load {number}: set in {tubes}.\nScans: {}.\nThe last scan ends {}.\n\
                     The block is hot: mind burns and fumes, and what your laboratory and its responsible person ask for.",
                    scans.join("; "),
                    at(load.end_min),
                ),
            )
        }
        What::End => (
            format!("{bench}\nend"),
            format!("{bench}: last load done"),
            format!(
                "{who} at {bench}: heater off, note what was seen, take the tubes out when the block has cooled."
            ),
        ),
    };
    let digest = Digest::of(key.as_bytes()).to_string();
    Event::new()
        .uid(&format!(
            "{}@meltrange",
            digest.get(..32).unwrap_or(&digest)
        ))
        .add_property("DTSTAMP", time(order.stamp, 0.0))
        .add_property("DTSTART", at(step.from_min))
        .add_property("DTEND", at(step.to_min))
        .summary(&summary)
        .description(&description)
        .location(bench)
        .add_property("CONTACT", who)
        .done()
}

/// A moment as UTC, to the second.
fn time(start: jiff::Timestamp, minutes: f64) -> String {
    let moment = start
        .checked_add(jiff::SignedDuration::from_secs(
            (minutes * 60.0).round() as i64
        ))
        .unwrap_or(start);
    jiff::tz::Offset::UTC
        .to_datetime(moment)
        .strftime("%Y%m%dT%H%M%SZ")
        .to_string()
}

/// The same lines, none longer than the standard allows: continued ones count their leading space.
fn folded(text: &str) -> String {
    let mut all = String::with_capacity(text.len());
    for line in text.replace("\r\n ", "").split_terminator("\r\n") {
        let mut bytes = 0;
        for letter in line.chars() {
            if bytes + letter.len_utf8() > LONGEST_LINE {
                all.push_str("\r\n ");
                bytes = 1;
            }
            all.push(letter);
            bytes += letter.len_utf8();
        }
        all.push_str("\r\n");
    }
    all
}
