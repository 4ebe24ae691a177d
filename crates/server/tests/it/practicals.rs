//! Class sessions: joining by a code, whose turn it is, what is recorded, what a student sees, and what goes wrong.

use crate::guarded::Guarded;
use crate::workshop::{Served, text, wait};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use uuid::Uuid;

fn id() -> String {
    Uuid::now_v7().to_string()
}

fn unknown(name: &str, first_liquid_c: f64, last_crystal_c: f64) -> Value {
    json!({ "library": null, "name": name, "first_liquid_c": first_liquid_c, "last_crystal_c": last_crystal_c,
        "hazards": null, "fusion_j_per_mol": null })
}

fn bench(name: &str) -> Value {
    json!({ "name": name, "places": 3, "room_c": 22.0, "start_c": 22.0, "heat_rate_c_per_min": 10.0,
        "cool_time_constant_min": 8.0, "max_c": 300.0 })
}

fn set_up(seats: u32, people_per_seat: u32) -> Value {
    json!({
        "title": "Evening practical", "seats": seats, "seats_per_row": 4, "people_per_seat": people_per_seat,
        "unknowns": [unknown("Acetanilide", 113.5, 114.5), unknown("Benzil", 94.0, 95.0), unknown("Urea", 132.0, 133.5)],
        "standard_uncertainty_c": 0.5, "runs_each": 2, "length_min": 240.0, "operators": 2,
        "benches": [bench("Bench 1"), bench("Bench 2")],
        "rubric": { "identity": 4.0, "range": 2.0, "agreement": 2.0, "care": 2.0, "range_within_c": 1.0,
            "agreement_within_c": 0.5, "heating_rate_c_per_min": 2.0 },
        "seed": 11
    })
}

struct Class {
    served: Served,
    id: String,
}

impl Class {
    async fn new(seats: u32, people_per_seat: u32) -> Self {
        let served = Served::new().await;
        let id = id();
        let asked = json!({ "id": id, "set_up": set_up(seats, people_per_seat) });
        let board = served
            .post("/api/practicals", asked.clone())
            .await
            .expect(201);
        assert_eq!(board["state"], "prepared");
        // Asked again, it is the same.
        let again = served.post("/api/practicals", asked).await.expect(201);
        assert_eq!(again["seq"], board["seq"]);
        Self { served, id }
    }

    fn path(&self, rest: &str) -> String {
        format!("/api/practicals/{}/{rest}", self.id)
    }

    async fn board(&self) -> Value {
        let who = self.served.who.clone();
        let found = self.served.get_as(&who, &self.path("board")).await;
        found.expect(200)
    }

    async fn labels(&self) -> Value {
        let who = self.served.who.clone();
        let found = self.served.get_as(&who, &self.path("labels")).await;
        found.expect(200)
    }

    async fn instruct(&self, step: Value) -> Value {
        let body = json!({ "id": id(), "step": step });
        self.served
            .post(&self.path("steps"), body)
            .await
            .expect(200)
    }

    async fn join(&self, body: Value) -> Value {
        let found = self.served.post_as("", "/api/practicals/join", body).await;
        found.expect(200)
    }

    async fn seat(&self, person: &str) -> Value {
        let found = self.served.get_as(person, &self.path("seat")).await;
        found.expect(200)
    }

    async fn step(&self, person: &str, step: Value) -> crate::workshop::Answer {
        let body = json!({ "id": id(), "at": null, "step": step });
        self.served
            .post_as(person, &self.path("seat/steps"), body)
            .await
    }

    async fn result(&self, person: &str, run: u32, first_c: f64, last_c: f64) -> Value {
        let step = json!({ "what": "result", "run": run, "first_liquid_c": first_c, "last_crystal_c": last_c,
            "heating_rate_c_per_min": 1.0, "fresh_tube": true, "note": "clear" });
        self.step(person, step).await.expect(200)
    }
}

