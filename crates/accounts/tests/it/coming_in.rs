//! Invitations, passphrases, sessions.

use crate::places::{
    AMSEL, CHEAP, DROSSEL, GOOD, NOW_S, OTHER, in_a_file, in_both, joined, knock, wait,
};
use meltrange_accounts::{
    AccessKind, AccountError, Accounts, Cost, INVITATION_S, Place, SESSION_IDLE_S,
    SESSION_LONGEST_S, SESSIONS_EACH, Unfit,
};

const NAME: &str = "R. Amsel";

#[test]
fn an_invitation_is_good_once_and_for_a_week() {
    in_both(async |accounts| {
        let people = [AMSEL.to_owned()];
        assert!(!accounts.any_ready(&people, NOW_S).await.expect("asked"));
        let first = accounts
            .invite(AMSEL, "", "", NOW_S)
            .await
            .expect("invited");
        let second = accounts
            .invite(AMSEL, "", "", NOW_S)
            .await
            .expect("invited");
        assert!(accounts.any_ready(&people, NOW_S).await.expect("asked"));
        assert!(
            !accounts
                .any_ready(&people, NOW_S + INVITATION_S)
                .await
                .expect("asked")
        );
        let at = knock("192.0.2.7", NOW_S);
        // The newer one alone is good.
        assert!(matches!(
            accounts.invited(&first.code, &at).await,
            Err(AccountError::NotInvited)
        ));
        assert_eq!(
            accounts.invited(&second.code, &at).await.expect("invited"),
            AMSEL
        );
        let late = knock("192.0.2.7", NOW_S + INVITATION_S);
        assert!(matches!(
            accounts.invited(&second.code, &late).await,
            Err(AccountError::NotInvited)
        ));
        // A passphrase that is not taken leaves it as it is.
        let refused = accounts.accept(&second.code, NAME, "short", &at).await;
        assert!(matches!(
            refused,
            Err(AccountError::Unfit(Unfit::Short { found: 5 }))
        ));
        let typed = second.code.to_lowercase().replace('-', " ");
        let came = accounts
            .accept(&typed, NAME, GOOD, &at)
            .await
            .expect("accepted");
        assert_eq!(came.person, AMSEL);
        assert!(!came.must_change);
        let again = accounts.accept(&second.code, NAME, OTHER, &at).await;
        assert!(matches!(again, Err(AccountError::NotInvited)));
        let visit = accounts
            .visit(&came.secret, NOW_S)
            .await
            .expect("asked")
            .expect("in");
        assert_eq!((visit.person.as_str(), visit.id), (AMSEL, came.session));
        assert!(accounts.any_ready(&people, NOW_S).await.expect("asked"));
    });
}

#[test]
fn only_the_right_passphrase_of_the_right_person_lets_in() {
    in_both(async |accounts| {
        joined(&accounts, AMSEL, NAME, GOOD).await;
        joined(&accounts, DROSSEL, "S. Drossel", OTHER).await;
        let at = knock("192.0.2.7", NOW_S);
        let came = accounts
            .log_in(NAME, Some(AMSEL), GOOD, &at)
            .await
            .expect("in");
        assert_eq!(came.person, AMSEL);
        for (name, person, passphrase) in [
            (NAME, Some(AMSEL), OTHER),
            (NAME, Some(AMSEL), ""),
            ("S. Drossel", Some(DROSSEL), GOOD),
            ("Nobody", None, GOOD),
            // Somebody of the book without an account.
            (
                "B. Fink",
                Some("0199a0f4-5c7e-7d21-8a2b-3c4d5e6f7083"),
                GOOD,
            ),
        ] {
            let refused = accounts
                .log_in(name, person, passphrase, &at)
                .await
                .expect_err("refused");
            assert!(
                matches!(refused, AccountError::Refused),
                "{name}: {refused}"
            );
        }
        let log = accounts.access_log(None, 5).await.expect("asked");
        assert!(
            log.iter()
                .all(|entry| entry.kind == AccessKind::Refused && entry.place == "192.0.2.7")
        );
        // What was typed as a name that nobody has is not kept.
        assert!(
            log.iter()
                .all(|entry| !format!("{entry:?}").contains("Nobody"))
        );
    });
}

