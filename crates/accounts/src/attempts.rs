//! Failures in a row, and how long one has to wait after them.
//!
//! They are counted for the name that was typed, whether anybody has it or not, and for the address they
//! came from. A try counts as failed before it is looked at: many at once gain nothing.

use crate::access_log::AccessKind;
use crate::chance::digest;
use crate::error::AccountError;
use crate::limits::{
    ADDRESS_FREE_FAILURES, ADDRESS_LONGEST_WAIT_S, FAILURES_KEPT_S, FIRST_WAIT_S,
    INVITATIONS_FREE_FAILURES, INVITATIONS_LONGEST_WAIT_S, NAME_FREE_FAILURES, NAME_LONGEST_WAIT_S,
};
use crate::store::Accounts;
use sqlx::{Any, AnyPool, Row as _, Transaction};
use std::net::IpAddr;

/// Whose failures are counted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Whose {
    key: String,
    free: i64,
    longest_s: i64,
}

impl Whose {
    /// Of this name, as typed.
    pub fn name(name: &str) -> Self {
        let lower = name.trim().to_lowercase();
        Self {
            // A digest: people type passphrases into the wrong field.
            key: format!("name:{}", digest(&lower)),
            free: NAME_FREE_FAILURES,
            longest_s: NAME_LONGEST_WAIT_S,
        }
    }

    /// Of this address. None of this machine: a program in between brings everybody's tries from there, and
    /// one of them must not make all others wait.
    pub fn address(from: &str) -> Option<Self> {
        let address: IpAddr = from.parse().ok()?;
        if address.to_canonical().is_loopback() {
            return None;
        }
        Some(Self {
            key: format!("from:{}", network(address)),
            free: ADDRESS_FREE_FAILURES,
            longest_s: ADDRESS_LONGEST_WAIT_S,
        })
    }

    /// Of invitations from this address. Those that come from this machine count together: codes cannot be guessed, but each that is
    /// none is a line of the access log, which is never shortened.
    pub fn invitations(from: &str) -> Self {
        Self::address(from).unwrap_or_else(|| Self {
            key: "invitations".to_owned(),
            free: INVITATIONS_FREE_FAILURES,
            longest_s: INVITATIONS_LONGEST_WAIT_S,
        })
    }

    /// How long to wait after this many failures in a row [s].
    fn wait_s(&self, failures: i64) -> i64 {
        let beyond = failures - self.free;
        if beyond < 0 {
            return 0;
        }
        // Twelve doublings are beyond every limit.
        (FIRST_WAIT_S << beyond.min(12)).min(self.longest_s)
    }
}

/// The address, or the network of 64 bits that one customer has (RFC 6177).
fn network(address: IpAddr) -> String {
    match address.to_canonical() {
        IpAddr::V4(address) => address.to_string(),
        IpAddr::V6(address) => {
            let [a, b, c, d, ..] = address.segments();
            format!("{a:x}:{b:x}:{c:x}:{d:x}::/64")
        }
    }
}

impl Accounts {
    /// Count a try as failed, for each of these; none where one of them has to wait. The answer is what is to
    /// be noted if it does fail: whether the next one has to wait.
    pub(crate) async fn claim(
        &self,
        whose: &[Whose],
        now_s: i64,
    ) -> Result<AccessKind, AccountError> {
        let mut change = self.change().await?;
        let (mut wait_s, mut kind) = (0, AccessKind::Refused);
        for one in whose {
            let claimed = claim_one(&mut change, one, now_s)
                .await
                .map_err(|source| self.failed(source))?;
            match claimed {
                Claimed::Waits(waits_s) => wait_s = wait_s.max(waits_s),
                Claimed::Counted(0) => {}
                Claimed::Counted(_) => kind = AccessKind::Waits,
            }
        }
        if wait_s > 0 {
            // Dropped: nothing was counted.
            return Err(AccountError::Wait { wait_s });
        }
        self.keep(change).await?;
        Ok(kind)
    }

    /// Take a try back that did not fail: the name's failures are forgotten, the address has one less.
    pub(crate) async fn succeeded(
        &self,
        name: &Whose,
        address: Option<&Whose>,
    ) -> Result<(), AccountError> {
        let failed = |source| self.failed(source);
        sqlx::query("DELETE FROM attempt WHERE whose = $1")
            .bind(name.key.as_str())
            .execute(self.pool())
            .await
            .map_err(failed)?;
        match address {
            Some(address) => self.did_not_fail(address).await,
            None => Ok(()),
        }
    }