#[test]
fn a_class_joins_heats_identifies_and_is_marked() {
    wait(async {
        let class = Class::new(4, 1).await;
        let code = text(&class.labels().await["class_code"]);
        let mut people = Vec::new();
        for _ in 0..4 {
            let joined = class.join(json!({ "code": code, "name": "Mira" })).await;
            people.push(text(&joined["person"]));
        }
        // Four of one name are four people.
        let pseudonyms: BTreeSet<String> = class.board().await["seats"]
            .as_array()
            .expect("seats")
            .iter()
            .map(|seat| text(&seat["people"][0]["pseudonym"]))
            .collect();
        assert_eq!(pseudonyms.len(), 4);
        let board = class.instruct(json!({ "what": "begin" })).await;
        assert_eq!(board["state"], "under_way");
        for person in &people {
            heated(&class, person).await;
        }
        // Before the marks are out nobody sees what is in their vial.
        let page = class.seat(&people[0]).await;
        assert_eq!(
            (&page["truth"], &page["mark"]),
            (&Value::Null, &Value::Null)
        );
        let board = class.board().await;
        for (person, seat) in people.iter().zip(board["seats"].as_array().expect("seats")) {
            let unknown =
                &board["set_up"]["unknowns"][seat["unknown"].as_u64().expect("a number") as usize];
            let from_c = unknown["first_liquid_c"].as_f64().expect("a number");
            let to_c = unknown["last_crystal_c"].as_f64().expect("a number");
            class.result(person, 1, from_c, to_c).await;
            let page = class.result(person, 2, from_c + 0.2, to_c + 0.2).await;
            assert_eq!(page["agreement"]["agreed"], true);
            let said =
                json!({ "what": "identify", "name": unknown["name"], "why": "the range fits" });
            class.step(person, said).await.expect(200);
        }
        let board = class.instruct(json!({ "what": "release" })).await;
        for seat in board["seats"].as_array().expect("seats") {
            assert_eq!(seat["standing"], "done", "{seat}");
            assert_eq!(seat["mark"]["total"], 10.0, "{seat}");
        }
        let page = class.seat(&people[0]).await;
        assert_eq!(page["mark"]["total"], 10.0);
        assert!(page["truth"]["name"].is_string());
        let marked = json!({ "what": "mark", "seat": 1, "identity": 4.0, "range": 1.0, "agreement": 2.0, "care": 0.0, "why": "no gloves" });
        let board = class.instruct(marked).await;
        assert_eq!(board["seats"][0]["mark"]["overridden"], true);
        let who = class.served.who.clone();
        let table = class
            .served
            .get_as(&who, &class.path("gradebook.csv"))
            .await;
        let lines = String::from_utf8(table.bytes.clone()).expect("text");
        assert_eq!(lines.lines().count(), 5, "{lines}");
        assert!(lines.contains("Mira"), "{lines}");
        let board = class.instruct(json!({ "what": "forget_names" })).await;
        assert_eq!(board["names_kept"], false);
        assert!(!board.to_string().contains("Mira"));
        // The record is whole without the names.
        let found = class.served.verdict().await;
        assert!(found.sound(), "{:?}", found.findings);
    });
}

/// Set one student's loads in and end them, as far as their turn comes.
async fn heated(class: &Class, person: &str) {
    for _ in 0..6 {
        let page = class.seat(person).await;
        let turn = &page["turn"];
        let load = turn["load"].as_u64();
        match turn["standing"].as_str() {
            Some("now") => {
                let step = json!({ "what": "set_in", "load": load });
                class.step(person, step).await.expect(200);
                let step = json!({ "what": "ended", "load": load });
                class.step(person, step).await.expect(200);
            }
            Some("ahead") => {
                // Others come first; a student cannot jump the queue.
                let step = json!({ "what": "set_in", "load": load });
                class.step(person, step).await.problem(409, "turn");
                return;
            }
            _ => return,
        }
    }
}

