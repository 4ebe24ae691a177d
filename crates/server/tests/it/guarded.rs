//! A guarded book: who gets in, and what they may. The table of permissions is the server's own; what it is
//! checked against is the interface's description and what is really answered.

use crate::workshop::{Answer, Served, text, wait};
use axum::body::{Body, to_bytes};
use axum::http::Request;
use meltrange_accounts::{Accounts, Knock};
use meltrange_labbook::Role;
use meltrange_server::{May, Rule, permissions};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use tower::ServiceExt as _;

pub const GOOD: &str = "three owls on a warm block";
pub const OTHER: &str = "a kettle full of tuesday";

const ROLES: [(Role, &str); 4] = [
    (Role::Supervisor, "supervisor"),
    (Role::Analyst, "analyst"),
    (Role::Student, "student"),
    (Role::Viewer, "viewer"),
];

/// A guarded book with somebody of every role, and their accounts.
pub struct Guarded {
    pub served: Served,
    pub accounts: Accounts,
    pub people: BTreeMap<&'static str, String>,
}

impl Guarded {
    pub async fn new() -> Self {
        Self::of(Served::guarded().await).await
    }

    /// The same, of a book that there is.
    pub async fn of((served, accounts): (Served, Accounts)) -> Self {
        let mut people = BTreeMap::from([("supervisor", served.who.clone())]);
        let mut guarded = Self {
            served,
            accounts,
            people: BTreeMap::new(),
        };
        guarded
            .join(&people["supervisor"].clone(), "R. Amsel")
            .await;
        for (_, role) in &ROLES[1..] {
            let name = format!("A {role}");
            let id = guarded.served.add_person(&name, role).await;
            guarded.join(&id, &name).await;
            people.insert(role, id);
        }
        guarded.people = people;
        guarded
    }

    async fn join(&self, person: &str, name: &str) {
        let now_s = jiff::Timestamp::now().as_second();
        let invitation = self
            .accounts
            .invite(person, "", "", now_s)
            .await
            .expect("invited");
        self.accounts
            .accept(&invitation.code, name, GOOD, &knock())
            .await
            .expect("accepted");
    }

    /// A new session of somebody, as a cookie.
    pub async fn session(&self, role: &str) -> String {
        let name = match role {
            "supervisor" => "R. Amsel".to_owned(),
            other => format!("A {other}"),
        };
        let answer = self.log_in(&name, GOOD).await;
        answer.expect(200);
        cookie(&answer)
    }

    pub async fn log_in(&self, name: &str, passphrase: &str) -> Answer {
        let body = json!({ "name": name, "passphrase": passphrase });
        self.ask("POST", "/api/login", "", Some(body)).await
    }

    /// A token of somebody.
    pub async fn token(&self, role: &str) -> String {
        let now_s = jiff::Timestamp::now().as_second();
        let made = self
            .accounts
            .make_token(&self.people[role], "test", 1, "", now_s)
            .await;
        made.expect("made").secret
    }

    /// As a page of the book asks, with this cookie.
    pub async fn ask(&self, method: &str, path: &str, cookie: &str, body: Option<Value>) -> Answer {
        let request = self
            .served
            .request(method, path)
            .header("x-own-page", "1")
            .header("cookie", cookie)
            .header("content-type", "application/json")
            .body(body.map_or_else(Body::empty, |body| Body::from(body.to_string())))
            .expect("a request");
        self.served.send(request).await
    }

    /// As a program with a token asks.
    pub async fn ask_by(&self, token: &str, method: &str, path: &str, body: Value) -> Answer {
        let request = self
            .served
            .request(method, path)
            .header("authorization", format!("Bearer {token}"))
            .header("content-type", "application/json")
            .body(Body::from(body.to_string()))
            .expect("a request");
        self.served.send(request).await
    }

    /// The status and the problem of an answer that may never end.
    async fn status(&self, request: Request<Body>) -> (u16, String) {
        let answer = self
            .served
            .app
            .clone()
            .oneshot(request)
            .await
            .expect("infallible");
        let status = answer.status().as_u16();
        if status < 400 {
            return (status, String::new());
        }
        let bytes = to_bytes(answer.into_body(), 1 << 20).await.expect("a body");
        let problem: Value = serde_json::from_slice(&bytes).unwrap_or_default();
        (
            status,
            problem["type"].as_str().unwrap_or_default().to_owned(),
        )
    }
}

fn knock() -> Knock {
    Knock {
        from: String::new(),
        agent: String::new(),
        now_s: jiff::Timestamp::now().as_second(),
    }
}

pub fn cookie(answer: &Answer) -> String {
    let line = answer.header("set-cookie");
    line.split(';').next().expect("a pair").to_owned()
}

/// Every method and path that the description has.
fn described() -> Vec<(String, String)> {
    let description: Value =
        serde_json::from_str(&meltrange_server::description().to_json().expect("JSON"))
            .expect("JSON");
    let mut all = Vec::new();
    for (path, methods) in description["paths"].as_object().expect("paths") {
        for method in methods.as_object().expect("methods").keys() {
            if ["get", "post", "put", "delete", "patch", "head", "options"]
                .contains(&method.as_str())
            {
                all.push((method.to_uppercase(), path.clone()));
            }
        }
    }
    all.sort();
    all
}

