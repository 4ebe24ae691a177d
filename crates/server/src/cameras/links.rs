//! Which open benches take pictures from pages.

use super::link::{CameraSeen, Link};
use crate::state::locked;
use meltrange_bench::{BenchClock, PictureInlet};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

/// Open benches whose camera is a browser, by name; cheap to clone.
#[derive(Debug, Clone, Default)]
pub struct CameraLinks(Arc<Mutex<BTreeMap<String, Arc<Link>>>>);

impl CameraLinks {
    /// Let pages bring pictures to this bench, with times by its clock. One that was offered under the
    /// name before is withdrawn.
    pub fn offer(&self, bench: &str, inlet: PictureInlet, clock: BenchClock) {
        let link = Arc::new(Link::new(inlet, clock));
        if let Some(before) = locked(&self.0).insert(bench.to_owned(), link) {
            before.close();
        }
    }

    /// Take no more pictures for this bench; pages that show are told that it is closed.
    pub fn withdraw(&self, bench: &str) {
        if let Some(link) = locked(&self.0).remove(bench) {
            link.close();
        }
    }

    /// What the camera of a bench is doing; none when no page came yet, or the bench is not open.
    pub async fn seen(&self, bench: &str) -> Option<CameraSeen> {
        let link = self.link(bench)?;
        link.seen().await
    }

    pub(crate) fn link(&self, bench: &str) -> Option<Arc<Link>> {
        locked(&self.0).get(bench).cloned()
    }
}