#[test]
fn neighbours_differ_and_labels_name_no_substance() {
    wait(async {
        let class = Class::new(12, 1).await;
        let board = class.board().await;
        let unknowns: Vec<u64> = board["seats"]
            .as_array()
            .expect("seats")
            .iter()
            .map(|seat| seat["unknown"].as_u64().expect("a number"))
            .collect();
        for seat in 0..12 {
            if seat % 4 != 3 {
                assert_ne!(unknowns[seat], unknowns[seat + 1]);
            }
            if seat + 4 < 12 {
                assert_ne!(unknowns[seat], unknowns[seat + 4]);
            }
        }
        let labels = class.labels().await;
        let written = labels.to_string();
        for name in ["Acetanilide", "Benzil", "Urea"] {
            assert!(!written.contains(name));
        }
        assert!(text(&labels["labels"][0]["qr_svg"]).contains("<svg"));
        assert!(text(&labels["labels"][0]["address"]).contains("/#/join?code="));
    });
}

#[test]
fn who_is_no_instructor_sees_no_board() {
    wait(async {
        let class = Class::new(2, 1).await;
        let code = text(&class.labels().await["class_code"]);
        let joined = class.join(json!({ "code": code })).await;
        let student = text(&joined["person"]);
        for path in ["board", "labels", "gradebook.csv"] {
            let found = class.served.get_as(&student, &class.path(path)).await;
            found.problem(403, "role");
        }
        let body = json!({ "id": id(), "step": { "what": "release" } });
        let found = class
            .served
            .post_as(&student, &class.path("steps"), body)
            .await;
        found.problem(403, "role");
        // Nor a seat that is not theirs.
        let other = class.served.add_person("A student", "student").await;
        let found = class.served.get_as(&other, &class.path("seat")).await;
        found.problem(404, "unknown");
    });
}

#[test]
fn a_step_sent_twice_is_taken_once_and_one_done_offline_keeps_its_time() {
    wait(async {
        let class = Class::new(2, 1).await;
        let code = text(&class.labels().await["class_code"]);
        let person = text(&class.join(json!({ "code": code })).await["person"]);
        class.instruct(json!({ "what": "begin" })).await;
        let done = jiff::Timestamp::now();
        tokio::time::sleep(std::time::Duration::from_secs(6)).await;
        let body = json!({ "id": id(), "at": done.to_string(), "step": { "what": "note", "text": "offline" } });
        for _ in 0..3 {
            let found = class
                .served
                .post_as(&person, &class.path("seat/steps"), body.clone())
                .await;
            let page = found.expect(200);
            assert_eq!(page["notes"].as_array().map(Vec::len), Some(1));
            let kept: jiff::Timestamp = text(&page["notes"][0]["when"]).parse().expect("a time");
            assert!((kept.duration_since(done)).as_secs_f64().abs() < 0.01);
        }
    });
}

#[test]
fn a_late_student_gets_a_seat_and_a_turn() {
    wait(async {
        let class = Class::new(1, 1).await;
        let code = text(&class.labels().await["class_code"]);
        class.join(json!({ "code": code })).await;
        class.instruct(json!({ "what": "begin" })).await;
        let full = class
            .served
            .post_as("", "/api/practicals/join", json!({ "code": code }))
            .await;
        full.problem(409, "no-seat");
        class.instruct(json!({ "what": "add_seat" })).await;
        let late = class.join(json!({ "code": code })).await;
        assert_eq!(late["seat"], 2);
        let page = class.seat(&text(&late["person"])).await;
        assert!(page["turn"].is_object(), "{page}");
    });
}

#[test]
fn a_lost_phone_comes_in_again_as_the_same_person_and_the_old_one_does_not() {
    wait(async {
        let class = Class::new(2, 1).await;
        let seat_code = text(&class.labels().await["labels"][0]["code"]);
        let first = class.join(json!({ "code": seat_code })).await;
        let person = text(&first["person"]);
        class.result(&person, 1, 113.4, 114.4).await;
        let taken = class
            .served
            .post_as("", "/api/practicals/join", json!({ "code": seat_code }))
            .await;
        taken.problem(409, "seat");
        class
            .instruct(json!({ "what": "new_code", "seat": 1 }))
            .await;
        let note = json!({ "what": "note", "text": "from the old phone" });
        class.step(&person, note).await.problem(403, "code");
        let old = class
            .served
            .post_as("", "/api/practicals/join", json!({ "code": seat_code }))
            .await;
        old.problem(403, "code");
        let fresh = text(&class.labels().await["labels"][0]["code"]);
        let again = class.join(json!({ "code": fresh })).await;
        assert_eq!(text(&again["person"]), person);
        let page = class.seat(&person).await;
        assert_eq!(page["results"].as_array().map(Vec::len), Some(1));
    });
}