/// A path with something in the place of its parts.
fn filled(path: &str) -> String {
    let mut filled = String::new();
    for part in path.split('/').skip(1) {
        filled.push('/');
        filled.push_str(match part {
            "{id}" | "{sample}" | "{person}" => "0199a0f4-5c7e-7d21-8a2b-3c4d5e6f7081",
            "{bench}" if path.contains("thermometers") => "0199a0f4-5c7e-7d21-8a2b-3c4d5e6f7081",
            "{bench}" => "nowhere",
            "{n}" => "0",
            "{name}" if path.contains("tables") => "samples.csv",
            "{name}" => "nothing",
            other => other,
        });
    }
    filled
}

#[test]
fn every_route_has_a_decision_and_every_decision_a_route() {
    let mut decided: Vec<(String, String)> = permissions()
        .map(|(method, path, _)| (method.to_owned(), path.to_owned()))
        .collect();
    decided.sort();
    for pair in decided.windows(2) {
        assert_ne!(pair[0], pair[1], "decided twice");
    }
    let described = described();
    let undecided: Vec<_> = described
        .iter()
        .filter(|route| !decided.contains(route))
        .collect();
    assert!(
        undecided.is_empty(),
        "no decision in permissions.rs who may: {undecided:#?}"
    );
    let gone: Vec<_> = decided
        .iter()
        .filter(|route| !described.contains(route))
        .collect();
    assert!(
        gone.is_empty(),
        "decisions in permissions.rs on no route: {gone:#?}"
    );
}

#[test]
fn every_route_answers_every_role_as_the_table_says() {
    wait(async {
        let guarded = Guarded::new().await;
        let mut tokens = BTreeMap::new();
        for (_, role) in ROLES {
            tokens.insert(role, guarded.token(role).await);
        }
        let (mut sent, mut wrong) = (0, Vec::new());
        for (method, path, rule) in permissions() {
            let request = || {
                guarded
                    .served
                    .request(method, &filled(path))
                    .header("content-type", "application/json")
                    .header("x-own-page", "1")
            };
            let body = || match method {
                "GET" | "DELETE" => Body::empty(),
                _ => Body::from("{}"),
            };
            let mut note = |who: &str, found: (u16, String), is_right: bool| {
                sent += 1;
                if !is_right {
                    wrong.push(format!(
                        "{method} {path} for {who}: {} {}",
                        found.0, found.1
                    ));
                }
            };
            let found = guarded
                .status(request().body(body()).expect("a request"))
                .await;
            let is_right = match rule {
                Rule::Anybody => found.0 != 401,
                _ => found == (401, "/problems/log-in".into()),
            };
            note("nobody", found, is_right);
            for (role, name) in ROLES {
                // A new session each time: some of these end it.
                let session = guarded.session(name).await;
                let with = request().header("cookie", session);
                let found = guarded.status(with.body(body()).expect("a request")).await;
                let is_right = match rule.may(role) {
                    May::Never => found == (403, "/problems/role".into()),
                    // Wrong codes and names are refused at these two.
                    May::Always if rule == Rule::Anybody => found.0 != 401,
                    May::Always | May::Own => found.0 != 403 && found.0 != 401,
                };
                note(name, found, is_right);
                let by_token =
                    request().header("authorization", format!("Bearer {}", tokens[name]));
                let found = guarded
                    .status(by_token.body(body()).expect("a request"))
                    .await;
                let is_right = match (rule, rule.may(role)) {
                    (_, May::Never) => found == (403, "/problems/role".into()),
                    (Rule::InPerson(_), _) => found == (403, "/problems/in-person".into()),
                    (Rule::Anybody, _) => found.0 != 401,
                    (Rule::Roles(_), _) => found.0 != 403 && found.0 != 401,
                };
                note(&format!("{name} by token"), found, is_right);
            }
        }
        assert!(
            wrong.is_empty(),
            "{} of {sent} are not as decided: {wrong:#?}",
            wrong.len()
        );
        // Nine each.
        assert_eq!(sent, described().len() * 9);
    });
}