#[test]
fn sessions_end_by_themselves_and_when_told() {
    in_both(async |accounts| {
        let secret = joined(&accounts, AMSEL, NAME, GOOD).await;
        let is_in = async |secret: &str, now_s| {
            accounts
                .visit(secret, now_s)
                .await
                .expect("asked")
                .is_some()
        };
        assert!(!is_in("", NOW_S).await);
        assert!(!is_in(&secret.to_lowercase(), NOW_S).await);
        assert!(is_in(&secret, NOW_S + SESSION_IDLE_S - 1).await);
        // That was a use of it: it lasts on, to a day at the most.
        assert!(is_in(&secret, NOW_S + 2 * SESSION_IDLE_S - 2).await);
        assert!(is_in(&secret, NOW_S + SESSION_LONGEST_S - 3600).await);
        assert!(is_in(&secret, NOW_S + SESSION_LONGEST_S - 1).await);
        assert!(!is_in(&secret, NOW_S + SESSION_LONGEST_S).await);

        let came = async |now_s| {
            let at = knock("192.0.2.7", now_s);
            accounts
                .log_in(NAME, Some(AMSEL), GOOD, &at)
                .await
                .expect("in")
        };
        let idle = came(NOW_S).await;
        assert!(!is_in(&idle.secret, NOW_S + SESSION_IDLE_S).await);
        let (one, two) = (came(NOW_S).await, came(NOW_S).await);
        assert!(
            accounts
                .still_lets_in(&one.session, NOW_S)
                .await
                .expect("asked")
        );
        accounts
            .log_out(AMSEL, &one.session, "", NOW_S)
            .await
            .expect("out");
        assert!(
            !accounts
                .still_lets_in(&one.session, NOW_S)
                .await
                .expect("asked")
        );
        assert!(!is_in(&one.secret, NOW_S).await);
        assert!(is_in(&two.secret, NOW_S).await);
        // Nobody ends another's.
        let theirs = accounts.log_out(DROSSEL, &two.session, "", NOW_S).await;
        assert!(matches!(theirs, Err(AccountError::Unknown { .. })));
        accounts
            .log_out_everywhere(AMSEL, AMSEL, "", NOW_S)
            .await
            .expect("out");
        assert!(!is_in(&two.secret, NOW_S).await);
        assert!(
            accounts
                .sessions(AMSEL, NOW_S)
                .await
                .expect("asked")
                .is_empty()
        );

        // The one not used for longest gives way.
        let first = came(NOW_S).await;
        for later in 1..=SESSIONS_EACH {
            came(NOW_S + i64::try_from(later).expect("small")).await;
        }
        assert!(!is_in(&first.secret, NOW_S + 60).await);
        let there = accounts.sessions(AMSEL, NOW_S + 60).await.expect("asked");
        assert_eq!(there.len(), SESSIONS_EACH);
        assert_eq!(
            (there[0].place.as_str(), there[0].agent.as_str()),
            ("192.0.2.7", "a test")
        );
        accounts
            .sweep(NOW_S + SESSION_LONGEST_S)
            .await
            .expect("swept");
        assert!(
            accounts
                .sessions(AMSEL, NOW_S + 60)
                .await
                .expect("asked")
                .is_empty()
        );
    });
}

#[test]
fn a_changed_passphrase_ends_all_other_sessions() {
    in_both(async |accounts| {
        joined(&accounts, AMSEL, NAME, GOOD).await;
        let at = knock("192.0.2.7", NOW_S);
        let here = accounts
            .log_in(NAME, Some(AMSEL), GOOD, &at)
            .await
            .expect("in");
        let there = accounts
            .log_in(NAME, Some(AMSEL), GOOD, &at)
            .await
            .expect("in");
        let change = async |from, to| {
            accounts
                .change_passphrase(AMSEL, NAME, [from, to], &here.session, &at)
                .await
        };
        assert!(matches!(
            change(OTHER, OTHER).await,
            Err(AccountError::Refused)
        ));
        assert!(matches!(
            change(GOOD, "R. Amsel R. Amsel").await,
            Err(AccountError::Unfit(Unfit::Named))
        ));
        assert!(matches!(
            change(GOOD, GOOD).await,
            Err(AccountError::Field { .. })
        ));
        assert!(
            accounts
                .visit(&there.secret, NOW_S)
                .await
                .expect("asked")
                .is_some()
        );
        change(GOOD, OTHER).await.expect("changed");
        assert!(
            accounts
                .visit(&here.secret, NOW_S)
                .await
                .expect("asked")
                .is_some()
        );
        assert!(
            accounts
                .visit(&there.secret, NOW_S)
                .await
                .expect("asked")
                .is_none()
        );
        let old = accounts.log_in(NAME, Some(AMSEL), GOOD, &at).await;
        assert!(matches!(old, Err(AccountError::Refused)));
        accounts
            .log_in(NAME, Some(AMSEL), OTHER, &at)
            .await
            .expect("in");
    });
}

#[test]
fn a_passphrase_that_was_given_has_to_be_changed() {
    in_both(async |accounts| {
        let session = joined(&accounts, AMSEL, NAME, GOOD).await;
        accounts
            .set_passphrase(AMSEL, NAME, OTHER, "", NOW_S)
            .await
            .expect("set");
        assert!(
            accounts
                .visit(&session, NOW_S)
                .await
                .expect("asked")
                .is_none()
        );
        let at = knock("", NOW_S);
        let came = accounts
            .log_in(NAME, Some(AMSEL), OTHER, &at)
            .await
            .expect("in");
        assert!(came.must_change);
        assert!(
            accounts
                .visit(&came.secret, NOW_S)
                .await
                .expect("asked")
                .expect("in")
                .must_change
        );
        accounts
            .change_passphrase(AMSEL, NAME, [OTHER, GOOD], &came.session, &at)
            .await
            .expect("changed");
        assert!(
            !accounts
                .visit(&came.secret, NOW_S)
                .await
                .expect("asked")
                .expect("in")
                .must_change
        );
    });
}

