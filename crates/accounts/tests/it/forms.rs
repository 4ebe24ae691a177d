//! Accounts that an earlier version of the program kept: its tables, word for word, are brought up to date.

use crate::cluster::Cluster;
use crate::places::{AMSEL, CHEAP, NOW_S, knock, wait};
use meltrange_accounts::{AccessKind, AccountError, Accounts, Outside, Place};
use sqlx::AnyPool;

/// Form 1, as the first version with accounts made it.
const FORM_1: [&str; 10] = [
    "CREATE TABLE form (version BIGINT NOT NULL)",
    "CREATE TABLE account (person TEXT PRIMARY KEY, passphrase TEXT NOT NULL, must_change BIGINT NOT NULL, locked BIGINT NOT NULL, changed_at BIGINT NOT NULL, last_at BIGINT NOT NULL)",
    "CREATE TABLE login_session (digest TEXT PRIMARY KEY, id TEXT NOT NULL UNIQUE, person TEXT NOT NULL, begun_at BIGINT NOT NULL, seen_at BIGINT NOT NULL, place TEXT NOT NULL, agent TEXT NOT NULL)",
    "CREATE TABLE token (digest TEXT PRIMARY KEY, id TEXT NOT NULL UNIQUE, person TEXT NOT NULL, name TEXT NOT NULL, made_at BIGINT NOT NULL, expires_at BIGINT NOT NULL, used_at BIGINT NOT NULL)",
    "CREATE TABLE invitation (person TEXT PRIMARY KEY, digest TEXT NOT NULL UNIQUE, made_by TEXT NOT NULL, made_at BIGINT NOT NULL, expires_at BIGINT NOT NULL)",
    "CREATE TABLE attempt (whose TEXT PRIMARY KEY, failures BIGINT NOT NULL, last_at BIGINT NOT NULL, wait_until BIGINT NOT NULL)",
    "CREATE TABLE access_log (id TEXT PRIMARY KEY, at BIGINT NOT NULL, person TEXT NOT NULL, kind TEXT NOT NULL, about TEXT NOT NULL, place TEXT NOT NULL)",
    "INSERT INTO form (version) VALUES (1)",
    "INSERT INTO account VALUES ('0199a0f4-5c7e-7d21-8a2b-3c4d5e6f7081', '', 0, 0, 0, 0)",
    "INSERT INTO access_log VALUES ('0', 1, '', 'locked', '0199a0f4-5c7e-7d21-8a2b-3c4d5e6f7081', '')",
];

/// The digest of "abc" (FIPS 180-4) stands for a session that somebody has.
const SESSION: &str = "INSERT INTO login_session VALUES ('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad', 's', '0199a0f4-5c7e-7d21-8a2b-3c4d5e6f7081', 1800000000, 1800000000, '', '')";

async fn write(address: &str, before: &[&'static str]) {
    let pool = AnyPool::connect(address).await.expect("connected");
    let mut one = pool.acquire().await.expect("a connection");
    for statement in before.iter().chain(&FORM_1).chain(&[SESSION]) {
        sqlx::query(*statement)
            .execute(&mut *one)
            .await
            .expect("written");
    }
    drop(one);
    pool.close().await;
}

async fn look(accounts: &Accounts) {
    // A session from before lasts, but says nothing of when its owner last showed who they are.
    let visit = accounts.visit("abc", NOW_S).await.expect("asked");
    let visit = visit.expect("in");
    assert_eq!((visit.person.as_str(), visit.proved_s), (AMSEL, 0));
    let log = accounts.access_log(None, 10).await.expect("asked");
    assert_eq!(
        (log[0].kind, log[0].detail.as_str()),
        (AccessKind::Locked, "")
    );
    let outside = Outside {
        issuer: "https://login.example.edu".into(),
        subject: "amsel".into(),
        proved_s: NOW_S,
    };
    let code = accounts
        .invite(AMSEL, "", "", NOW_S)
        .await
        .expect("invited")
        .code;
    accounts
        .accept_outside(&code, &outside, &knock("", NOW_S))
        .await
        .expect("accepted");
    accounts
        .make_group("evening", "", "", NOW_S)
        .await
        .expect("made");
}

#[test]
fn a_file_of_an_earlier_version_is_brought_up_to_date() {
    wait(async {
        sqlx::any::install_default_drivers();
        let room = tempfile::tempdir().expect("a temporary folder");
        let file = room.path().join("accounts.sqlite");
        write(&format!("sqlite://{}?mode=rwc", file.display()), &[]).await;
        let place = Place::Folder(room.path().into());
        for _ in 0..2 {
            let accounts = Accounts::open_at_cost(&place, CHEAP).await.expect("opened");
            accounts.close().await;
        }
        let accounts = Accounts::open_at_cost(&place, CHEAP).await.expect("opened");
        look(&accounts).await;
    });
}

#[test]
fn only_the_owner_of_a_database_brings_it_up_to_date() {
    wait(async {
        sqlx::any::install_default_drivers();
        let Some(cluster) = Cluster::begin() else {
            panic!("PostgreSQL is not installed here, so half of this was not looked at");
        };
        let owner = cluster.address();
        write(
            &owner,
            &[
                "CREATE ROLE meltrange_writer",
                "CREATE ROLE bench LOGIN IN ROLE meltrange_writer",
                "CREATE SCHEMA accounts",
                "GRANT USAGE ON SCHEMA accounts TO meltrange_writer",
                "ALTER DEFAULT PRIVILEGES IN SCHEMA accounts GRANT SELECT ON TABLES TO meltrange_writer",
                "SET search_path TO accounts",
            ],
        )
        .await;
        let bench = Place::Address(owner.replace("meltrange@", "bench@"));
        let refused = Accounts::open_at_cost(&bench, CHEAP).await;
        let refused = refused.expect_err("not theirs to change");
        assert!(
            matches!(
                refused,
                AccountError::Older {
                    found: 1,
                    known: 2,
                    ..
                }
            ),
            "{refused}"
        );
        let accounts = Accounts::open_at_cost(&Place::Address(owner), CHEAP)
            .await
            .expect("opened");
        accounts.close().await;
        let accounts = Accounts::open_at_cost(&bench, CHEAP).await.expect("opened");
        look(&accounts).await;
        accounts.close().await;
    });
}
