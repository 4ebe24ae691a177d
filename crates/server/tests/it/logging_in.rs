//! Logging in and out of a guarded book, invitations, tokens, and what supervisors do.

use crate::guarded::{GOOD, Guarded, OTHER, cookie};
use crate::workshop::{Served, text, wait};
use axum::body::Body;
use futures_util::StreamExt as _;
use serde_json::{Value, json};
use std::time::Duration;
use tower::ServiceExt as _;

#[test]
fn one_logs_in_and_out() {
    wait(async {
        let guarded = Guarded::new().await;
        for (name, passphrase) in [
            ("R. Amsel", OTHER),
            ("Nobody", GOOD),
            ("", ""),
            ("A student", ""),
        ] {
            let refused = guarded.log_in(name, passphrase).await;
            let problem = refused.problem(403, "refused-login");
            // The same words whether the name is known or not.
            assert_eq!(
                problem["detail"],
                "name and passphrase do not belong together; check both and try again"
            );
            assert_eq!(refused.header("set-cookie"), "");
        }
        let answer = guarded.log_in(" r. amsel ", GOOD).await;
        let me = answer.expect(200);
        assert_eq!(
            (&me["person"]["name"], &me["person"]["role"]),
            (&json!("R. Amsel"), &json!("supervisor"))
        );
        assert!(!answer.bytes.windows(8).any(|part| part == b"session-"));
        let line = answer.header("set-cookie").to_owned();
        for attribute in [
            "; Path=/",
            "; HttpOnly",
            "; SameSite=Strict",
            "; Max-Age=86400",
        ] {
            assert!(line.contains(attribute), "{line}");
        }
        // Plain, on loopback: neither the prefix nor Secure can be had.
        assert!(
            !line.contains("__Host-") && !line.contains("Secure") && !line.contains("Domain"),
            "{line}"
        );
        let session = cookie(&answer);
        guarded
            .ask("GET", "/api/samples", &session, None)
            .await
            .expect(200);
        // Logging in again ends the session before it.
        let body = json!({ "name": "A student", "passphrase": GOOD });
        let next = guarded
            .ask("POST", "/api/login", &session, Some(body))
            .await;
        next.expect(200);
        guarded
            .ask("GET", "/api/samples", &session, None)
            .await
            .problem(401, "log-in");
        let session = cookie(&next);
        let out = guarded.ask("POST", "/api/logout", &session, None).await;
        out.expect(204);
        assert!(out.header("set-cookie").contains("Max-Age=0"));
        assert!(out.header("clear-site-data").contains("\"cache\""));
        guarded
            .ask("GET", "/api/samples", &session, None)
            .await
            .problem(401, "log-in");
        guarded
            .ask("POST", "/api/logout", &session, None)
            .await
            .problem(401, "log-in");
    });
}

#[test]
fn behind_a_name_of_the_network_cookies_are_secure() {
    wait(async {
        let guarded = Guarded::new().await;
        let request = |path: &str| {
            let mut request = guarded
                .served
                .request("POST", path)
                .header("x-own-page", "1")
                .header("content-type", "application/json")
                .header("origin", "https://bench.example.edu")
                .body(Body::from(
                    json!({ "name": "R. Amsel", "passphrase": GOOD }).to_string(),
                ))
                .expect("a request");
            request
                .headers_mut()
                .insert("host", "bench.example.edu".parse().expect("a value"));
            request
        };
        let answer = guarded.served.send(request("/api/login")).await;
        answer.expect(200);
        let line = answer.header("set-cookie");
        assert!(
            line.starts_with("__Host-session-") && line.contains("; Secure"),
            "{line}"
        );
        assert_eq!(
            answer.header("strict-transport-security"),
            "max-age=31536000"
        );
        // Plain pages of that name are none of ours.
        let mut plain = request("/api/login");
        plain.headers_mut().insert(
            "origin",
            "http://bench.example.edu".parse().expect("a value"),
        );
        guarded.served.send(plain).await.problem(403, "elsewhere");
    });
}

