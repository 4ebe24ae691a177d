//! Groups of people on a guarded book.

use crate::guarded::{GOOD, Guarded};
use crate::workshop::{text, wait};
use serde_json::{Value, json};

const NAME: &str = "evening practical 2026";

#[test]
fn a_supervisor_locks_a_practical_and_unlocks_it() {
    wait(async {
        let guarded = Guarded::new().await;
        let session = guarded.session("supervisor").await;
        let ask = async |method: &str, path: &str, body: Option<Value>| {
            guarded.ask(method, path, &session, body).await
        };
        let made = ask("POST", "/api/groups", Some(json!({ "name": NAME })))
            .await
            .expect(201);
        let id = text(&made["id"]);
        ask(
            "POST",
            "/api/groups",
            Some(json!({ "name": NAME.to_uppercase() })),
        )
        .await
        .problem(409, "taken");
        ask("POST", "/api/groups", Some(json!({ "name": " " })))
            .await
            .problem(422, "field");
        for role in ["student", "supervisor"] {
            let path = format!("/api/groups/{id}/members/{}", guarded.people[role]);
            ask("PUT", &path, None).await.expect(204);
        }
        // Nobody outside the book is in a group, and nobody is in a group that there is not.
        let stranger = "0199a0f4-5c7e-7d21-8a2b-3c4d5e6f7081";
        for path in [
            format!("/api/groups/{id}/members/{stranger}"),
            format!(
                "/api/groups/{stranger}/members/{}",
                guarded.people["student"]
            ),
            format!("/api/groups/{id}/members/somebody"),
        ] {
            ask("PUT", &path, None).await.problem(404, "unknown");
        }
        let groups = ask("GET", "/api/groups", None).await.expect(200);
        assert_eq!(
            groups["groups"][0]["members"].as_array().map(Vec::len),
            Some(2)
        );
        let student = guarded.session("student").await;
        let done = ask("POST", &format!("/api/groups/{id}/lock"), None)
            .await
            .expect(200);
        assert_eq!(done, json!({ "locked": 1, "left_out": true }));
        guarded
            .ask("GET", "/api/samples", &student, None)
            .await
            .problem(401, "log-in");
        guarded
            .log_in("A student", GOOD)
            .await
            .problem(403, "locked");
        let done = ask("POST", &format!("/api/groups/{id}/unlock"), None)
            .await
            .expect(200);
        assert_eq!(done, json!({ "unlocked": 2 }));
        guarded.log_in("A student", GOOD).await.expect(200);
        let path = format!("/api/groups/{id}/members/{}", guarded.people["student"]);
        ask("DELETE", &path, None).await.expect(204);
        ask("DELETE", &path, None).await.problem(404, "unknown");
        ask("DELETE", &format!("/api/groups/{id}"), None)
            .await
            .expect(204);
        let log = ask("GET", "/api/access-log", None).await.expect(200);
        let locked = log["entries"]
            .as_array()
            .expect("entries")
            .iter()
            .find(|entry| entry["what"] == "locked")
            .expect("noted");
        assert_eq!(
            (&locked["who"], &locked["about"], &locked["detail"]),
            (&json!("R. Amsel"), &json!("A student"), &json!(NAME))
        );
    });
}
