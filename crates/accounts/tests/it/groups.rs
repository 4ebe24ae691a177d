//! Groups of people.

use crate::places::{AMSEL, DROSSEL, GOOD, NOW_S, OTHER, in_both, joined, knock};
use meltrange_accounts::{AccessKind, AccountError};

const NAME: &str = "evening practical 2026";

#[test]
fn people_are_put_into_groups_and_taken_out() {
    in_both(async |accounts| {
        let group = accounts
            .make_group(&format!(" {NAME} "), AMSEL, "192.0.2.7", NOW_S)
            .await
            .expect("made");
        assert_eq!(group.name, NAME);
        let taken = accounts
            .make_group("Evening Practical 2026", AMSEL, "", NOW_S)
            .await;
        assert!(matches!(taken, Err(AccountError::Taken { .. })));
        for wrong in ["", " ", "a\nb", &"x".repeat(101)] {
            let refused = accounts.make_group(wrong, AMSEL, "", NOW_S).await;
            assert!(
                matches!(refused, Err(AccountError::Field { .. })),
                "{wrong:?}"
            );
        }
        for _ in 0..2 {
            accounts
                .enter_group(&group.id, DROSSEL, AMSEL, "", NOW_S)
                .await
                .expect("in");
        }
        accounts
            .enter_group(&group.id, AMSEL, AMSEL, "", NOW_S)
            .await
            .expect("in");
        let groups = accounts.groups().await.expect("asked");
        assert_eq!(groups.len(), 1);
        assert_eq!(groups[0].members, [AMSEL, DROSSEL]);
        accounts
            .leave_group(&group.id, AMSEL, AMSEL, "", NOW_S)
            .await
            .expect("out");
        let gone = accounts
            .leave_group(&group.id, AMSEL, AMSEL, "", NOW_S)
            .await;
        assert!(matches!(gone, Err(AccountError::Unknown { .. })));
        let nowhere = accounts
            .enter_group("nothing", DROSSEL, AMSEL, "", NOW_S)
            .await;
        assert!(matches!(nowhere, Err(AccountError::Unknown { .. })));
        accounts
            .dissolve_group(&group.id, AMSEL, "", NOW_S)
            .await
            .expect("dissolved");
        assert_eq!(accounts.groups().await.expect("asked"), []);
        let again = accounts
            .make_group(NAME, "", "", NOW_S)
            .await
            .expect("made");
        assert_ne!(again.id, group.id);
        // One line for each thing that changed something, the newest first, each with the group's name.
        let log = accounts.access_log(None, 500).await.expect("asked");
        let kinds: Vec<AccessKind> = log.iter().map(|entry| entry.kind).collect();
        assert_eq!(
            kinds,
            [
                AccessKind::GroupMade,
                AccessKind::GroupDissolved,
                AccessKind::GroupLeft,
                AccessKind::GroupEntered,
                AccessKind::GroupEntered,
                AccessKind::GroupMade,
            ]
        );
        assert!(log.iter().all(|entry| entry.detail == NAME));
    });
}

#[test]
fn all_of_a_group_are_locked_but_whoever_does_it() {
    in_both(async |accounts| {
        let amsel = joined(&accounts, AMSEL, "R. Amsel", GOOD).await;
        let drossel = joined(&accounts, DROSSEL, "S. Drossel", OTHER).await;
        let group = accounts
            .make_group(NAME, AMSEL, "", NOW_S)
            .await
            .expect("made");
        for person in [AMSEL, DROSSEL] {
            accounts
                .enter_group(&group.id, person, AMSEL, "", NOW_S)
                .await
                .expect("in");
        }
        let done = accounts
            .lock_group(&group.id, AMSEL, "", NOW_S)
            .await
            .expect("locked");
        assert_eq!((done.locked, done.left_out), (vec![DROSSEL.into()], true));
        let is_in = async |secret: &str| {
            let visit = accounts.visit(secret, NOW_S).await;
            visit.expect("asked").is_some()
        };
        assert!(is_in(&amsel).await);
        assert!(!is_in(&drossel).await);
        // Failures in the name are forgotten with it.
        let at = knock("192.0.2.7", NOW_S);
        for _ in 0..5 {
            let refused = accounts
                .log_in("S. Drossel", Some(DROSSEL), GOOD, &at)
                .await;
            assert!(matches!(refused, Err(AccountError::Refused)));
        }
        let people = [(DROSSEL.to_owned(), "S. Drossel".to_owned())];
        let done = accounts
            .unlock_group(&group.id, &people, AMSEL, "", NOW_S)
            .await
            .expect("unlocked");
        assert_eq!(done, [AMSEL, DROSSEL]);
        accounts
            .log_in("S. Drossel", Some(DROSSEL), OTHER, &at)
            .await
            .expect("in");
        let nowhere = accounts.lock_group("nothing", AMSEL, "", NOW_S).await;
        assert!(matches!(nowhere, Err(AccountError::Unknown { .. })));
    });
}
