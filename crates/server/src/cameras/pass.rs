//! Passes: what lets a phone's page show pictures at one bench, and do nothing else.
//!
//! A pass is a code that is used once, soon. Whoever uses it gets a secret in its place, which the
//! browser keeps and scripts cannot read. Of both only digests are kept here.

use crate::limits::{PASS_CODE, PASS_USE, PASSES};
use crate::state::locked;
use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use sha2::{Digest as _, Sha256};
use std::collections::HashMap;
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// Bytes of chance in a code and in a secret: 128 and 256 bits.
const CODE_BYTES: usize = 16;
const SECRET_BYTES: usize = 32;

type Digest = [u8; 32];

/// For which bench something is good, and until when.
#[derive(Debug, Clone)]
struct Grant {
    bench: String,
    until: Instant,
}

#[derive(Debug, Default)]
struct Kept {
    codes: HashMap<Digest, Grant>,
    secrets: HashMap<Digest, Grant>,
}

/// The passes of a program; they end with it.
#[derive(Debug, Default)]
pub(crate) struct Passes(Mutex<Kept>);

/// What a used code was exchanged for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Admitted {
    /// The bench.
    pub bench: String,
    /// To be shown with everything that follows.
    pub secret: String,
    /// For how long.
    pub span: Duration,
}

/// No pass can be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub(crate) enum PassError {
    /// There are too many.
    #[error("{PASSES} passes are open; take back some, or wait ten minutes")]
    TooMany,
    /// The system has no randomness to give.
    #[error("the system gives no random numbers")]
    NoChance,
}

impl Passes {
    /// A new code for this bench, and how long it can be used.
    pub fn issue(&self, bench: &str, now: Instant) -> Result<(String, Duration), PassError> {
        let code = chance::<CODE_BYTES>()?;
        let mut kept = locked(&self.0);
        kept.forget(now);
        if kept.codes.len() + kept.secrets.len() >= PASSES {
            return Err(PassError::TooMany);
        }
        let until = now + PASS_CODE;
        let bench = bench.to_owned();
        kept.codes.insert(digest(&code), Grant { bench, until });
        Ok((code, PASS_CODE))
    }

    /// Exchange a code for a secret; none when there is no such code, or it is used or too old.
    pub fn redeem(&self, code: &str, now: Instant) -> Result<Option<Admitted>, PassError> {
        let secret = chance::<SECRET_BYTES>()?;
        let mut kept = locked(&self.0);
        kept.forget(now);
        let Some(Grant { bench, .. }) = kept.codes.remove(&digest(code)) else {
            return Ok(None);
        };
        let grant = Grant {
            bench: bench.clone(),
            until: now + PASS_USE,
        };
        kept.secrets.insert(digest(&secret), grant);
        Ok(Some(Admitted {
            bench,
            secret,
            span: PASS_USE,
        }))
    }

    /// The bench that this secret is good for.
    pub fn bench_of(&self, secret: &str, now: Instant) -> Option<String> {
        let mut kept = locked(&self.0);
        kept.forget(now);
        Some(kept.secrets.get(&digest(secret))?.bench.clone())
    }

    /// Take back everything for this bench.
    pub fn revoke(&self, bench: &str) {
        let mut kept = locked(&self.0);
        kept.codes.retain(|_, grant| grant.bench != bench);
        kept.secrets.retain(|_, grant| grant.bench != bench);
    }

    /// Whether nobody could come in.
    pub fn is_empty(&self, now: Instant) -> bool {
        let mut kept = locked(&self.0);
        kept.forget(now);
        kept.codes.is_empty() && kept.secrets.is_empty()
    }
}

impl Kept {
    fn forget(&mut self, now: Instant) {
        self.codes.retain(|_, grant| grant.until > now);
        self.secrets.retain(|_, grant| grant.until > now);
    }
}

/// Looked up by digest, so that how long it takes tells nothing of what would be right.
fn digest(text: &str) -> Digest {
    Sha256::digest(text.as_bytes()).into()
}

fn chance<const N: usize>() -> Result<String, PassError> {
    let mut bytes = [0; N];
    rustls::crypto::ring::default_provider()
        .secure_random
        .fill(&mut bytes)
        .map_err(|_| PassError::NoChance)?;
    Ok(URL_SAFE_NO_PAD.encode(bytes))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_good_once_and_for_ten_minutes() {
        let passes = Passes::default();
        let now = Instant::now();
        let (code, span) = passes.issue("North", now).expect("made");
        // 128 bits in six-bit letters.
        assert_eq!(code.len(), 22);
        assert_eq!(span, Duration::from_secs(600));
        let (late, _) = passes.issue("North", now).expect("made");
        assert_ne!(code, late);
        let admitted = passes.redeem(&code, now).expect("chance").expect("good");
        assert_eq!(admitted.bench, "North");
        assert_eq!(passes.redeem(&code, now), Ok(None));
        let later = now + Duration::from_secs(599);
        assert_eq!(
            passes.bench_of(&admitted.secret, later).as_deref(),
            Some("North")
        );
        assert_eq!(passes.bench_of(&code, later), None);
        let too_late = now + Duration::from_secs(600);
        assert_eq!(passes.redeem(&late, too_late), Ok(None));
        assert_eq!(passes.bench_of(&admitted.secret, now + PASS_USE), None);
        assert!(passes.is_empty(now + PASS_USE));
    }

    #[test]
    fn what_is_taken_back_is_good_no_more() {
        let passes = Passes::default();
        let now = Instant::now();
        let (north, _) = passes.issue("North", now).expect("made");
        let (south, _) = passes.issue("South", now).expect("made");
        let admitted = passes.redeem(&north, now).expect("chance").expect("good");
        passes.revoke("North");
        assert_eq!(passes.bench_of(&admitted.secret, now), None);
        assert!(!passes.is_empty(now));
        assert!(passes.redeem(&south, now).expect("chance").is_some());
        for _ in 0..PASSES - 1 {
            passes.issue("East", now).expect("made");
        }
        assert_eq!(passes.issue("East", now), Err(PassError::TooMany));
    }
}