#[test]
fn wrong_codes_make_one_wait() {
    wait(async {
        let class = Class::new(1, 1).await;
        let mut waited = None;
        for guess in 0..20 {
            let body = json!({ "code": format!("WRONG{guess}") });
            let answer = class.served.post_as("", "/api/practicals/join", body).await;
            if answer.status == 429 {
                waited = Some(answer);
                break;
            }
            answer.problem(403, "code");
        }
        let answer = waited.expect("one waits");
        let problem = answer.problem(429, "wait");
        assert!(problem["wait_s"].as_u64().expect("how long") >= 1);
        assert!(!answer.header("retry-after").is_empty());
    });
}

#[test]
fn a_bench_that_fails_is_planned_around() {
    wait(async {
        let class = Class::new(6, 1).await;
        let code = text(&class.labels().await["class_code"]);
        for _ in 0..6 {
            class.join(json!({ "code": code })).await;
        }
        let board = class.instruct(json!({ "what": "begin" })).await;
        let before = board["benches"][0]["next"]["seats"].clone();
        assert!(
            before.as_array().is_some_and(|seats| !seats.is_empty()),
            "{board}"
        );
        let load = board["benches"][0]["next"]["load"].clone();
        class
            .instruct(json!({ "what": "set_in", "bench": "Bench 1", "load": load }))
            .await;
        let board = class
            .instruct(
                json!({ "what": "bench_out", "bench": "Bench 1", "why": "the heater smells" }),
            )
            .await;
        let out = &board["benches"][0];
        assert_eq!((&out["out"], &out["now"]), (&json!(true), &Value::Null));
        assert_eq!(out["left"], 0, "{out}");
        // Whoever had a tube in it has a turn elsewhere.
        for seat in board["seats"].as_array().expect("seats") {
            assert_eq!(seat["turn"]["bench"], "Bench 2", "{seat}");
        }
        let words = board["history"].to_string();
        assert!(words.contains("the heater smells"), "{words}");
        let board = class
            .instruct(json!({ "what": "bench_back", "bench": "Bench 1" }))
            .await;
        assert_eq!(board["benches"][0]["out"], false);
        let body = json!({ "id": id(), "step": { "what": "bench_out", "bench": "Bench 9", "why": "none" } });
        class
            .served
            .post(&class.path("steps"), body)
            .await
            .problem(422, "field");
        let body =
            json!({ "id": id(), "step": { "what": "bench_out", "bench": "Bench 2", "why": "" } });
        class
            .served
            .post(&class.path("steps"), body)
            .await
            .problem(422, "reason-missing");
    });
}

#[test]
fn a_swapped_vial_stands_in_the_history_and_counts_from_then_on() {
    wait(async {
        let class = Class::new(2, 1).await;
        let code = text(&class.labels().await["class_code"]);
        class.join(json!({ "code": code })).await;
        let before = class.board().await["seats"][0]["unknown"].as_u64();
        let other = (before.expect("a number") + 1) % 3;
        let board = class
            .instruct(json!({ "what": "swap", "seat": 1, "unknown": other, "why": "vials were mixed up on the tray" }))
            .await;
        assert_eq!(board["seats"][0]["unknown"], other);
        assert!(board["seats"][0]["flags"].to_string().contains("swapped"));
        assert!(
            board["history"]
                .to_string()
                .contains("mixed up on the tray")
        );
    });
}