#[test]
fn nobody_reads_anything_but_the_pages_before_they_log_in() {
    wait(async {
        let guarded = Guarded::new().await;
        let get = async |path: &str| guarded.served.get(path).await;
        assert_eq!(get("/openapi.json").await.status, 200);
        // The pages may not be built here; but it is them that answer.
        assert_ne!(get("/").await.status, 401);
        assert_ne!(get("/assets/none.js").await.status, 401);
        let me = get("/api/me").await.expect(200);
        assert_eq!(
            (&me["guarded"], &me["person"]),
            (&json!(true), &Value::Null)
        );
        for path in [
            "/api",
            "/api/",
            "/api/nothing",
            "/api/samples",
            "/api/events",
            "/api/live/a/camera",
        ] {
            let answer = get(path).await;
            answer.problem(401, "log-in");
            // RFC 6750, 3.
            assert_eq!(answer.header("www-authenticate"), "Bearer");
        }
        // Other spellings of an address reach nothing.
        for path in [
            "//api/samples",
            "/api//samples",
            "/%61pi/samples",
            "/api/samples/",
            "/API/samples",
            "/api/./samples",
        ] {
            let answer = get(path).await;
            assert!(
                answer.status == 401 || !String::from_utf8_lossy(&answer.bytes).contains("rows"),
                "{path}"
            );
        }
        let who = &guarded.people["supervisor"];
        // What is said alone is nothing here.
        guarded
            .served
            .get_as(who, "/api/samples")
            .await
            .problem(401, "log-in");
        let session = guarded.session("student").await;
        let as_other = guarded
            .served
            .request("GET", "/api/samples")
            .header("cookie", &session)
            .header("x-person", who)
            .body(Body::empty())
            .expect("a request");
        guarded
            .served
            .send(as_other)
            .await
            .problem(403, "person-other");
        let mut twice = guarded
            .served
            .request("GET", "/api/samples")
            .header("cookie", &session);
        for who in [&guarded.people["student"], who] {
            twice = twice.header("x-person", who);
        }
        let twice = twice.body(Body::empty()).expect("a request");
        guarded
            .served
            .send(twice)
            .await
            .problem(403, "person-other");
    });
}

#[test]
fn records_carry_who_is_logged_in() {
    wait(async {
        let guarded = Guarded::new().await;
        let session = guarded.session("student").await;
        let me = guarded
            .ask("GET", "/api/me", &session, None)
            .await
            .expect(200);
        assert_eq!(me["person"]["id"], guarded.people["student"]);
        assert_eq!(
            (&me["how"], &me["must_change"]),
            (&json!("session"), &json!(false))
        );
        let sample = json!({ "label": "U-1" });
        let added = guarded
            .ask("POST", "/api/samples", &session, Some(sample))
            .await
            .expect(201);
        let id = text(&added["row"]["id"]);
        let id = id.parse::<meltrange_labbook::SubjectId>().expect("an id");
        let record = guarded
            .served
            .state
            .book()
            .store()
            .latest(id)
            .await
            .expect("there");
        assert_eq!(
            record.who.map(|who| who.to_string()).as_deref(),
            Some(guarded.people["student"].as_str())
        );
        let token = guarded.token("analyst").await;
        let added = guarded
            .ask_by(&token, "POST", "/api/samples", json!({ "label": "U-2" }))
            .await
            .expect(201);
        let id = text(&added["row"]["id"])
            .parse::<meltrange_labbook::SubjectId>()
            .expect("an id");
        let record = guarded
            .served
            .state
            .book()
            .store()
            .latest(id)
            .await
            .expect("there");
        assert_eq!(
            record.who.map(|who| who.to_string()).as_deref(),
            Some(guarded.people["analyst"].as_str())
        );
    });
}

#[test]
fn other_pages_cannot_write_with_somebodys_cookie() {
    wait(async {
        let guarded = Guarded::new().await;
        let session = guarded.session("analyst").await;
        let send = async |headers: &[(&'static str, &'static str)]| {
            let mut request = guarded
                .served
                .request("POST", "/api/samples")
                .header("cookie", &session)
                .header("content-type", "application/json");
            for (name, value) in headers {
                request = request.header(*name, *value);
            }
            let body =
                json!({ "label": format!("{headers:?}").chars().take(60).collect::<String>() });
            guarded
                .served
                .send(
                    request
                        .body(Body::from(body.to_string()))
                        .expect("a request"),
                )
                .await
        };
        // A form of another page has none of them.
        send(&[]).await.problem(403, "elsewhere");
        send(&[("x-own-page", "1"), ("origin", "https://evil.example")])
            .await
            .problem(403, "elsewhere");
        send(&[("x-own-page", "1"), ("origin", "null")])
            .await
            .problem(403, "elsewhere");
        send(&[("x-own-page", "1"), ("sec-fetch-site", "same-site")])
            .await
            .problem(403, "elsewhere");
        send(&[("x-own-page", "1"), ("sec-fetch-site", "same-origin")])
            .await
            .expect(201);
        // Nor does another page log anybody in as somebody of its own.
        let login = guarded
            .served
            .request("POST", "/api/login")
            .header("content-type", "application/json")
            .body(Body::from(
                json!({ "name": "R. Amsel", "passphrase": GOOD }).to_string(),
            ))
            .expect("a request");
        guarded.served.send(login).await.problem(403, "elsewhere");
        // A WebSocket is begun by GET.
        let socket = guarded
            .served
            .request("GET", "/api/live/a/camera")
            .header("cookie", &session)
            .header("upgrade", "websocket")
            .header("origin", "https://evil.example")
            .body(Body::empty())
            .expect("a request");
        guarded.served.send(socket).await.problem(403, "elsewhere");
        // By another name than this machine's.
        let mut bent = guarded
            .served
            .request("GET", "/api/me")
            .body(Body::empty())
            .expect("a request");
        bent.headers_mut()
            .insert("host", "evil.example".parse().expect("a value"));
        guarded.served.send(bent).await.problem(403, "elsewhere");
    });
}
