//! Mixed meltings out of recordings, and what samples are said to be. Names and ranges are invented, but
//! for urea with trans-cinnamic acid: alone they melt at 132.7 and 133 °C, mixed 1:1 from 95 °C (common
//! teaching practice, student reports).

use crate::workshop::{Served, text, wait};
use serde_json::{Value, json};

/// A sample with two agreeing runs and a result, and a mixed melting of it with trans-cinnamic acid.
async fn scene(served: &Served, mixture: (f64, f64)) -> (String, String) {
    let sample = served.sample("U-7").await;
    let reference = served.sample("trans-cinnamic acid, store").await;
    let ends = [(132.4, 133.2), (132.5, 133.3)];
    served.read_runs(None, &sample, &ends, 1.0).await;
    let path = format!("/api/samples/{sample}/determinations");
    served.post(&path, json!({})).await.expect(201);
    let load = [
        (Some(sample.as_str()), 132.5, 133.2),
        (Some(reference.as_str()), 132.4, 133.1),
        (None, mixture.0, mixture.1),
    ];
    let recording = served.read_load(None, &load, 1.0).await;
    (sample, recording)
}

fn places() -> Value {
    json!({ "sample_place": 1, "reference_place": 2, "mixture_place": 3 })
}

fn said(says: &str, recording: &str) -> Value {
    json!({
        "says": says, "substance": "140-10-3",
        "mixed_meltings": [{ "recording": recording, "reference": "trans-cinnamic acid", "tubes": places() }],
    })
}

fn cautions(found: &Value) -> String {
    found["cautions"].to_string()
}

#[test]
fn three_tubes_of_one_recording_are_judged_together() {
    wait(async {
        let served = Served::new().await;
        let (_, recording) = scene(&served, (95.0, 118.0)).await;
        let path = format!("/api/recordings/{recording}/mixed-melting");
        let judged = served.post(&path, places()).await.expect(200);
        assert_eq!(judged["told"]["verdict"], "different");
        assert_eq!(judged["ranges_c"][2], json!([95.0, 118.0]));
        // 0.05 of either reading, 0.2 between places.
        let u_c = judged["standard_uncertainty_c"].as_f64().expect("a number");
        assert!((u_c - 0.05f64.hypot(0.05).hypot(0.2)).abs() < 1e-9, "{u_c}");
        assert_eq!(judged["decided"], false);
        let twice = json!({ "sample_place": 1, "reference_place": 1, "mixture_place": 3 });
        served.post(&path, twice).await.problem(422, "field");
        let nowhere = json!({ "sample_place": 1, "reference_place": 2, "mixture_place": 4 });
        served.post(&path, nowhere).await.problem(422, "field");
        // A student has not looked yet.
        let student = served.person("C. First", "student").await;
        served
            .post_as(&student, &path, places())
            .await
            .problem(403, "role");
    });
}

#[test]
fn a_verdict_is_tried_stated_and_said_anew() {
    wait(async {
        let served = Served::new().await;
        let (sample, recording) = scene(&served, (132.4, 133.2)).await;
        let path = format!("/api/samples/{sample}/verdicts");
        let records = served.records().await;
        let asked = said("consistent_with", &recording);
        let tried = served
            .post(&format!("{path}/try"), asked.clone())
            .await
            .expect(200);
        assert_eq!(served.records().await, records);
        assert_eq!(
            tried["identity"]["substance"],
            json!({ "name": "trans-cinnamic acid", "cas": "140-10-3" })
        );
        let words = text(&tried["words"]);
        for part in [
            "U-7",
            "consistent with trans-cinnamic acid",
            "not depressed",
            "uncorrected",
        ] {
            assert!(words.contains(part), "{words}");
        }
        assert_eq!(tried["purities"][0]["method"], "width");
        for caution in [
            "not corrected",
            "sharp is not always pure",
            "nobody has decided",
        ] {
            assert!(cautions(&tried).contains(caution), "{caution}: {tried}");
        }
        // Not corrected: no purity from the last crystal.
        let mut with_pure = asked.clone();
        with_pure["pure_c"] = json!(133.4);
        let found = served
            .post(&format!("{path}/try"), with_pure)
            .await
            .expect(200);
        assert_eq!(found["purities"].as_array().map(Vec::len), Some(1));
        let likeliest = tried["candidates"]["likeliest"].as_array().expect("a list");
        assert!(likeliest.iter().any(|one| one["cas"] == "140-10-3"));
        let stated = served.post(&path, asked).await.expect(201);
        assert_eq!(stated["verdict"], tried);
        assert_eq!(stated["outdated"], false);
        // Another takes its place only knowing of it, and says why.
        let mut surer = said("is", &recording);
        served
            .post(&path, surer.clone())
            .await
            .problem(409, "stale");
        surer["supersedes"] = stated["record"].clone();
        surer["result_record"] = stated["record"].clone();
        served
            .post(&path, surer.clone())
            .await
            .problem(409, "stale");
        surer["result_record"] = stated["verdict"]["result_record"].clone();
        served.post(&path, surer.clone()).await.expect(422);
        surer["reason"] = json!("the spectrum came back");
        surer["other_evidence"] = json!("infrared spectrum as that of the reference, folder 3");
        surer["words"] = json!("trans-Cinnamic acid, by mixed melting and infrared spectrum.");
        let now = served.post(&path, surer).await.expect(201);
        assert_eq!(now["id"], stated["id"]);
        assert_eq!(now["reason"], "the spectrum came back");
        assert!(!cautions(&now["verdict"]).contains("no proof"), "{now}");
        let detail = served
            .get(&format!("/api/samples/{sample}"))
            .await
            .expect(200);
        assert_eq!(detail["verdicts"], json!([now]));
        // A newer result: what was said rests on an older one.
        let path = format!("/api/samples/{sample}/determinations");
        served.post(&path, json!({})).await.expect(201);
        let detail = served
            .get(&format!("/api/samples/{sample}"))
            .await
            .expect(200);
        assert_eq!(detail["verdicts"][0]["outdated"], true);
        // Opinions are kept back from a student who has not read.
        let student = served.person("C. First", "student").await;
        let seen = served
            .get_as(&student, &format!("/api/samples/{sample}"))
            .await
            .expect(200);
        assert_eq!(seen["verdicts"], json!([]));
    });
}

