//! Tokens of people's own programs.

use crate::places::{AMSEL, DROSSEL, GOOD, NOW_S, in_both, joined};
use meltrange_accounts::{AccountError, TOKEN_MOST_DAYS, TOKENS_EACH};

const DAY_S: i64 = 86_400;

#[test]
fn a_token_lets_in_until_its_day_or_until_it_is_taken_back() {
    in_both(async |accounts| {
        let session = joined(&accounts, AMSEL, "R. Amsel", GOOD).await;
        let made = accounts
            .make_token(AMSEL, " scale at bench A ", 30, "", NOW_S)
            .await
            .expect("made");
        assert_eq!(made.token.name, "scale at bench A");
        let is_in = async |secret: &str, now_s| {
            accounts
                .visit_by_token(secret, now_s)
                .await
                .expect("asked")
                .map(|visit| visit.person)
        };
        assert_eq!(is_in(&made.secret, NOW_S).await.as_deref(), Some(AMSEL));
        assert_eq!(
            is_in(&made.secret, NOW_S + 30 * DAY_S - 1).await.as_deref(),
            Some(AMSEL)
        );
        assert_eq!(is_in(&made.secret, NOW_S + 30 * DAY_S).await, None);
        // A session's secret is no token, and the other way round.
        assert_eq!(is_in(&session, NOW_S).await, None);
        assert!(
            accounts
                .visit(&made.secret, NOW_S)
                .await
                .expect("asked")
                .is_none()
        );
        let listed = accounts.tokens(AMSEL, NOW_S).await.expect("asked");
        assert_eq!(listed.len(), 1);
        assert!(listed[0].used_s > NOW_S);
        let theirs = accounts
            .revoke_token(DROSSEL, &made.token.id, "", NOW_S)
            .await;
        assert!(matches!(theirs, Err(AccountError::Unknown { .. })));
        accounts
            .revoke_token(AMSEL, &made.token.id, "", NOW_S)
            .await
            .expect("taken back");
        assert_eq!(is_in(&made.secret, NOW_S).await, None);
        assert!(
            accounts
                .tokens(AMSEL, NOW_S)
                .await
                .expect("asked")
                .is_empty()
        );
    });
}

#[test]
fn tokens_have_a_name_an_end_and_are_few() {
    in_both(async |accounts| {
        joined(&accounts, AMSEL, "R. Amsel", GOOD).await;
        for (name, days) in [
            ("", 1),
            (" ", 1),
            ("a\nb", 1),
            ("a", 0),
            ("a", TOKEN_MOST_DAYS + 1),
        ] {
            let refused = accounts.make_token(AMSEL, name, days, "", NOW_S).await;
            assert!(
                matches!(refused, Err(AccountError::Field { .. })),
                "{name:?}, {days}"
            );
        }
        for number in 0..TOKENS_EACH {
            accounts
                .make_token(AMSEL, &format!("{number}"), 1, "", NOW_S)
                .await
                .expect("made");
        }
        let more = accounts.make_token(AMSEL, "more", 1, "", NOW_S).await;
        assert!(matches!(more, Err(AccountError::TooMany { .. })));
        // Those that are over do not count.
        accounts
            .make_token(AMSEL, "more", 1, "", NOW_S + DAY_S)
            .await
            .expect("made");
    });
}
