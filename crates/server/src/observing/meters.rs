//! Numbers in the text format of OpenMetrics 1.0, which Prometheus and collectors of OpenTelemetry read.

use crate::state::AppState;
use prometheus_client::encoding::EncodeLabelSet;
use prometheus_client::encoding::text::encode;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::{ConstGauge, Gauge};
use prometheus_client::metrics::histogram::{Histogram, exponential_buckets};
use prometheus_client::metrics::info::Info;
use prometheus_client::registry::Registry;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// The first bucket of times and how many there are, each twice the one before: 1 ms to 16 s.
const FIRST_BUCKET_S: f64 = 0.001;
const BUCKETS: u16 = 15;

/// Which requests, in the words of OpenTelemetry's semantic conventions for HTTP.
#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
struct RequestLabels {
    http_request_method: String,
    http_route: String,
    http_response_status_code: u16,
}

/// In which state.
#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
struct StateLabels {
    state: &'static str,
}

/// Numbers that grow while the program runs.
#[derive(Debug, Clone)]
pub(crate) struct Meters {
    requests: Family<RequestLabels, Histogram, fn() -> Histogram>,
    began: SystemTime,
}

impl Default for Meters {
    fn default() -> Self {
        Self {
            requests: Family::new_with_constructor(|| {
                Histogram::new(exponential_buckets(FIRST_BUCKET_S, 2.0, BUCKETS))
            }),
            began: SystemTime::now(),
        }
    }
}

impl Meters {
    /// A request was answered; `route` is as the interface's description has it.
    pub fn answered(&self, method: &str, route: &str, status: u16, took: Duration) {
        self.requests
            .get_or_create(&RequestLabels {
                http_request_method: method.to_owned(),
                http_route: route.to_owned(),
                http_response_status_code: status,
            })
            .observe(took.as_secs_f64());
    }

    /// All numbers, as they are now.
    pub async fn told(&self, state: &AppState) -> Result<String, std::fmt::Error> {
        let mut registry = Registry::default();
        registry.register(
            "http_server_request_duration_seconds",
            "Time from a request to the head of its answer",
            self.requests.clone(),
        );
        registry.register(
            "meltrange_program",
            "Version of the program",
            Info::new([("version", env!("CARGO_PKG_VERSION"))]),
        );
        gauge(
            &mut registry,
            "process_start_time_seconds",
            "When the program began, since 1970",
            self.began
                .duration_since(UNIX_EPOCH)
                .map_or(0.0, |since| since.as_secs_f64()),
        );
        book(&mut registry, state).await;
        work(&mut registry, state);
        let mut text = String::new();
        encode(&mut text, &registry)?;
        Ok(text)
    }
}

fn gauge(registry: &mut Registry, name: &str, help: &str, value: f64) {
    registry.register(name, help, ConstGauge::new(value));
}

async fn book(registry: &mut Registry, state: &AppState) {
    if let Ok(head) = state.book().store().head().await {
        gauge(
            registry,
            "meltrange_book_records",
            "Records of the book that this server has",
            head.seq as f64,
        );
    }
    let Some(sharing) = state.book().sharing().await else {
        return;
    };
    gauge(
        registry,
        "meltrange_shared_book_reachable",
        "1 where the database of the shared book answers, else 0",
        f64::from(u8::from(sharing.behind.is_some())),
    );
    if let Some(behind) = sharing.behind {
        gauge(
            registry,
            "meltrange_shared_book_records_behind",
            "Records in the database that this server does not have yet",
            behind as f64,
        );
    }
    gauge(
        registry,
        "meltrange_outbox_batches",
        "Batches that wait on this machine to be recorded",
        sharing.waiting as f64,
    );
    gauge(
        registry,
        "meltrange_outbox_refused_batches",
        "Batches that the book refused; a person has to look at them",
        sharing.refused as f64,
    );
    gauge(
        registry,
        "meltrange_recordings_to_hand_over",
        "Recordings on this machine that the store does not have yet, those under way among them",
        sharing.to_hand_over as f64,
    );
    gauge(
        registry,
        "meltrange_recordings_here",
        "Recordings of which this machine has the files",
        sharing.here as f64,
    );
    if sharing.behind.is_some() {
        rereading(registry, state).await;
    }
}

/// The last one, by the state of its recordings.
async fn rereading(registry: &mut Registry, state: &AppState) {
    let told = async {
        let rereadings = state.book().rereadings()?;
        match rereadings.all().await?.first() {
            Some(last) => rereadings.counts(last.id).await.map(Some),
            None => Ok(None),
        }
    };
    let Ok(Some(counts)) = told.await else { return };
    let family = Family::<StateLabels, Gauge>::default();
    for (state, count) in [
        ("waiting", counts.waiting),
        ("taken", counts.taken),
        ("read", counts.read),
        ("failed", counts.failed),
        ("left_out", counts.left_out),
        ("accepted", counts.accepted),
    ] {
        family
            .get_or_create(&StateLabels { state })
            .set(count.cast_signed());
    }
    registry.register(
        "meltrange_reread_recordings",
        "Recordings of the last re-reading, by state",
        family,
    );
}

fn work(registry: &mut Registry, state: &AppState) {
    let (open, busy) = state.live().counts();
    gauge(
        registry,
        "meltrange_benches_open",
        "Benches at work",
        open as f64,
    );
    gauge(
        registry,
        "meltrange_runs_under_way",
        "Runs under way on this machine",
        busy as f64,
    );
    gauge(
        registry,
        "meltrange_work_under_way",
        "Imports and readings that wait or are under way",
        state.works().under_way().len() as f64,
    );
}