#[test]
fn guessing_has_to_wait() {
    wait(async {
        let guarded = Guarded::new().await;
        for _ in 0..5 {
            guarded
                .log_in("R. Amsel", OTHER)
                .await
                .problem(403, "refused-login");
        }
        let waits = guarded.log_in("R. Amsel", GOOD).await;
        let problem = waits.problem(429, "wait");
        let wait_s = problem["wait_s"].as_u64().expect("seconds");
        assert!((25..=30).contains(&wait_s), "{wait_s}");
        assert_eq!(waits.header("retry-after"), wait_s.to_string());
        // Others come in meanwhile, and a supervisor can end the wait.
        let body = json!({ "name": "A student", "passphrase": GOOD });
        guarded
            .ask("POST", "/api/login", "", Some(body))
            .await
            .expect(200);
        let now_s = jiff::Timestamp::now().as_second();
        let who = guarded.people["supervisor"].clone();
        guarded
            .accounts
            .unlock(&who, "R. Amsel", "", "", now_s)
            .await
            .expect("unlocked");
        guarded.log_in("R. Amsel", GOOD).await.expect(200);
    });
}

#[test]
fn somebody_new_is_invited_and_chooses_a_passphrase() {
    wait(async {
        let guarded = Guarded::new().await;
        let session = guarded.session("supervisor").await;
        let body = json!({ "name": "B. Fink", "role": "student" });
        let added = guarded
            .ask("POST", "/api/people", &session, Some(body))
            .await
            .expect(201);
        let id = text(&added["id"]);
        guarded
            .log_in("B. Fink", "")
            .await
            .problem(403, "refused-login");
        let path = format!("/api/people/{id}/invitation");
        let made = guarded.ask("POST", &path, &session, None).await.expect(201);
        let code = text(&made["code"]);
        let listed = guarded
            .ask("GET", "/api/accounts", &session, None)
            .await
            .expect(200);
        let account = |listed: &Value| {
            let all = listed["accounts"].as_array().expect("a list").clone();
            all.into_iter()
                .find(|one| one["person"]["id"] == id)
                .expect("listed")
        };
        assert!(account(&listed)["invited_until"].is_string());
        assert_eq!(account(&listed)["has_passphrase"], false);
        let accept = async |code: &str, passphrase: &str| {
            let body = json!({ "code": code, "passphrase": passphrase });
            guarded
                .ask("POST", "/api/invitations/accept", "", Some(body))
                .await
        };
        accept("0000-0000", GOOD).await.problem(403, "invitation");
        accept(&code, "b. fink b. fink")
            .await
            .problem(422, "passphrase");
        accept(&code, "short").await.problem(422, "passphrase");
        let came = accept(&code.to_lowercase(), OTHER).await;
        assert_eq!(came.expect(200)["person"]["name"], "B. Fink");
        let theirs = cookie(&came);
        guarded
            .ask("GET", "/api/samples", &theirs, None)
            .await
            .expect(200);
        accept(&code, OTHER).await.problem(403, "invitation");
        guarded.log_in("B. Fink", OTHER).await.expect(200);
        let listed = guarded
            .ask("GET", "/api/accounts", &session, None)
            .await
            .expect(200);
        assert_eq!(account(&listed)["has_passphrase"], true);
        assert!(
            account(&listed)["last"].is_string() && account(&listed)["invited_until"].is_null()
        );
        // What happened stands in the log, with names.
        let log = guarded
            .ask("GET", "/api/access-log?limit=500", &session, None)
            .await
            .expect(200);
        let has = |what: &str, who: Value| {
            let all = log["entries"].as_array().expect("a list");
            all.iter()
                .any(|one| one["what"] == what && one["about"] == "B. Fink" && one["who"] == who)
        };
        assert!(has("invited", json!("R. Amsel")));
        assert!(has("invitation_accepted", json!("B. Fink")));
        assert!(has("refused", Value::Null));
        let newest = guarded
            .ask("GET", "/api/access-log?limit=1", &session, None)
            .await
            .expect(200);
        assert_eq!(newest["entries"].as_array().map(Vec::len), Some(1));
        // Nobody without an account is invited who is not in the book.
        let nobody = "/api/people/0199a0f4-5c7e-7d21-8a2b-3c4d5e6f7081/invitation";
        guarded
            .ask("POST", nobody, &session, None)
            .await
            .problem(404, "unknown");
    });
}

