//! A signature shows who gives it, where people have accounts.

use crate::guarded::{GOOD, Guarded, OTHER};
use crate::workshop::{Served, wait};
use meltrange_accounts::PROVED_S;
use serde_json::{Value, json};

/// What an analyst would sign, of a book with a result.
async fn ready() -> (Guarded, String, Value) {
    let served = Served::new().await;
    let sample = served.sample("U-1").await;
    served.imported(&sample, true).await;
    let path = format!("/api/samples/{sample}");
    served
        .post(&format!("{path}/determinations"), json!({}))
        .await
        .expect(201);
    let found = served.get(&path).await.expect(200);
    let given = json!({
        "sample_record": found["record"], "result_record": found["determinations"][0]["record"],
        "meaning": "reviewed_and_approved",
    });
    let guarded = Guarded::of(served.guarded_from_now_on().await).await;
    (guarded, format!("{path}/sign-offs"), given)
}

/// Move the time when everybody last showed who they are into the past.
async fn some_time_passes(guarded: &Guarded) {
    let file = guarded.served.folder.join("accounts.sqlite");
    let pool = sqlx::AnyPool::connect(&format!("sqlite://{}", file.display()))
        .await
        .expect("connected");
    sqlx::query("UPDATE login_session SET proved_at = proved_at - $1")
        .bind(PROVED_S)
        .execute(&pool)
        .await
        .expect("written");
    pool.close().await;
}

fn with(given: &Value, passphrase: &str) -> Option<Value> {
    let mut given = given.clone();
    given["passphrase"] = json!(passphrase);
    Some(given)
}

#[test]
fn who_signs_shows_it_with_the_signature_or_just_before() {
    wait(async {
        let (guarded, path, given) = ready().await;
        let session = guarded.session("analyst").await;
        let sign = async |body: Option<Value>| guarded.ask("POST", &path, &session, body).await;
        let me = async || {
            let me = guarded.ask("GET", "/api/me", &session, None).await;
            me.expect(200)
        };
        assert!(me().await["signs_until"].is_string());
        assert_eq!(me().await["has_passphrase"], true);
        some_time_passes(&guarded).await;
        assert!(me().await["signs_until"].is_null());
        sign(Some(given.clone())).await.problem(403, "prove");
        sign(with(&given, OTHER))
            .await
            .problem(403, "refused-signature");
        // An empty one is a wrong one, and none of somebody else's does.
        sign(with(&given, ""))
            .await
            .problem(403, "refused-signature");
        let signed = sign(with(&given, GOOD)).await.expect(201);
        assert_eq!(
            (&signed["who"], &signed["holds"]),
            (&json!(guarded.people["analyst"]), &json!(true))
        );
        // What was typed is in no record.
        assert!(!signed.to_string().contains(GOOD));
        // A passphrase that was given with one signature lets the next ask again.
        sign(Some(given.clone())).await.problem(403, "prove");
        let supervisor = guarded.session("supervisor").await;
        let log = guarded
            .ask("GET", "/api/access-log", &supervisor, None)
            .await
            .expect(200);
        let wrong = log["entries"]
            .as_array()
            .expect("entries")
            .iter()
            .filter(|entry| {
                entry["what"] == "refused"
                    && entry["detail"] == "sign-off"
                    && entry["who"] == "A analyst"
            })
            .count();
        assert_eq!(wrong, 2);
    });
}

#[test]
fn a_fresh_login_signs_and_a_token_never_does() {
    wait(async {
        let (guarded, path, given) = ready().await;
        let token = guarded.token("analyst").await;
        for body in [Some(given.clone()), with(&given, GOOD)] {
            guarded
                .ask_by(&token, "POST", &path, body.expect("a body"))
                .await
                .problem(403, "in-person");
        }
        // With a cookie beside it, the token is what counts.
        let session = guarded.session("analyst").await;
        let both = guarded
            .served
            .request("POST", &path)
            .header("authorization", format!("Bearer {token}"))
            .header("cookie", &session)
            .header("x-own-page", "1")
            .header("content-type", "application/json")
            .body(given.to_string().into())
            .expect("a request");
        guarded.served.send(both).await.problem(403, "in-person");
        guarded
            .ask("POST", &path, &session, Some(given.clone()))
            .await
            .expect(201);
    });
}

#[test]
fn too_many_wrong_passphrases_make_a_signer_wait() {
    wait(async {
        let guarded = Guarded::new().await;
        let session = guarded.session("analyst").await;
        let path = "/api/samples/0199a0f4-5c7e-7d21-8a2b-3c4d5e6f7081/sign-offs";
        let nothing = "0199a0f4-5c7e-7d21-8a2b-3c4d5e6f7082";
        let given =
            json!({ "sample_record": nothing, "result_record": nothing, "meaning": "reviewed" });
        for _ in 0..5 {
            let refused = guarded
                .ask("POST", path, &session, with(&given, OTHER))
                .await;
            refused.problem(403, "refused-signature");
        }
        let waits = guarded
            .ask("POST", path, &session, with(&given, GOOD))
            .await;
        waits.problem(429, "wait");
        // The login page counts the same tries.
        guarded.log_in("A analyst", GOOD).await.problem(429, "wait");
    });
}

#[test]
fn an_open_book_takes_everybody_at_their_word() {
    wait(async {
        let served = Served::new().await;
        let analyst = served.person("S. Drossel", "analyst").await;
        let path = "/api/samples/0199a0f4-5c7e-7d21-8a2b-3c4d5e6f7081/sign-offs";
        let nothing = "0199a0f4-5c7e-7d21-8a2b-3c4d5e6f7082";
        let given =
            json!({ "sample_record": nothing, "result_record": nothing, "meaning": "reviewed" });
        let answer = served.post_as(&analyst, path, given).await;
        answer.problem(404, "unknown");
    });
}

#[test]
fn without_an_organisation_nobody_is_sent_anywhere() {
    wait(async {
        let guarded = Guarded::new().await;
        let me = guarded.ask("GET", "/api/me", "", None).await.expect(200);
        assert!(me["organisation"].is_null());
        guarded
            .ask("POST", "/api/sign-in", "", Some(json!({})))
            .await
            .problem(409, "no-organisation");
        guarded
            .served
            .get("/api/sign-in/return?code=x&state=y")
            .await
            .problem(409, "no-organisation");
    });
}
