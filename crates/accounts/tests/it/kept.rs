//! The access log and the list of accounts.

use crate::places::{AMSEL, DROSSEL, GOOD, NOW_S, in_both, joined, knock};
use meltrange_accounts::AccessKind;

#[test]
fn who_came_and_what_was_changed_is_kept_in_order() {
    in_both(async |accounts| {
        joined(&accounts, AMSEL, "R. Amsel", GOOD).await;
        accounts
            .invite(DROSSEL, AMSEL, "", NOW_S + 1)
            .await
            .expect("invited");
        accounts
            .lock(DROSSEL, AMSEL, "192.0.2.7", NOW_S + 2)
            .await
            .expect("locked");
        accounts
            .unlock(DROSSEL, "S. Drossel", AMSEL, "192.0.2.7", NOW_S + 3)
            .await
            .expect("unlocked");
        let token = accounts
            .make_token(AMSEL, "scale", 1, "192.0.2.7", NOW_S + 4)
            .await
            .expect("made");
        accounts
            .revoke_token(AMSEL, &token.token.id, "192.0.2.7", NOW_S + 5)
            .await
            .expect("taken back");
        let _ = accounts
            .log_in(
                "R. Amsel",
                Some(AMSEL),
                "no",
                &knock("192.0.2.9", NOW_S + 6),
            )
            .await;
        let log = accounts.access_log(None, 500).await.expect("asked");
        let kinds: Vec<AccessKind> = log.iter().rev().map(|entry| entry.kind).collect();
        assert_eq!(
            kinds,
            [
                AccessKind::Invited,
                AccessKind::LoggedIn,
                AccessKind::InvitationAccepted,
                AccessKind::Invited,
                AccessKind::Locked,
                AccessKind::Unlocked,
                AccessKind::TokenMade,
                AccessKind::TokenRevoked,
                AccessKind::Refused,
            ]
        );
        let locked = &log[4];
        assert_eq!(
            (locked.person.as_str(), locked.about.as_str()),
            (AMSEL, DROSSEL)
        );
        assert_eq!(
            (locked.place.as_str(), locked.at_s),
            ("192.0.2.7", NOW_S + 2)
        );
        let refused = &log[0];
        assert_eq!(
            (refused.person.as_str(), refused.about.as_str()),
            ("", AMSEL)
        );
        // By pages.
        let newest = accounts.access_log(None, 2).await.expect("asked");
        assert_eq!(newest, log[..2]);
        let older = accounts
            .access_log(Some(&newest[1].id), 500)
            .await
            .expect("asked");
        assert_eq!(older, log[2..]);
    });
}

#[test]
fn every_account_says_how_it_stands() {
    in_both(async |accounts| {
        joined(&accounts, AMSEL, "R. Amsel", GOOD).await;
        let invitation = accounts
            .invite(DROSSEL, AMSEL, "", NOW_S)
            .await
            .expect("invited");
        let all = accounts.all().await.expect("asked");
        assert_eq!(all.len(), 2);
        let (amsel, drossel) = (&all[0], &all[1]);
        assert_eq!(
            (amsel.person.as_str(), drossel.person.as_str()),
            (AMSEL, DROSSEL)
        );
        assert!(amsel.has_passphrase && !amsel.must_change && !amsel.locked);
        assert_eq!(
            (amsel.changed_s, amsel.last_s, amsel.invited_until_s),
            (NOW_S, NOW_S, 0)
        );
        assert!(!drossel.has_passphrase);
        assert_eq!(drossel.invited_until_s, invitation.expires_s);
    });
}