#[test]
fn a_locked_account_lets_nobody_in() {
    in_both(async |accounts| {
        let secret = joined(&accounts, AMSEL, NAME, GOOD).await;
        let token = accounts
            .make_token(AMSEL, "scale", 30, "", NOW_S)
            .await
            .expect("made");
        accounts
            .lock(AMSEL, DROSSEL, "192.0.2.7", NOW_S)
            .await
            .expect("locked");
        let at = knock("", NOW_S);
        assert!(
            accounts
                .visit(&secret, NOW_S)
                .await
                .expect("asked")
                .is_none()
        );
        assert!(
            accounts
                .visit_by_token(&token.secret, NOW_S)
                .await
                .expect("asked")
                .is_none()
        );
        assert!(
            !accounts
                .still_lets_in(&token.token.id, NOW_S)
                .await
                .expect("asked")
        );
        assert!(matches!(
            accounts.invite(AMSEL, "", "", NOW_S).await,
            Err(AccountError::Locked)
        ));
        // Said to whoever knows the passphrase alone.
        let right = accounts.log_in(NAME, Some(AMSEL), GOOD, &at).await;
        assert!(matches!(right, Err(AccountError::Locked)));
        let wrong = accounts.log_in(NAME, Some(AMSEL), OTHER, &at).await;
        assert!(matches!(wrong, Err(AccountError::Refused)));
        assert!(
            !accounts
                .any_ready(&[AMSEL.into()], NOW_S)
                .await
                .expect("asked")
        );
        accounts
            .unlock(AMSEL, NAME, DROSSEL, "192.0.2.7", NOW_S)
            .await
            .expect("unlocked");
        accounts
            .log_in(NAME, Some(AMSEL), GOOD, &at)
            .await
            .expect("in");
        assert!(
            accounts
                .visit_by_token(&token.secret, NOW_S)
                .await
                .expect("asked")
                .is_some()
        );
        // Somebody without an account yet can be locked as well.
        accounts
            .lock(DROSSEL, AMSEL, "", NOW_S)
            .await
            .expect("locked");
        assert!(matches!(
            accounts.invite(DROSSEL, "", "", NOW_S).await,
            Err(AccountError::Locked)
        ));
    });
}

#[test]
fn dearer_hashes_take_the_place_of_cheap_ones() {
    wait(async {
        let (room, accounts) = in_a_file().await;
        joined(&accounts, AMSEL, NAME, GOOD).await;
        let stored = async || {
            let address = format!("sqlite://{}", room.path().join("accounts.sqlite").display());
            let pool = sqlx::AnyPool::connect(&address).await.expect("connected");
            let row = sqlx::query("SELECT passphrase FROM account")
                .fetch_one(&pool)
                .await
                .expect("a row");
            let hash: String = sqlx::Row::get(&row, 0);
            pool.close().await;
            hash
        };
        assert!(stored().await.starts_with("$argon2id$v=19$m=64,t=1,p=1$"));
        let place = Place::Folder(room.path().into());
        let dearer = Accounts::open(&place).await.expect("opened");
        let at = knock("", NOW_S);
        assert!(dearer.log_in(NAME, Some(AMSEL), OTHER, &at).await.is_err());
        assert!(stored().await.contains("m=64,"));
        dearer
            .log_in(NAME, Some(AMSEL), GOOD, &at)
            .await
            .expect("in");
        assert!(
            stored()
                .await
                .starts_with("$argon2id$v=19$m=19456,t=2,p=1$")
        );
        dearer
            .log_in(NAME, Some(AMSEL), GOOD, &at)
            .await
            .expect("in");
        // And never the other way round.
        assert!(CHEAP.memory_kib < Cost::default().memory_kib);
        accounts
            .log_in(NAME, Some(AMSEL), GOOD, &at)
            .await
            .expect("in");
        assert!(stored().await.contains("m=19456,"));
    });
}

#[test]
fn whether_a_name_is_known_cannot_be_told_from_the_time() {
    wait(async {
        let room = tempfile::tempdir().expect("a temporary folder");
        let accounts = Accounts::open(&Place::Folder(room.path().into()))
            .await
            .expect("opened");
        joined(&accounts, AMSEL, NAME, GOOD).await;
        let at = knock("", NOW_S);
        let mut times = [Vec::new(), Vec::new()];
        // The first one makes what nobody's passphrase is compared with.
        let _ = accounts.log_in("warm up", None, OTHER, &at).await;
        for round in 0..4 {
            for (times, person) in times.iter_mut().zip([Some(AMSEL), None]) {
                let begun = std::time::Instant::now();
                let refused = accounts
                    .log_in(&format!("{round}"), person, OTHER, &at)
                    .await;
                assert!(matches!(refused, Err(AccountError::Refused)));
                times.push(begun.elapsed());
            }
        }
        let [known, unknown] = times.map(|times| times.into_iter().min().expect("four"));
        // Not hashing at all would be a hundred times faster; a busy machine is never that uneven.
        assert!(
            known < unknown * 4 && unknown < known * 4,
            "{known:?} and {unknown:?}"
        );
    });
}