#[test]
fn a_lock_ends_what_goes_on() {
    wait(async {
        let guarded = Guarded::new().await;
        let supervisor = guarded.session("supervisor").await;
        let student = guarded.session("student").await;
        let token = guarded.token("student").await;
        // An event stream that is open.
        let request = guarded
            .served
            .request("GET", "/api/events")
            .header("cookie", &student)
            .body(Body::empty())
            .expect("a request");
        let answer = guarded
            .served
            .app
            .clone()
            .oneshot(request)
            .await
            .expect("infallible");
        assert_eq!(answer.status(), 200);
        let mut events = answer.into_body().into_data_stream();
        assert!(events.next().await.expect("the beginning").is_ok());
        let own = format!("/api/people/{}/lock", guarded.people["supervisor"]);
        guarded
            .ask("POST", &own, &supervisor, None)
            .await
            .problem(409, "own-account");
        let id = &guarded.people["student"];
        guarded
            .ask("POST", &format!("/api/people/{id}/lock"), &supervisor, None)
            .await
            .expect(204);
        guarded
            .ask("GET", "/api/samples", &student, None)
            .await
            .problem(401, "log-in");
        guarded
            .ask_by(&token, "GET", "/api/samples", Value::Null)
            .await
            .problem(401, "token");
        guarded
            .log_in("A student", GOOD)
            .await
            .problem(403, "locked");
        let invite = format!("/api/people/{id}/invitation");
        guarded
            .ask("POST", &invite, &supervisor, None)
            .await
            .problem(409, "locked");
        // The stream ends within ten seconds; keep-alives may come before.
        let ended = tokio::time::timeout(Duration::from_secs(15), async {
            while let Some(piece) = events.next().await {
                piece.expect("no error");
            }
        });
        ended.await.expect("the stream ends");
        guarded
            .ask(
                "POST",
                &format!("/api/people/{id}/unlock"),
                &supervisor,
                None,
            )
            .await
            .expect(204);
        guarded.log_in("A student", GOOD).await.expect(200);
    });
}

#[test]
fn tokens_are_ones_own() {
    wait(async {
        let guarded = Guarded::new().await;
        let session = guarded.session("analyst").await;
        let body = json!({ "name": "scale", "days": 30 });
        let made = guarded
            .ask("POST", "/api/me/tokens", &session, Some(body))
            .await
            .expect(201);
        let (id, secret) = (text(&made["token"]["id"]), text(&made["secret"]));
        guarded
            .ask_by(&secret, "GET", "/api/samples", Value::Null)
            .await
            .expect(200);
        let me = guarded
            .ask_by(&secret, "GET", "/api/me", Value::Null)
            .await
            .expect(200);
        assert_eq!(
            (&me["how"], &me["person"]["role"]),
            (&json!("token"), &json!("analyst"))
        );
        // No token makes another.
        let more = json!({ "name": "more", "days": 30 });
        guarded
            .ask_by(&secret, "POST", "/api/me/tokens", more)
            .await
            .problem(403, "in-person");
        let wrong = guarded
            .ask_by("meltrange_none", "GET", "/api/me", Value::Null)
            .await;
        wrong.problem(401, "token");
        assert_eq!(
            wrong.header("www-authenticate"),
            "Bearer error=\"invalid_token\""
        );
        let listed = guarded
            .ask("GET", "/api/me/tokens", &session, None)
            .await
            .expect(200);
        assert_eq!(listed["tokens"][0]["name"], "scale");
        assert!(!listed.to_string().contains(&secret));
        let other = guarded.session("student").await;
        let path = format!("/api/me/tokens/{id}");
        guarded
            .ask("DELETE", &path, &other, None)
            .await
            .problem(404, "unknown");
        guarded
            .ask("DELETE", &path, &session, None)
            .await
            .expect(204);
        guarded
            .ask_by(&secret, "GET", "/api/samples", Value::Null)
            .await
            .problem(401, "token");
    });
}

