//! Coming in with an account elsewhere, and showing again who one is.

use crate::places::{AMSEL, DROSSEL, GOOD, NOW_S, OTHER, in_both, joined, knock};
use meltrange_accounts::{AccessKind, AccountError, Accounts, INVITATION_S, Outside};

const NEW: &str = "0199a0f4-5c7e-7d21-8a2b-3c4d5e6f7090";

fn outside(subject: &str, proved_s: i64) -> Outside {
    Outside {
        issuer: "https://login.example.edu".into(),
        subject: subject.into(),
        proved_s,
    }
}

async fn invited(accounts: &Accounts, person: &str) -> String {
    let made = accounts.invite(person, "", "", NOW_S).await;
    made.expect("invited").code
}

#[test]
fn an_invitation_binds_an_account_elsewhere_once() {
    in_both(async |accounts| {
        let at = knock("192.0.2.7", NOW_S);
        let amsel = outside("amsel", NOW_S - 30);
        assert!(matches!(
            accounts.sign_in(&amsel, &at).await,
            Err(AccountError::NotBound)
        ));
        let code = invited(&accounts, AMSEL).await;
        let came = accounts
            .accept_outside(&code, &amsel, &at)
            .await
            .expect("accepted");
        assert_eq!((came.person.as_str(), came.must_change), (AMSEL, false));
        let visit = accounts.visit(&came.secret, NOW_S).await.expect("asked");
        // What the organisation says of when, not when they came back.
        assert_eq!(visit.expect("in").proved_s, NOW_S - 30);
        assert!(matches!(
            accounts.accept_outside(&code, &amsel, &at).await,
            Err(AccountError::NotInvited)
        ));
        // Somebody else's invitation does not bind the same account, and stays.
        let code = invited(&accounts, DROSSEL).await;
        assert!(matches!(
            accounts.accept_outside(&code, &amsel, &at).await,
            Err(AccountError::BoundToAnother)
        ));
        let late = knock("192.0.2.7", NOW_S + INVITATION_S);
        let drossel = outside("drossel", NOW_S);
        assert!(matches!(
            accounts.accept_outside(&code, &drossel, &late).await,
            Err(AccountError::NotInvited)
        ));
        let came = accounts.accept_outside(&code, &drossel, &at).await;
        assert_eq!(came.expect("accepted").person, DROSSEL);
        // The same subject of another issuer is nobody.
        let elsewhere = Outside {
            issuer: "https://login.example.org".into(),
            ..amsel.clone()
        };
        assert_eq!(accounts.bound(&elsewhere).await.expect("asked"), None);
        assert_eq!(
            accounts.bound(&amsel).await.expect("asked").as_deref(),
            Some(AMSEL)
        );
        let people = [AMSEL.to_owned()];
        assert!(accounts.any_ready(&people, NOW_S).await.expect("asked"));
        assert!(!accounts.has_passphrase(AMSEL).await.expect("asked"));
    });
}

#[test]
fn whoever_is_invited_anew_comes_in_by_the_new_way() {
    in_both(async |accounts| {
        let at = knock("192.0.2.7", NOW_S);
        let amsel = outside("amsel", NOW_S);
        let secret = joined(&accounts, AMSEL, "R. Amsel", GOOD).await;
        let token = accounts
            .make_token(AMSEL, "test", 1, "", NOW_S)
            .await
            .expect("made");
        let code = invited(&accounts, AMSEL).await;
        accounts
            .accept_outside(&code, &amsel, &at)
            .await
            .expect("accepted");
        // Earlier sessions and tokens are over; the passphrase goes on, for when the organisation is away.
        assert_eq!(accounts.visit(&secret, NOW_S).await.expect("asked"), None);
        let visit = accounts.visit_by_token(&token.secret, NOW_S).await;
        assert_eq!(visit.expect("asked"), None);
        accounts
            .log_in("R. Amsel", Some(AMSEL), GOOD, &at)
            .await
            .expect("in");
        // Another account elsewhere takes the place of the first.
        let code = invited(&accounts, AMSEL).await;
        let second = outside("amsel-2", NOW_S);
        accounts
            .accept_outside(&code, &second, &at)
            .await
            .expect("accepted");
        assert_eq!(accounts.bound(&amsel).await.expect("asked"), None);
        // A passphrase takes the place of both.
        let code = invited(&accounts, AMSEL).await;
        accounts
            .accept(&code, "R. Amsel", OTHER, &at)
            .await
            .expect("accepted");
        assert_eq!(accounts.bound(&second).await.expect("asked"), None);
        // One that was given and never changed is known to whoever gave it.
        accounts
            .set_passphrase(AMSEL, "R. Amsel", GOOD, "", NOW_S)
            .await
            .expect("set");
        let code = invited(&accounts, AMSEL).await;
        let came = accounts
            .accept_outside(&code, &amsel, &at)
            .await
            .expect("accepted");
        assert!(!came.must_change);
        assert!(!accounts.has_passphrase(AMSEL).await.expect("asked"));
    });
}