#[test]
fn help_is_asked_for_and_given() {
    wait(async {
        let class = Class::new(2, 2).await;
        let code = text(&class.labels().await["class_code"]);
        let person = text(&class.join(json!({ "code": code })).await["person"]);
        let partner = class.join(json!({ "code": code })).await;
        assert_eq!(partner["seat"], 1, "a pair fills one seat first");
        let asked = json!({ "what": "ask_help", "text": "the tube broke" });
        class.step(&person, asked).await.expect(200);
        let help = class.board().await["seats"][0]["help"].clone();
        assert_eq!(help["text"], "the tube broke");
        let board = class
            .instruct(json!({ "what": "help_given", "help": help["id"] }))
            .await;
        assert_eq!(board["seats"][0]["help"], Value::Null);
        // A pair that reads one run differently is told from runs that differ.
        class.result(&person, 1, 94.0, 95.0).await;
        class.result(&text(&partner["person"]), 1, 95.0, 96.0).await;
        let flags = class.board().await["seats"][0]["flags"].to_string();
        assert!(flags.contains("readers_disagree"), "{flags}");
        assert!(!flags.contains("runs_disagree"), "{flags}");
    });
}

#[test]
fn unknowns_are_compared_before_they_are_dealt() {
    wait(async {
        let served = Served::new().await;
        let unknowns = [
            unknown("Benzil", 94.0, 95.0),
            unknown("Vanillin", 81.0, 82.0),
            unknown("Something near", 94.5, 95.8),
        ];
        let asked = json!({ "unknowns": unknowns, "standard_uncertainty_c": 0.5 });
        let found = served
            .post("/api/practicals/unknowns", asked)
            .await
            .expect(200);
        let told: Vec<String> = found["pairs"]
            .as_array()
            .expect("pairs")
            .iter()
            .map(|pair| text(&pair["told"]))
            .collect();
        assert_eq!(told, ["by_range", "by_mixed_melting", "by_range"]);
        // What is refused elsewhere is not dealt to a class either.
        let mut bad = set_up(4, 1);
        bad["unknowns"][0]["name"] = json!("picric acid");
        let asked = json!({ "id": id(), "set_up": bad });
        served
            .post("/api/practicals", asked)
            .await
            .problem(422, "field");
    });
}

#[test]
fn on_a_guarded_book_a_code_lets_in_without_an_account_and_no_further() {
    wait(async {
        let guarded = Guarded::new().await;
        let supervisor = guarded.session("supervisor").await;
        let practical = id();
        let asked = json!({ "id": practical, "set_up": set_up(2, 1) });
        guarded
            .ask("POST", "/api/practicals", &supervisor, Some(asked))
            .await
            .expect(201);
        let path = format!("/api/practicals/{practical}/labels");
        let labels = guarded
            .ask("GET", &path, &supervisor, None)
            .await
            .expect(200);
        let code = text(&labels["labels"][1]["code"]);
        let answer = guarded
            .ask(
                "POST",
                "/api/practicals/join",
                "",
                Some(json!({ "code": code, "name": "Mira" })),
            )
            .await;
        answer.expect(200);
        let set = answer.header("set-cookie");
        let cookie = set.split(';').next().expect("a cookie").to_owned();
        let seat = format!("/api/practicals/{practical}/seat");
        let page = guarded.ask("GET", &seat, &cookie, None).await.expect(200);
        assert_eq!(page["seat"], 2);
        guarded
            .ask(
                "GET",
                &format!("/api/practicals/{practical}/board"),
                &cookie,
                None,
            )
            .await
            .problem(403, "role");
        guarded
            .ask("GET", "/api/accounts", &cookie, None)
            .await
            .problem(403, "role");
        // The phone is lost: what it kept lets nobody in.
        let step = json!({ "id": id(), "step": { "what": "new_code", "seat": 2 } });
        let path = format!("/api/practicals/{practical}/steps");
        guarded
            .ask("POST", &path, &supervisor, Some(step))
            .await
            .expect(200);
        guarded
            .ask("GET", &seat, &cookie, None)
            .await
            .problem(401, "log-in");
        guarded
            .ask("GET", &seat, "", None)
            .await
            .problem(401, "log-in");
    });
}
