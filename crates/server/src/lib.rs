//! The lab book as web pages on this machine.
//!
//! In: a book that is open ([`AppState::new`]). Out: a router ([`app`]) with an HTTP interface, its
//! OpenAPI description ([`description`]), server-sent events and the pages, and a way to serve it on
//! loopback, or to people with accounts in a network ([`serve`]). `docs/server.md` lists routes, events and limits.

mod admission;
mod agreement;
mod bench_learning;
mod cameras;
mod determining;
mod engine;
mod expected;
mod extract;
mod guard;
mod kept_run;
mod limits;
mod live;
mod live_benches;
mod local_copies;
mod log_series;
mod mixed_tubes;
mod network;
mod observing;
mod own_library;
mod own_list;
mod pictures;
mod practicals;
mod practice;
mod preview;
mod problem;
mod reports;
mod rereading;
mod rooms;
mod router;
mod sample_view;
mod seen;
mod serve;
mod sessions;
mod sight;
mod sign_in;
mod state;
mod thermometers;
mod uploads;
mod verdicts;
mod wire;
mod work;

pub use admission::{Guarded, May, Rule, Wire, permissions};
pub use cameras::{CameraLinks, CameraSeen, ClockNote};
pub use kept_run::{Afterwards, KeptRun, KeptRunError, begin_kept_run};
pub use network::{GuardOptions, Listen};
pub use own_list::{OwnError, read_own};
pub use reports::{
    ReportRequest, SETTINGS, Settings, SettingsError, chain_of, holds_any, pictures_signed,
    report_of,
};
pub use rereading::{RereadOrders, RereadStep, accept_all, reread};
pub use router::{app, description};
pub use serve::{Ready, ServeError, ServeOptions, serve, told_to_stop};
pub use sign_in::{SignIn, SignInFileError, SignInOptions};
pub use state::AppState;