#[test]
fn a_locked_account_lets_nobody_in_from_elsewhere() {
    in_both(async |accounts| {
        let at = knock("192.0.2.7", NOW_S);
        let fink = outside("fink", NOW_S);
        let came = accounts
            .join_outside(NEW, &fink, "chem-staff", &at)
            .await
            .expect("joined");
        accounts.lock(NEW, AMSEL, "", NOW_S).await.expect("locked");
        assert_eq!(
            accounts.visit(&came.secret, NOW_S).await.expect("asked"),
            None
        );
        assert!(matches!(
            accounts.sign_in(&fink, &at).await,
            Err(AccountError::Locked)
        ));
        accounts
            .unlock(NEW, "B. Fink", AMSEL, "", NOW_S)
            .await
            .expect("unlocked");
        accounts.sign_in(&fink, &at).await.expect("in");
        let log = accounts.access_log(None, 500).await.expect("asked");
        let joined = log
            .iter()
            .find(|entry| entry.kind == AccessKind::Joined)
            .expect("noted");
        assert_eq!(
            (joined.about.as_str(), joined.detail.as_str()),
            (NEW, "chem-staff")
        );
        let kinds: Vec<AccessKind> = log.iter().map(|entry| entry.kind).collect();
        assert_eq!(
            kinds
                .iter()
                .filter(|kind| **kind == AccessKind::SignedIn)
                .count(),
            2
        );
        // Nobody is added twice.
        let other = outside("finch", NOW_S);
        assert!(matches!(
            accounts.join_outside(NEW, &other, "chem-staff", &at).await,
            Err(AccountError::Taken { .. })
        ));
        assert_eq!(accounts.bound(&other).await.expect("asked"), None);
    });
}

#[test]
fn a_passphrase_that_is_shown_again_counts_like_any_other_try() {
    in_both(async |accounts| {
        joined(&accounts, AMSEL, "R. Amsel", GOOD).await;
        let at = knock("192.0.2.7", NOW_S);
        accounts
            .prove(AMSEL, "R. Amsel", GOOD, "sign-off", &at)
            .await
            .expect("theirs");
        for _ in 0..5 {
            let refused = accounts
                .prove(AMSEL, "R. Amsel", OTHER, "sign-off", &at)
                .await;
            assert!(matches!(refused, Err(AccountError::Refused)));
        }
        let waits = accounts
            .prove(AMSEL, "R. Amsel", GOOD, "sign-off", &at)
            .await;
        assert!(matches!(waits, Err(AccountError::Wait { .. })));
        let log = accounts.access_log(None, 5).await.expect("asked");
        assert!(
            log.iter()
                .all(|entry| entry.detail == "sign-off" && entry.person == AMSEL)
        );
        assert_eq!(log[0].kind, AccessKind::Waits);
        // Who has none proves nothing by one.
        let none = accounts
            .prove(DROSSEL, "S. Drossel", "", "sign-off", &at)
            .await;
        assert!(matches!(none, Err(AccountError::Refused)));
    });
}
