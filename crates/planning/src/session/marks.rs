//! What began and what is locked, when a session is planned anew.

use super::draft::{DraftBench, DraftLoad, SessionDraft};
use super::order::SessionOrder;
use super::plan::PlannedTube;

impl SessionDraft {
    /// What began and what is locked in `before` is so here, too, where this is what [`replan`](super::replan) made of it:
    /// these loads stand where they stood. Loads that began on a bench that is not here are added with it, so that nothing
    /// that really happened is lost.
    pub fn keep_marks(&mut self, before: &Self) {
        for bench in &mut self.benches {
            let own = before.benches.iter().filter(|own| own.bench == bench.bench);
            let marked = own
                .flat_map(|own| &own.loads)
                .filter(|load| load.locked || load.actual.is_some());
            for stood in marked {
                // By its tubes: loads that began stand before the others now, and empty ones are gone.
                let stands = bench
                    .loads
                    .iter_mut()
                    .find(|load| !load.locked && load.actual.is_none() && same_tubes(stood, load));
                if let Some(stands) = stands {
                    stands.locked = stood.locked;
                    stands.actual = stood.actual;
                }
            }
        }
        let is_here = |name: &str| self.benches.iter().any(|bench| bench.bench == name);
        let gone = before.benches.iter().filter(|own| !is_here(&own.bench));
        let gone = gone.map(|own| DraftBench {
            bench: own.bench.clone(),
            loads: began(own).cloned().collect(),
        });
        let gone: Vec<DraftBench> = gone.filter(|own| !own.loads.is_empty()).collect();
        self.benches.extend(gone);
    }

    /// Loads that began on benches that an order does not have (any more).
    pub(crate) fn begun_elsewhere(&self, order: &SessionOrder) -> impl Iterator<Item = &DraftLoad> {
        let is_known =
            |own: &&DraftBench| order.benches.iter().any(|bench| bench.name == own.bench);
        let elsewhere: Vec<&DraftBench> =
            self.benches.iter().filter(|own| !is_known(own)).collect();
        elsewhere.into_iter().flat_map(began)
    }
}

fn began(bench: &DraftBench) -> impl Iterator<Item = &DraftLoad> {
    bench.loads.iter().filter(|load| load.actual.is_some())
}

/// The same tubes as often, in whatever order.
fn same_tubes(a: &DraftLoad, b: &DraftLoad) -> bool {
    let sorted = |load: &DraftLoad| {
        let mut tubes = load.tubes.clone();
        let key = |tube: &PlannedTube| (tube.sample.clone(), tube.replicate);
        tubes.sort_by_key(key);
        tubes
    };
    sorted(a) == sorted(b)
}
