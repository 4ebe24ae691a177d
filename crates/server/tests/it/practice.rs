//! Practice in reading, and readers compared.

use crate::workshop::{Served, text, wait};
use serde_json::{Value, json};
use uuid::Uuid;

async fn attempt(served: &Served, who: &str, exercise: &Value, ends_s: [f64; 2]) -> Value {
    let body = json!({ "id": Uuid::now_v7().to_string(), "exercise": exercise, "first_liquid_s": ends_s[0],
        "last_crystal_s": ends_s[1], "seconds_spent": 30.0 });
    let found = served.post_as(who, "/api/practice/attempts", body).await;
    found.expect(200)
}

#[test]
fn an_exercise_is_read_blind_and_marked_against_the_truth() {
    wait(async {
        let served = Served::new().await;
        let who = served.who.clone();
        let item = served.get_as(&who, "/api/practice/next").await.expect(200);
        assert_eq!(
            (&item["exercise"]["kind"], &item["why"]),
            (&json!("plain"), &json!("first"))
        );
        assert!(!item.to_string().contains("_c\""), "blind: {item}");
        let times = item["times_s"].as_array().expect("times");
        assert!(times.len() >= 60, "{}", times.len());
        let pictures = text(&item["pictures"]);
        let picture = served.get(&format!("{pictures}0")).await;
        picture.headers.get("content-type").expect("a kind");
        assert!(picture.bytes.starts_with(&[0xff, 0xd8]));
        served
            .get(&format!("{pictures}{}", times.len()))
            .await
            .problem(404, "unknown");
        let last_s = times[times.len() - 1].as_f64().expect("a time");
        // Somebody who marks too early and too late is told by how much.
        let marked = attempt(
            &served,
            &who,
            &item["exercise"],
            [times[0].as_f64().expect("a time"), last_s],
        )
        .await;
        assert_eq!(marked["basis"], "truth");
        assert_eq!(marked["first_liquid"]["within_limit"], false);
        let error_c = marked["first_liquid"]["error_c"]
            .as_f64()
            .expect("a number");
        assert!(error_c < -0.5, "{error_c}");
        let truth = [
            marked["first_liquid"]["true_s"].as_f64().expect("a time"),
            marked["last_crystal"]["true_s"].as_f64().expect("a time"),
        ];
        let right = attempt(&served, &who, &item["exercise"], truth).await;
        for end in ["first_liquid", "last_crystal"] {
            assert!(
                right[end]["error_c"].as_f64().expect("a number").abs() < 0.01,
                "{right}"
            );
            assert_eq!(right[end]["within_limit"], true);
        }
        assert_eq!(right["progress"]["curve"].as_array().map(Vec::len), Some(2));
        assert_eq!(right["progress"]["passed"], false);
        let backwards = json!({ "id": Uuid::now_v7().to_string(), "exercise": item["exercise"],
            "first_liquid_s": last_s, "last_crystal_s": 1.0 });
        served
            .post("/api/practice/attempts", backwards)
            .await
            .problem(422, "field");
    });
}

#[test]
fn an_attempt_sent_twice_counts_once() {
    wait(async {
        let served = Served::new().await;
        let body = json!({ "id": Uuid::now_v7().to_string(), "exercise": { "kind": "settling", "seed": 5 },
            "first_liquid_s": 100.0, "last_crystal_s": 200.0 });
        for _ in 0..2 {
            let found = served
                .post("/api/practice/attempts", body.clone())
                .await
                .expect(200);
            assert_eq!(found["progress"]["curve"].as_array().map(Vec::len), Some(1));
        }
        let strange = json!({ "id": Uuid::now_v7().to_string(), "exercise": { "kind": "recording" },
            "first_liquid_s": 1.0, "last_crystal_s": 2.0 });
        served
            .post("/api/practice/attempts", strange)
            .await
            .problem(422, "field");
    });
}

