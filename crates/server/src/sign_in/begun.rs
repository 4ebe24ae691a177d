//! Sign-ins under way: somebody went to their organisation and has not come back yet.

use crate::limits::{NOT_BEGUN_NOTED, SIGN_INS, SIGN_INS_EACH};
use meltrange_accounts::{Begun, SIGN_IN_S, Secret};
use sha2::{Digest as _, Sha256};
use std::collections::BTreeMap;
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};

/// A sign-in under way.
#[derive(Debug, Clone)]
pub(crate) struct Journey {
    /// What was begun.
    pub begun: Begun,
    /// The address of this program that it comes back to.
    pub back_to: String,
    /// The page that is shown then, as a fragment.
    pub to: String,
    /// The code of an invitation that is accepted by it.
    pub invitation: Option<Secret>,
    /// Who sat there before, and their session; it ends.
    pub before: Option<(String, String)>,
    /// The address that it began from; empty where that is not known.
    pub from: String,
    /// When it began [s since 1970].
    pub at_s: i64,
}

/// All of them, by a digest of what comes back.
#[derive(Debug, Default)]
pub(crate) struct Journeys(Mutex<BTreeMap<[u8; 32], Journey>>);

fn digest(text: &str) -> [u8; 32] {
    Sha256::digest(text.as_bytes()).into()
}

/// How many returns that nobody began are noted in a minute. Whoever knocks makes them, so they must not fill
/// the access log; what is beyond stands in the program's log alone.
#[derive(Debug, Default)]
pub(crate) struct Ration(Mutex<(i64, u32)>);

impl Ration {
    /// Whether one more is noted.
    pub fn has(&self, now_s: i64) -> bool {
        let mut given = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let minute = now_s / 60;
        if given.0 != minute {
            *given = (minute, 0);
        }
        given.1 = given.1.saturating_add(1);
        given.1 <= NOT_BEGUN_NOTED
    }
}

impl Journeys {
    /// Somebody goes. Where there are too many, the oldest are forgotten: first those of the same address, so that
    /// nobody sends others away by beginning often.
    pub fn add(&self, journey: Journey) {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let began_at = journey.at_s;
        all.retain(|_, one| one.at_s + SIGN_IN_S > began_at);
        if let Some(network) = network(&journey.from) {
            let is_alike = |one: &Journey| self::network(&one.from).as_ref() == Some(&network);
            if all.values().filter(|one| is_alike(one)).count() >= SIGN_INS_EACH {
                forget_oldest(&mut all, is_alike);
            }
        }
        if all.len() >= SIGN_INS {
            forget_oldest(&mut all, |_| true);
        }
        all.insert(digest(journey.begun.state.shown()), journey);
    }

    /// Somebody comes back with this state, in a browser that keeps this: their journey, once. What another
    /// browser began stays for that one.
    pub fn take(&self, state: &str, browser: &str, now_s: i64) -> Option<Journey> {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let key = digest(state);
        let found = all.get(&key)?;
        if digest(found.begun.browser.shown()) != digest(browser) {
            return None;
        }
        let journey = all.remove(&key)?;
        (journey.at_s + SIGN_IN_S > now_s).then_some(journey)
    }
}

/// Whom an address belongs to: an IPv6 one's first 64 bits are one customer's (RFC 6177). None of this machine: a
/// program in between brings everybody from there.
fn network(from: &str) -> Option<[u16; 8]> {
    let address: IpAddr = from.parse().ok()?;
    match address.to_canonical() {
        address if address.is_loopback() => None,
        IpAddr::V4(address) => Some(address.to_ipv6_mapped().segments()),
        IpAddr::V6(address) => {
            let [a, b, c, d, ..] = address.segments();
            Some([a, b, c, d, 0, 0, 0, 0])
        }
    }
}

fn forget_oldest(all: &mut BTreeMap<[u8; 32], Journey>, which: impl Fn(&Journey) -> bool) {
    let oldest = all
        .iter()
        .filter(|(_, one)| which(one))
        .min_by_key(|(_, one)| one.at_s)
        .map(|(key, _)| *key);
    if let Some(key) = oldest {
        all.remove(&key);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn journey(state: &str, from: &str, at_s: i64) -> Journey {
        Journey {
            begun: Begun {
                address: "https://login.example.edu".into(),
                state: Secret::new(state),
                nonce: Secret::new("nonce"),
                verifier: Secret::new("verifier"),
                browser: Secret::new(format!("browser of {state}")),
            },
            back_to: "https://bench.example.edu/back".into(),
            to: "#/today".into(),
            invitation: None,
            before: None,
            from: from.into(),
            at_s,
        }
    }

    #[test]
    fn only_the_browser_that_began_comes_back_once_and_in_time() {
        let all = Journeys::default();
        all.add(journey("a", "192.0.2.7", 1000));
        assert!(all.take("b", "browser of a", 1001).is_none());
        assert!(all.take("a", "browser of b", 1001).is_none());
        assert!(all.take("a", "", 1001).is_none());
        assert!(all.take("a", "browser of a", 1001).is_some());
        assert!(all.take("a", "browser of a", 1001).is_none());
        all.add(journey("c", "192.0.2.7", 1000));
        assert!(all.take("c", "browser of c", 1000 + SIGN_IN_S).is_none());
    }

    #[test]
    fn returns_that_nobody_began_do_not_fill_the_log() {
        let ration = Ration::default();
        let noted = (0..1000).filter(|_| ration.has(6000)).count();
        assert_eq!(noted, usize::try_from(NOT_BEGUN_NOTED).expect("small"));
        assert!(ration.has(6060));
    }

    #[test]
    fn whoever_begins_often_forgets_their_own() {
        let all = Journeys::default();
        all.add(journey("mine", "192.0.2.7", 1000));
        for number in 0..=SIGN_INS_EACH {
            all.add(journey(&number.to_string(), "192.0.2.8", 1001));
        }
        assert!(all.take("mine", "browser of mine", 1002).is_some());
        let last = SIGN_INS_EACH.to_string();
        assert!(
            all.take(&last, &format!("browser of {last}"), 1002)
                .is_some()
        );
        let kept = all.0.lock().expect("kept").len();
        assert_eq!(kept, SIGN_INS_EACH - 1);
        // Behind a program in between all come from here, and none is forgotten for another.
        for number in 0..SIGN_INS_EACH * 2 {
            all.add(journey(&format!("here {number}"), "127.0.0.1", 1003));
        }
        assert!(all.take("here 0", "browser of here 0", 1004).is_some());
    }
}
