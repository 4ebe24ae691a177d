//! Planning sessions, and keeping them.

use crate::workshop::{Answer, Served, wait};
use axum::body::Body;
use meltrange_planning::{SessionOrder, retime};
use serde_json::{Value, json};

/// Two benches and four samples; all of it invented.
const FILE: &str = r#"
length_min = 120.0
operators = 1
[policy]
replicates = 2
[[bench]]
name = "North"
places = 3
room_c = 22.0
start_c = 22.0
heat_rate_c_per_min = 15.0
cool_time_constant_min = 10.0
max_c = 300.0
[[bench]]
name = "South"
places = 2
room_c = 22.0
start_c = 22.0
heat_rate_c_per_min = 15.0
cool_time_constant_min = 10.0
max_c = 300.0
[[sample]]
id = "U-1"
first_liquid_c = 113.0
last_crystal_c = 114.5
[[sample]]
id = "U-2"
first_liquid_c = 132.0
last_crystal_c = 133.5
[[sample]]
id = "U-4"
first_liquid_c = 94.0
last_crystal_c = 95.5
[[sample]]
id = "U-5"
first_liquid_c = 80.5
last_crystal_c = 82.0
leave_below_c = 150.0
"#;

async fn order(served: &Served) -> Value {
    let read = served.post("/api/session-files/read", json!({ "toml": FILE }));
    read.await.expect(200)
}