#[test]
fn the_same_seed_is_the_same_exercise_and_people_get_different_ones() {
    wait(async {
        let served = Served::new().await;
        let other = served.add_person("A student", "student").await;
        let who = served.who.clone();
        let mine = served.get_as(&who, "/api/practice/next").await.expect(200);
        let again = served.get_as(&who, "/api/practice/next").await.expect(200);
        let theirs = served
            .get_as(&other, "/api/practice/next")
            .await
            .expect(200);
        assert_eq!(mine["exercise"], again["exercise"]);
        assert_ne!(mine["exercise"]["seed"], theirs["exercise"]["seed"]);
        let path = "/api/practice/exercises/glistening/77";
        let one = served.get_as(&who, path).await.expect(200);
        let two = served.get_as(&other, path).await.expect(200);
        assert_eq!(one["times_s"], two["times_s"]);
        served
            .get_as(&who, "/api/practice/exercises/sparkling/1")
            .await
            .problem(404, "unknown");
    });
}

#[test]
fn readers_of_known_bias_are_told_apart() {
    wait(async {
        let served = Served::new().await;
        let keen = served.add_person("Keen", "student").await;
        let slow = served.add_person("Slow", "student").await;
        let mut known = Vec::new();
        for seed in 1..=6 {
            let exercise = json!({ "kind": "plain", "seed": seed });
            let marked = attempt(&served, &served.who, &exercise, [20.0, 60.0]).await;
            known.push([
                marked["first_liquid"]["true_s"].as_f64().expect("a time"),
                marked["last_crystal"]["true_s"].as_f64().expect("a time"),
            ]);
        }
        // At 1 °C/min twelve seconds are 0.2 °C; the one marks as much early as the other late.
        for (person, late_s) in [(&keen, -12.0), (&slow, 12.0)] {
            for (seed, [first_s, last_s]) in (1..).zip(&known) {
                let exercise = json!({ "kind": "plain", "seed": seed });
                let wobble_s = if seed % 2 == 0 { 2.0 } else { -2.0 };
                let marks = [first_s + late_s + wobble_s, last_s + late_s + wobble_s];
                attempt(&served, person, &exercise, marks).await;
            }
        }
        let path = "/api/readers/comparison?of=practice";
        let who = served.who.clone();
        let found = served.get_as(&who, path).await.expect(200);
        let readers = found["ends"][0]["comparison"]["readers"]
            .as_array()
            .expect("readers");
        let bias = |person: &str| {
            let row = readers.iter().find(|row| row["reader"] == person);
            row.expect("compared")["bias_c"].as_f64().expect("a number")
        };
        assert!((bias(&keen) + 0.2).abs() < 0.06, "{}", bias(&keen));
        assert!((bias(&slow) - 0.2).abs() < 0.06, "{}", bias(&slow));
        let path = format!("/api/readers/agreement?of=practice&one={slow}&other={keen}");
        let limits = served.get_as(&who, &path).await.expect(200);
        let bias_c = limits["ends"][0]["limits"]["bias_c"]
            .as_f64()
            .expect("a number");
        assert!((bias_c - 0.4).abs() < 0.05, "{bias_c}");
        served
            .get_as(&keen, "/api/readers/comparison?of=practice")
            .await
            .problem(403, "role");
        let listed = served
            .get_as(&who, "/api/practice/readers")
            .await
            .expect(200);
        assert_eq!(listed["readers"].as_array().map(Vec::len), Some(3));
        served
            .get_as(&keen, &format!("/api/practice/progress/{slow}"))
            .await
            .problem(403, "role");
        let none = served
            .get_as(&who, "/api/readers/comparison?of=recordings")
            .await
            .expect(200);
        assert!(none["ends"][0]["missing"].is_string());
    });
}

#[test]
fn the_handout_has_its_pictures() {
    wait(async {
        let served = Served::new().await;
        let found = served.get("/api/handout").await.expect(200);
        let pictures = found["pictures"].as_array().expect("pictures");
        assert_eq!(pictures.len(), 11);
        for picture in pictures {
            let found = served.get(&text(&picture["address"])).await;
            assert!(found.bytes.starts_with(&[0xff, 0xd8]), "{picture}");
        }
        served
            .get("/api/handout/pictures/none")
            .await
            .problem(404, "unknown");
    });
}