#[test]
fn what_speaks_against_a_verdict_is_said() {
    wait(async {
        let served = Served::new().await;
        let (sample, recording) = scene(&served, (95.0, 118.0)).await;
        let path = format!("/api/samples/{sample}/verdicts/try");
        let is = served.post(&path, said("is", &recording)).await.expect(200);
        assert!(cautions(&is).contains("says that it is different"), "{is}");
        assert!(text(&is["words"]).contains("speaks against trans-cinnamic acid"));
        assert_eq!(is["purities"], json!([]));
        let mut other = said("is", &recording);
        other["mixed_meltings"][0]["reference"] = json!("benzil");
        let other = served.post(&path, other).await.expect(200);
        assert!(
            cautions(&other).contains("which the book does not call benzil"),
            "{other}"
        );
        let alone = json!({ "says": "is", "substance": "urea" });
        let alone = served.post(&path, alone).await.expect(200);
        assert!(cautions(&alone).contains("range alone"), "{alone}");
        let far = json!({ "says": "consistent_with", "substance": "vanillin" });
        let far = served.post(&path, far).await.expect(200);
        assert!(cautions(&far).contains("speaks against vanillin"), "{far}");
        assert_eq!(far["purities"], json!([]));
        let not = json!({ "says": "is_not", "substance": "urea" });
        let not = served.post(&path, not).await.expect(200);
        assert!(cautions(&not).contains("excludes urea"), "{not}");
        let not = served
            .post(&path, said("is_not", &recording))
            .await
            .expect(200);
        assert!(!cautions(&not).contains("excludes"), "{not}");
        let own = json!({ "says": "is", "substance": "in-house intermediate 7" });
        let own = served.post(&path, own).await.expect(200);
        assert!(cautions(&own).contains("not in the library"), "{own}");
    });
}

#[test]
fn verdicts_without_ground_are_refused() {
    wait(async {
        let served = Served::new().await;
        let bare = served.sample("U-8").await;
        let nothing = json!({ "says": "open" });
        served
            .post(&format!("/api/samples/{bare}/verdicts"), nothing.clone())
            .await
            .problem(422, "field");
        let (sample, recording) = scene(&served, (95.0, 118.0)).await;
        let path = format!("/api/samples/{sample}/verdicts");
        let mut other = said("is_not", &recording);
        other["mixed_meltings"][0]["tubes"] =
            json!({ "sample_place": 2, "reference_place": 1, "mixture_place": 3 });
        // Three tubes of one sample are no mixed melting, whatever is claimed.
        let alike = [(Some(sample.as_str()), 132.5, 133.2); 3];
        let alike = served.read_load(None, &alike, 1.0).await;
        let mut set = said("is", &recording);
        set["mixed_meltings"][0]["tubes"]["standard_uncertainty_c"] = json!(5.0);
        for wrong in [
            said("is", &alike),
            set,
            json!({ "says": "is" }),
            json!({ "says": "open", "substance": "urea" }),
            other,
        ] {
            served.post(&path, wrong).await.problem(422, "field");
        }
        let late = json!({ "says": "open", "supersedes": sample });
        served.post(&path, late).await.problem(409, "stale");
        let open = served.post(&path, nothing).await.expect(201);
        assert_eq!(open["verdict"]["identity"]["substance"], Value::Null);
    });
}