async fn put(served: &Served, name: &str, body: &Value) -> Answer {
    let request = served
        .request("PUT", &format!("/api/sessions/{name}"))
        .header("x-person", &served.who)
        .header("content-type", "application/json")
        .body(Body::from(body.to_string()))
        .expect("a request");
    served.send(request).await
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

#[test]
fn a_session_file_is_read_and_written() {
    wait(async {
        let served = Served::new().await;
        let order = order(&served).await;
        assert_eq!(order["sample"][3]["leave_below_c"], 150.0);
        let written = served.post("/api/session-files/write", order.clone()).await;
        let written = written.expect(200);
        let text = written["toml"].as_str().expect("a text");
        // What was written is read by the same parser as the command line's, and is the same order.
        let again: SessionOrder = toml::from_str(text).expect("a session file");
        let first: SessionOrder = toml::from_str(FILE).expect("a session file");
        assert_eq!(again, first);
        let faulty =
            json!({ "toml": "length_min = 120.0\n[[bench]]\nname = \"North\"\nplces = 3\n" });
        let refused = served.post("/api/session-files/read", faulty).await;
        let refused = refused.problem(422, "session-file");
        assert_eq!(refused["faults"][0]["line"], 4, "{refused}");
    });
}

/// Times are compared with those that the planner gives for the same draft.
#[test]
fn a_plan_is_found_changed_and_retimed() {
    wait(async {
        let served = Served::new().await;
        let order = order(&served).await;
        let asked = json!({ "order": order, "seconds": 0.3 });
        let found = served.post("/api/session-plans", asked).await.expect(200);
        assert_eq!(found["plan"]["fits"], true, "{found}");
        assert_eq!(found["faults"], json!([]));
        for (bench, picture) in found["plan"]["benches"]
            .as_array()
            .expect("benches")
            .iter()
            .zip(found["benches"].as_array().expect("pictures"))
        {
            let mut at = 0.0;
            for (load, drawn) in bench["loads"]
                .as_array()
                .expect("loads")
                .iter()
                .zip(picture["loads"].as_array().expect("loads"))
            {
                for stage in drawn["stages"].as_array().expect("stages") {
                    assert!(
                        (number(&stage["from_min"]) - at).abs() < 1e-6,
                        "no gap: {drawn}"
                    );
                    at = number(&stage["to_min"]);
                    if stage["kind"] == "setting_in" {
                        let begins = number(&load["load_start_min"]);
                        assert!((number(&stage["from_min"]) - begins).abs() < 1e-6);
                    }
                }
                assert!((at - number(&load["end_min"])).abs() < 1e-6, "{drawn}");
            }
        }

        let mut draft = found["draft"].clone();
        let taken = draft["benches"][0]["loads"]
            .as_array_mut()
            .expect("loads")
            .remove(0);
        draft["benches"][1]["loads"]
            .as_array_mut()
            .expect("loads")
            .insert(0, taken);
        let asked = json!({ "order": order, "draft": draft, "now_min": 3.0 });
        let moved = served.post("/api/session-plans/retime", asked).await;
        let moved = moved.expect(200);
        let given: SessionOrder = serde_json::from_value(order.clone()).expect("an order");
        let same = retime(
            &given,
            &serde_json::from_value(draft).expect("a draft"),
            3.0,
        );
        let same = same.expect("in range").plan.makespan_min;
        assert!((number(&moved["plan"]["makespan_min"]) - same).abs() < 1e-9);

        let empty = json!({ "benches": [{ "bench": "North", "loads": [] }] });
        let asked = json!({ "order": order, "draft": empty, "now_min": 0.0 });
        let missing = served.post("/api/session-plans/retime", asked).await;
        let missing = missing.expect(200);
        assert!(
            !missing["faults"].as_array().expect("faults").is_empty(),
            "tubes are missing"
        );

        let long = json!({ "order": order, "seconds": 600.0 });
        served
            .post("/api/session-plans", long)
            .await
            .problem(422, "field");
        let mut hot = order.clone();
        hot["sample"][0]["last_crystal_c"] = json!(500.0);
        let hot = json!({ "order": hot, "seconds": 0.1 });
        let refused = served
            .post("/api/session-plans", hot)
            .await
            .problem(422, "plan");
        assert!(
            refused["detail"].as_str().expect("words").contains("U-1"),
            "{refused}"
        );
        let mut many = order.clone();
        many["policy"]["replicates"] = json!(900);
        let many = json!({ "order": many, "seconds": 0.1 });
        served
            .post("/api/session-plans", many)
            .await
            .problem(422, "field");
    });
}

/// What began and what is locked stays with its marks; nothing else begins before now.
#[test]
fn the_rest_is_planned_anew() {
    wait(async {
        let served = Served::new().await;
        let order = order(&served).await;
        let asked = json!({ "order": order, "seconds": 0.3 });
        let found = served.post("/api/session-plans", asked).await.expect(200);
        let mut draft = found["draft"].clone();
        draft["benches"][0]["loads"][0]["actual"] = json!({ "load_start_min": 4.0 });
        draft["benches"][1]["loads"][0]["locked"] = json!(true);
        let asked = json!({ "order": order, "draft": draft, "now_min": 9.0, "seconds": 0.3 });
        let anew = served.post("/api/session-plans/replan", asked).await;
        let anew = anew.expect(200);
        assert_eq!(anew["faults"], json!([]), "{anew}");
        let first =
            |answer: &Value, bench: usize| answer["draft"]["benches"][bench]["loads"][0].clone();
        assert_eq!(first(&anew, 0)["actual"]["load_start_min"], 4.0);
        assert_eq!(
            first(&anew, 0)["tubes"],
            draft["benches"][0]["loads"][0]["tubes"]
        );
        assert_eq!(first(&anew, 1)["locked"], true);
        assert_eq!(
            first(&anew, 1)["tubes"],
            draft["benches"][1]["loads"][0]["tubes"]
        );
        for bench in anew["plan"]["benches"].as_array().expect("benches") {
            for load in bench["loads"].as_array().expect("loads") {
                let begins = number(&load["load_start_min"]);
                assert!(begins >= 9.0 - 1e-6 || begins == 4.0, "{load}");
            }
        }
    });
}

/// Words have the plan's shape; shares add up to the whole time of each bench; taking a relaxed order and planning it
/// gives what was promised of it.
#[test]
fn a_plan_is_explained_and_what_would_help_is_said() {
    wait(async {
        let served = Served::new().await;
        let mut order = order(&served).await;
        let asked = json!({ "order": order, "seconds": 0.3 });
        let found = served.post("/api/session-plans", asked).await.expect(200);
        let makespan = number(&found["plan"]["makespan_min"]);
        for share in found["words"]["shares"].as_array().expect("shares") {
            let all: f64 = share
                .as_object()
                .expect("fields")
                .values()
                .filter_map(Value::as_f64)
                .sum();
            assert!((all - makespan).abs() < 1e-6, "{share}, {makespan}");
        }
        let words = found["words"]["loads"].as_array().expect("benches");
        for (bench, said) in found["plan"]["benches"]
            .as_array()
            .expect("benches")
            .iter()
            .zip(words)
        {
            let loads = bench["loads"].as_array().expect("loads");
            let said = said.as_array().expect("loads");
            assert_eq!(loads.len(), said.len());
            for (load, said) in loads.iter().zip(said) {
                let alone = load["tubes"].as_array().map(Vec::len) == Some(1);
                assert_eq!(said == "", alone, "{load}");
            }
        }
        let rework =
            json!({ "order": order, "draft": found["draft"], "now_min": 0.0, "seconds": 0.5 });
        let more = served
            .post("/api/session-plans/savings", rework)
            .await
            .expect(200);
        let savings = more["savings"].as_array().expect("savings");
        assert!(!savings.is_empty());
        for one in savings {
            let saved = makespan - number(&one["makespan_min"]);
            assert!((number(&one["saves_min"]) - saved).abs() < 1e-6, "{one}");
        }

        order["length_min"] = json!(makespan - 5.0);
        let rework =
            json!({ "order": order, "draft": found["draft"], "now_min": 0.0, "seconds": 2.0 });
        let give = served
            .post("/api/session-plans/relaxations", rework)
            .await
            .expect(200);
        let relaxed = give["relaxations"].as_array().expect("relaxations");
        let fits = relaxed.iter().find(|one| one["fits"] == true);
        let fits = fits.expect("five minutes can be found");
        assert!(!fits["price"].as_str().expect("words").is_empty());
        let asked = json!({ "order": fits["order"], "seconds": 0.5 });
        let again = served.post("/api/session-plans", asked).await.expect(200);
        assert_eq!(again["plan"]["fits"], true, "{fits}");
    });
}

#[test]
fn a_session_is_kept_with_a_revision() {
    wait(async {
        let served = Served::new().await;
        let order = order(&served).await;
        let listed = served.get("/api/sessions").await.expect(200);
        assert_eq!(listed["sessions"], json!([]));
        let body =
            json!({ "revision": 0, "session": { "order": order, "without_range": ["U-9"] } });
        let kept = put(&served, "Evening%203", &body).await.expect(200);
        assert_eq!(
            (&kept["revision"], &kept["by"]),
            (&json!(1), &json!("R. Amsel"))
        );
        let found = served.get("/api/sessions/Evening%203").await.expect(200);
        assert_eq!(found["session"]["order"], order);
        assert_eq!(found["session"]["without_range"], json!(["U-9"]));
        // Somebody else was faster.
        put(&served, "Evening%203", &body)
            .await
            .problem(409, "stale");
        let mut next = body.clone();
        next["revision"] = json!(1);
        next["session"]["now_min"] = json!(12.5);
        next["session"]["begun"] = json!("2026-11-25T17:00:00Z");
        let kept = put(&served, "Evening%203", &next).await.expect(200);
        assert_eq!(kept["revision"], 2);
        put(&served, "Evening%203", &next)
            .await
            .problem(409, "stale");
        next["revision"] = json!(2);
        next["session"]["begun"] = json!("yesterday");
        put(&served, "Evening%203", &next)
            .await
            .problem(422, "field");
        next["session"]["begun"] = Value::Null;
        // What cannot be timed cannot be opened again, and is not kept; it is said which load it is.
        let tubes = json!([{ "sample": "U-1", "replicate": 1 }]);
        let with = |actual: Value, now_min: f64| {
            let mut next = next.clone();
            let load = json!({ "tubes": tubes, "actual": actual });
            next["session"]["draft"] =
                json!({ "benches": [{ "bench": "South", "loads": [load.clone(), load] }] });
            next["session"]["now_min"] = json!(now_min);
            next
        };
        for (actual, now_min, named) in [
            (
                json!({ "load_start_min": 35.0, "end_min": 30.0 }),
                40.0,
                "end_min of load 1 of South",
            ),
            (
                json!({ "load_start_min": -5.0 }),
                40.0,
                "load_start_min of load 1 of South",
            ),
            (
                json!({ "load_start_min": 1.0, "ended_at_c": 1e20 }),
                40.0,
                "ended_at_c of load 1",
            ),
            (json!({ "load_start_min": 5.0 }), 1e20, "14 days"),
        ] {
            let refused = put(&served, "Evening%203", &with(actual, now_min)).await;
            let refused = refused.problem(422, "field");
            assert!(refused.to_string().contains(named), "{refused}");
        }
        // The same tube in two loads is an ordinary fault.
        let mended = with(json!({ "load_start_min": 5.0, "end_min": 30.0 }), 20_160.0);
        put(&served, "Evening%203", &mended).await.expect(200);
        let listed = served.get("/api/sessions").await.expect(200);
        assert_eq!(listed["sessions"][0]["samples"], 5);
        assert_eq!(listed["sessions"][0]["revision"], 3);
        served
            .get("/api/sessions/Nothing")
            .await
            .problem(404, "unknown");
    });
}

/// Whatever the name, nothing is written outside the folder, and nothing outside it is read.
#[test]
fn names_lead_nowhere_else() {
    wait(async {
        let served = Served::new().await;
        let order = order(&served).await;
        std::fs::write(served.folder.join("secret.json"), "{}").expect("there is room");
        let body = json!({ "revision": 0, "session": { "order": order } });
        for name in [
            "..%2Fsecret",
            "%2e%2e%2fsecret",
            "a%2Fb",
            "a%5Cb",
            ".hidden",
            "a%00b",
            "%20a",
            "a.",
        ] {
            put(&served, name, &body).await.problem(422, "field");
            let read = served.get(&format!("/api/sessions/{name}")).await;
            read.problem(422, "field");
        }
        assert!(!served.folder.join("sessions").exists());
        let long = json!({ "revision": 0, "session": { "order": order, "without_range": ["x".repeat(300_000)] } });
        put(&served, "Long", &long).await.problem(413, "too-large");
        // A file that somebody damaged is told of, and left out of the list.
        put(&served, "Good", &body).await.expect(200);
        std::fs::write(served.folder.join("sessions/Bad.json"), "{").expect("there is room");
        served
            .get("/api/sessions/Bad")
            .await
            .problem(409, "session-file");
        put(&served, "Bad", &body)
            .await
            .problem(409, "session-file");
        let listed = served.get("/api/sessions").await.expect(200);
        assert_eq!(listed["sessions"].as_array().map(Vec::len), Some(1));
        let viewer = served.person("V. Star", "viewer").await;
        let request = served
            .request("PUT", "/api/sessions/Good")
            .header("x-person", &viewer)
            .header("content-type", "application/json")
            .body(Body::from(body.to_string()))
            .expect("a request");
        served.send(request).await.problem(403, "viewer");
        assert!(
            served.verdict().await.findings.is_empty(),
            "sessions are no records"
        );
    });
}

/// What began keeps its real times when the rest is planned anew, whatever stands before it in the draft; what the refuse
/// list refuses is not planned.
#[test]
fn real_times_are_kept_and_refused_samples_are_not_planned() {
    wait(async {
        let served = Served::new().await;
        let order = order(&served).await;
        let asked = json!({ "order": order, "seconds": 0.2 });
        let plan = served.post("/api/session-plans", asked).await.expect(200);
        let mut draft = plan["draft"].clone();
        let bench = (0..)
            .find(|&bench| {
                draft["benches"][bench]["loads"]
                    .as_array()
                    .expect("loads")
                    .len()
                    > 1
            })
            .expect("a bench with two loads");
        let real = json!({ "load_start_min": 31.0, "end_min": 55.5 });
        let tubes = draft["benches"][bench]["loads"][1]["tubes"].clone();
        // The second load began; the first did not, after all, and an empty locked one stands before it.
        draft["benches"][bench]["loads"][1]["actual"] = real.clone();
        draft["benches"][bench]["loads"]
            .as_array_mut()
            .expect("loads")
            .insert(0, json!({ "tubes": [], "locked": true }));
        let asked = json!({ "order": order, "draft": draft, "now_min": 62.0, "seconds": 0.2 });
        let anew = served
            .post("/api/session-plans/replan", asked)
            .await
            .expect(200);
        let loads = anew["draft"]["benches"].as_array().expect("benches").iter();
        let kept = loads
            .flat_map(|bench| bench["loads"].as_array().expect("loads"))
            .find(|load| load["tubes"] == tubes)
            .expect("the load that began");
        assert_eq!(kept["actual"], real, "{anew}");
        // The same again from what was given: still there.
        let asked = json!({ "order": order, "draft": anew["draft"], "now_min": 62.0 });
        let again = served
            .post("/api/session-plans/retime", asked)
            .await
            .expect(200);
        assert!(again["draft"].to_string().contains("55.5"));
        // And where its bench was given another name meanwhile: kept with the old one, its tubes not planned again.
        let mut renamed = order.clone();
        let old = renamed["bench"][bench]["name"].clone();
        renamed["bench"][bench]["name"] = json!("West");
        let asked =
            json!({ "order": renamed, "draft": anew["draft"], "now_min": 62.0, "seconds": 0.2 });
        let moved = served
            .post("/api/session-plans/replan", asked)
            .await
            .expect(200);
        let benches = moved["draft"]["benches"].as_array().expect("benches");
        assert_eq!(benches.len(), 3, "{moved}");
        assert_eq!(benches[2]["bench"], old);
        assert_eq!(benches[2]["loads"][0]["actual"], real);
        let planned = moved["plan"].to_string();
        for tube in tubes.as_array().expect("tubes") {
            assert!(!planned.contains(&tube.to_string()), "{tube} in {planned}");
        }

        let mut refused = order.clone();
        refused["sample"][0]["id"] = json!("Picric acid, crude");
        let asked = json!({ "order": refused, "seconds": 0.2 });
        let answer = served.post("/api/session-plans", asked).await;
        answer.problem(422, "refused");
        // A surname and initials with a number are no substances.
        for label in ["Willard-2", "HNS-3"] {
            let mut named = order.clone();
            named["sample"][0]["id"] = json!(label);
            let asked = json!({ "order": named, "seconds": 0.1 });
            served.post("/api/session-plans", asked).await.expect(200);
        }
    });
}

/// Of a draft that lacks tubes nothing is said that holds for the draft alone, and what could give is offered in full.
#[test]
fn what_could_give_is_of_the_whole_session() {
    wait(async {
        let served = Served::new().await;
        let mut order = order(&served).await;
        order["length_min"] = json!(40.0);
        let asked = json!({ "order": order, "seconds": 0.3 });
        let plan = served.post("/api/session-plans", asked).await.expect(200);
        assert_eq!(plan["plan"]["fits"], false);
        let whole_bound = number(&plan["plan"]["lower_bound_min"]);
        let in_time = plan["in_time"].clone();
        assert!(
            in_time.is_object() && plan["in_time_finished"].is_number(),
            "{plan}"
        );
        // The counts are those of the plan shown.
        let asked = json!({ "order": order, "draft": plan["draft"], "now_min": 0.0 });
        let same = served
            .post("/api/session-plans/retime", asked)
            .await
            .expect(200);
        assert_eq!(
            same["plan"]["finished_in_time"],
            plan["plan"]["finished_in_time"]
        );
        let asked = json!({ "order": order, "draft": in_time, "now_min": 0.0 });
        let taken = served
            .post("/api/session-plans/retime", asked)
            .await
            .expect(200);
        assert!((number(&taken["plan"]["lower_bound_min"]) - whole_bound).abs() < 1e-9);
        let asked = json!({ "order": order, "draft": in_time, "now_min": 0.0, "seconds": 2.0 });
        let given = served
            .post("/api/session-plans/relaxations", asked)
            .await
            .expect(200);
        let ways = given["relaxations"].as_array().expect("ways");
        let starts = |what: &str| {
            ways.iter().find(|way| {
                way["what"]
                    .as_str()
                    .is_some_and(|text| text.starts_with(what))
            })
        };
        assert!(starts("leave out").is_some(), "{given}");
        let longer = starts("a session of").expect("a longer session");
        assert!(number(&longer["order"]["length_min"]) > 40.0, "{longer}");
        // The page's plan within the time counts: what is left out leaves no fewer than that finishes.
        let asked = json!({ "order": order, "draft": plan["draft"], "in_time": in_time, "now_min": 0.0, "seconds": 0.1 });
        let given = served
            .post("/api/session-plans/relaxations", asked)
            .await
            .expect(200);
        for way in given["relaxations"].as_array().expect("ways") {
            assert!(
                way["finished"].as_u64() >= plan["in_time_finished"].as_u64(),
                "{way}"
            );
        }
        // It fits from minute 0, but no longer at 60: what could give is for what is left.
        let mut late = order.clone();
        late["length_min"] = json!(number(&plan["plan"]["makespan_min"]) + 30.0);
        let asked =
            json!({ "order": late, "draft": plan["draft"], "now_min": 60.0, "seconds": 2.0 });
        let given = served
            .post("/api/session-plans/relaxations", asked)
            .await
            .expect(200);
        let ways = given["relaxations"].as_array().expect("ways");
        assert!(!ways.is_empty(), "{given}");
    });
}