#[test]
fn sessions_are_ones_own_and_a_passphrase_can_be_changed() {
    wait(async {
        let guarded = Guarded::new().await;
        let (here, there) = (
            guarded.session("analyst").await,
            guarded.session("analyst").await,
        );
        let listed = guarded
            .ask("GET", "/api/me/sessions", &here, None)
            .await
            .expect(200);
        let all = listed["sessions"].as_array().expect("a list").clone();
        assert_eq!(all.iter().filter(|one| one["this"] == true).count(), 1);
        let change = async |current: &str, passphrase: &str| {
            let body = json!({ "current": current, "passphrase": passphrase });
            guarded
                .ask("POST", "/api/me/passphrase", &here, Some(body))
                .await
        };
        change(OTHER, OTHER).await.problem(403, "refused-login");
        change(GOOD, "A analyst A analyst")
            .await
            .problem(422, "passphrase");
        change(GOOD, OTHER).await.expect(204);
        guarded
            .ask("GET", "/api/samples", &here, None)
            .await
            .expect(200);
        guarded
            .ask("GET", "/api/samples", &there, None)
            .await
            .problem(401, "log-in");
        let next = guarded.log_in("A analyst", OTHER).await;
        let next = cookie(&next);
        let listed = guarded
            .ask("GET", "/api/me/sessions", &here, None)
            .await
            .expect(200);
        let other = listed["sessions"]
            .as_array()
            .expect("a list")
            .iter()
            .find(|one| one["this"] == false)
            .cloned();
        let other = text(&other.expect("the other one")["id"]);
        guarded
            .ask("DELETE", &format!("/api/me/sessions/{other}"), &here, None)
            .await
            .expect(204);
        guarded
            .ask("GET", "/api/samples", &next, None)
            .await
            .problem(401, "log-in");
        guarded
            .ask("DELETE", "/api/me/sessions", &here, None)
            .await
            .expect(204);
        guarded
            .ask("GET", "/api/samples", &here, None)
            .await
            .problem(401, "log-in");
    });
}

#[test]
fn a_passphrase_that_was_given_is_changed_before_anything_else() {
    wait(async {
        let guarded = Guarded::new().await;
        let now_s = jiff::Timestamp::now().as_second();
        let student = guarded.people["student"].clone();
        guarded
            .accounts
            .set_passphrase(&student, "A student", OTHER, "", now_s)
            .await
            .expect("set");
        let answer = guarded.log_in("A student", OTHER).await;
        assert_eq!(answer.expect(200)["must_change"], true);
        let session = cookie(&answer);
        guarded
            .ask("GET", "/api/samples", &session, None)
            .await
            .problem(403, "passphrase-first");
        assert_eq!(
            guarded
                .ask("GET", "/api/me", &session, None)
                .await
                .expect(200)["must_change"],
            true
        );
        let body = json!({ "current": OTHER, "passphrase": GOOD });
        guarded
            .ask("POST", "/api/me/passphrase", &session, Some(body))
            .await
            .expect(204);
        guarded
            .ask("GET", "/api/samples", &session, None)
            .await
            .expect(200);
    });
}

#[test]
fn a_book_that_is_open_here_has_no_accounts() {
    wait(async {
        let served = Served::new().await;
        let me = served.get("/api/me").await.expect(200);
        assert_eq!(
            (&me["guarded"], &me["person"]),
            (&json!(false), &Value::Null)
        );
        let me = served.get_as(&served.who, "/api/me").await.expect(200);
        assert_eq!(me["person"]["name"], "R. Amsel");
        let body = json!({ "name": "R. Amsel", "passphrase": GOOD });
        served
            .post("/api/login", body)
            .await
            .problem(409, "no-accounts");
        served
            .get_as(&served.who, "/api/access-log")
            .await
            .problem(409, "no-accounts");
        // Nothing is made beside the book.
        assert!(!served.folder.join("accounts.sqlite").exists());
    });
}