    /// One failure less.
    pub(crate) async fn did_not_fail(&self, whose: &Whose) -> Result<(), AccountError> {
        sqlx::query(
            "UPDATE attempt SET failures = failures - 1, wait_until = 0 WHERE whose = $1 AND failures > 0",
        )
        .bind(whose.key.as_str())
        .execute(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        Ok(())
    }
}

/// What came of a try.
enum Claimed {
    /// Counted; the next one has to wait this long [s].
    Counted(i64),
    /// Not counted: it comes this much too early [s].
    Waits(i64),
}

/// Count one failure.
async fn claim_one(
    change: &mut Transaction<'static, Any>,
    whose: &Whose,
    now_s: i64,
) -> Result<Claimed, sqlx::Error> {
    let counted = sqlx::query(
        "INSERT INTO attempt (whose, failures, last_at, wait_until) VALUES ($1, 1, $2, 0) \
         ON CONFLICT (whose) DO UPDATE SET \
         failures = CASE WHEN attempt.last_at <= $3 THEN 1 ELSE attempt.failures + 1 END, \
         last_at = excluded.last_at \
         WHERE attempt.wait_until <= excluded.last_at \
         RETURNING failures",
    )
    .bind(whose.key.as_str())
    .bind(now_s)
    .bind(now_s - FAILURES_KEPT_S)
    .fetch_optional(&mut **change)
    .await?;
    if let Some(row) = counted {
        let failures: i64 = row.try_get(0)?;
        let wait_s = whose.wait_s(failures);
        sqlx::query("UPDATE attempt SET wait_until = $2 WHERE whose = $1")
            .bind(whose.key.as_str())
            .bind(now_s + wait_s)
            .execute(&mut **change)
            .await?;
        return Ok(Claimed::Counted(wait_s));
    }
    let row = sqlx::query("SELECT wait_until FROM attempt WHERE whose = $1")
        .bind(whose.key.as_str())
        .fetch_optional(&mut **change)
        .await?;
    let until: i64 = match row {
        Some(row) => row.try_get(0)?,
        None => now_s,
    };
    Ok(Claimed::Waits((until - now_s).max(1)))
}

/// Forget failures that are long past.
pub(crate) async fn forget(pool: &AnyPool, now_s: i64) -> Result<(), sqlx::Error> {
    sqlx::query("DELETE FROM attempt WHERE last_at <= $1")
        .bind(now_s - FAILURES_KEPT_S)
        .execute(pool)
        .await?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waits_grow_and_end() {
        let name = Whose::name("R. Amsel");
        let waits: Vec<i64> = (1..=12).map(|failures| name.wait_s(failures)).collect();
        assert_eq!(waits, [0, 0, 0, 0, 30, 60, 120, 240, 480, 900, 900, 900]);
        assert_eq!(name.wait_s(i64::MAX), NAME_LONGEST_WAIT_S);
        // OWASP ASVS 4.0.3, 2.2.1: no more than 100 failed attempts an hour for one account.
        let (mut at_s, mut failures) = (0, 0);
        while at_s < 3600 {
            failures += 1;
            at_s += name.wait_s(failures);
        }
        assert!(failures < 15, "{failures} in an hour");
    }

    #[test]
    fn a_name_is_one_however_it_is_written() {
        assert_eq!(Whose::name("R. Amsel"), Whose::name(" r. amsel "));
        assert_ne!(Whose::name("R. Amsel"), Whose::name("S. Drossel"));
    }

    #[test]
    fn addresses_are_networks_and_this_machine_is_none() {
        let key = |from| Whose::address(from).map(|whose| whose.key);
        assert_eq!(key("192.0.2.7").as_deref(), Some("from:192.0.2.7"));
        assert_eq!(key("::ffff:192.0.2.7").as_deref(), Some("from:192.0.2.7"));
        assert_eq!(key("2001:db8:1:2:3::9"), key("2001:db8:1:2::1"));
        assert_ne!(key("2001:db8:1:2::1"), key("2001:db8:1:3::1"));
        for here in ["127.0.0.1", "::1", "::ffff:127.0.0.1", "", "somewhere"] {
            assert_eq!(key(here), None, "{here}");
        }
    }
}
