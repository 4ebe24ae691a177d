//! Tries that fail: who waits afterwards, and for how long.

use crate::places::{AMSEL, GOOD, NOW_S, OTHER, in_both, joined, knock};
use meltrange_accounts::{
    AccessKind, AccountError, FIRST_WAIT_S, NAME_FREE_FAILURES, NAME_LONGEST_WAIT_S,
};

const NAME: &str = "R. Amsel";

#[test]
fn codes_that_are_none_wait_also_where_addresses_are_not_told_apart() {
    in_both(async |accounts| {
        let good = accounts
            .invite(AMSEL, "", "", NOW_S)
            .await
            .expect("invited");
        let at = knock("127.0.0.1", NOW_S);
        let mut looked_at = 0;
        for _ in 0..150 {
            match accounts.invited("AAAA-AAAA-AAAA-AAAA-AAAA-AAAA", &at).await {
                Err(AccountError::NotInvited) => looked_at += 1,
                Err(AccountError::Wait { wait_s }) => assert!((1..=60).contains(&wait_s)),
                other => panic!("{other:?}"),
            }
        }
        // Only those that were looked at are lines of the log.
        assert_eq!(looked_at, 100);
        let later = knock("127.0.0.1", NOW_S + 60);
        assert_eq!(
            accounts.invited(&good.code, &later).await.expect("invited"),
            AMSEL
        );
    });
}

#[test]
fn failures_make_one_wait_and_a_success_forgets_them() {
    in_both(async |accounts| {
        joined(&accounts, AMSEL, NAME, GOOD).await;
        let try_at = async |passphrase: &str, now_s| {
            let at = knock("", now_s);
            accounts
                .log_in(NAME, Some(AMSEL), passphrase, &at)
                .await
                .map(|came| came.person)
        };
        for _ in 0..NAME_FREE_FAILURES {
            assert!(matches!(
                try_at(OTHER, NOW_S).await,
                Err(AccountError::Refused)
            ));
        }
        // The right one has to wait, too; and waiting is not counted.
        for early_s in [0, 1, FIRST_WAIT_S - 1] {
            let Err(AccountError::Wait { wait_s }) = try_at(GOOD, NOW_S + early_s).await else {
                panic!("it has to wait");
            };
            assert_eq!(wait_s, FIRST_WAIT_S - early_s);
        }
        assert_eq!(try_at(GOOD, NOW_S + FIRST_WAIT_S).await.expect("in"), AMSEL);
        // Forgotten: as many again are free.
        for _ in 0..NAME_FREE_FAILURES {
            assert!(matches!(
                try_at(OTHER, NOW_S + 100).await,
                Err(AccountError::Refused)
            ));
        }
        // However often it goes wrong, it is never for good.
        let mut now_s = NOW_S + 100;
        for _ in 0..12 {
            now_s += NAME_LONGEST_WAIT_S;
            assert!(matches!(
                try_at(OTHER, now_s).await,
                Err(AccountError::Refused)
            ));
        }
        assert_eq!(
            try_at(GOOD, now_s + NAME_LONGEST_WAIT_S).await.expect("in"),
            AMSEL
        );
        let log = accounts.access_log(None, 500).await.expect("asked");
        assert!(log.iter().any(|entry| entry.kind == AccessKind::Waits));
    });
}

#[test]
fn a_name_that_nobody_has_waits_likewise() {
    in_both(async |accounts| {
        let at = knock("", NOW_S);
        for _ in 0..NAME_FREE_FAILURES {
            let refused = accounts.log_in("Nobody", None, GOOD, &at).await;
            assert!(matches!(refused, Err(AccountError::Refused)));
        }
        let waits = accounts.log_in("nobody ", None, GOOD, &at).await;
        assert!(matches!(waits, Err(AccountError::Wait { .. })));
    });
}

#[test]
fn many_tries_at_once_gain_nothing() {
    in_both(async |accounts| {
        joined(&accounts, AMSEL, NAME, GOOD).await;
        let tries: Vec<_> = (0..25)
            .map(|_| {
                let accounts = accounts.clone();
                tokio::spawn(async move {
                    let at = knock("", NOW_S);
                    accounts.log_in(NAME, Some(AMSEL), OTHER, &at).await
                })
            })
            .collect();
        let (mut refused, mut waited) = (0, 0);
        for one in tries {
            match one.await.expect("it ends") {
                Err(AccountError::Refused) => refused += 1,
                Err(AccountError::Wait { .. }) => waited += 1,
                other => panic!("{other:?}"),
            }
        }
        assert_eq!(
            (refused, waited),
            (NAME_FREE_FAILURES, 25 - NAME_FREE_FAILURES)
        );
    });
}

#[test]
fn an_address_waits_whatever_names_it_tries() {
    in_both(async |accounts| {
        joined(&accounts, AMSEL, NAME, GOOD).await;
        let mut refused = 0;
        for number in 0..40 {
            let at = knock("2001:db8::1", NOW_S);
            match accounts
                .log_in(&format!("name {number}"), None, GOOD, &at)
                .await
            {
                Err(AccountError::Refused) => refused += 1,
                Err(AccountError::Wait { .. }) => break,
                other => panic!("{other:?}"),
            }
        }
        assert_eq!(refused, meltrange_accounts::ADDRESS_FREE_FAILURES);
        // The next customer of the same provider comes in.
        let other = knock("2001:db8:0:1::1", NOW_S);
        accounts
            .log_in(NAME, Some(AMSEL), GOOD, &other)
            .await
            .expect("in");
        // So does whoever knows it, once the wait is over.
        let later = knock(
            "2001:db8::1",
            NOW_S + meltrange_accounts::ADDRESS_LONGEST_WAIT_S,
        );
        accounts
            .log_in(NAME, Some(AMSEL), GOOD, &later)
            .await
            .expect("in");
    });
}
