//! Reports out of real books, their numbers, and review by a second person. Names, ranges and rates are invented.

use crate::bench_work::days_ago;
use crate::workshop::{Answer, Served, text, wait};
use meltrange_labbook::{Moment, Outcome, Override};
use meltrange_report::model::{Agreement, Chain, Decision, SignOff, ThermometerState};
use meltrange_report::{Report, ReportOptions, report_html, report_pdf};
use meltrange_server::{ReportRequest, pictures_signed, report_of};
use proptest::prelude::*;
use serde_json::{Value, json};

/// A report as the command fills it.
async fn report(served: &Served, sample: &str) -> Report {
    let sample = sample.parse().expect("an id");
    report_of(served.state.book(), sample, &ReportRequest::default())
        .await
        .expect("the book can be read")
}

fn html(report: &Report) -> String {
    report_html(std::slice::from_ref(report), &ReportOptions::default())
        .expect("it can be shown")
        .text
}

fn words(answer: &Answer) -> String {
    String::from_utf8(answer.bytes.clone()).expect("a text")
}

/// What somebody who looks at the sample now would sign.
async fn signature(served: &Served, sample: &str) -> Value {
    let found = served
        .get(&format!("/api/samples/{sample}"))
        .await
        .expect(200);
    json!({
        "sample_record": found["record"], "result_record": found["determinations"][0]["record"],
        "verdict_record": found["verdicts"].get(0).map(|one| one["record"].clone()),
        "meaning": "reviewed_and_approved", "statement": "pictures looked through",
    })
}

/// A sample with a result that an analyst signed off, and its recording.
async fn signed(served: &Served) -> (String, String) {
    let sample = served.sample("U-1").await;
    let recording = served.imported(&sample, true).await;
    let path = format!("/api/samples/{sample}");
    served
        .post(&format!("{path}/determinations"), json!({}))
        .await
        .expect(201);
    let analyst = served.person("S. Drossel", "analyst").await;
    let given = signature(served, &sample).await;
    served
        .post_as(&analyst, &format!("{path}/sign-offs"), given)
        .await
        .expect(201);
    (sample, recording)
}

#[test]
fn a_second_person_signs_and_the_report_is_no_draft_any_more() {
    wait(async {
        let served = Served::new().await;
        let sample = served.sample("U-1").await;
        served.imported(&sample, true).await;
        let path = format!("/api/samples/{sample}");
        served
            .post(&format!("{path}/determinations"), json!({}))
            .await
            .expect(201);
        let signs = format!("{path}/sign-offs");
        let analyst = served.person("S. Drossel", "analyst").await;
        let draft = words(&served.get(&format!("{path}/report.html")).await);
        assert!(draft.contains("Draft"), "{draft}");
        // Whoever measured and stated it cannot, a student cannot.
        let own = served.post(&signs, signature(&served, &sample).await).await;
        assert!(
            own.problem(422, "field")["detail"]
                .to_string()
                .contains("second person")
        );
        let found = served.get_as(&analyst, &path).await.expect(200);
        assert_eq!(found["may_sign"], json!({ "may": true, "because": null }));
        let given = signature(&served, &sample).await;
        let signed = served.post_as(&analyst, &signs, given).await.expect(201);
        assert_eq!(
            (&signed["holds"], &signed["who"]),
            (&json!(true), &json!(analyst))
        );
        let shown = words(&served.get(&format!("{path}/report.html?language=de")).await);
        assert!(
            shown.contains("S. Drossel") && !shown.contains("Entwurf"),
            "{shown}"
        );
        let pdf = served.get(&format!("{path}/report.pdf?paper=letter")).await;
        assert_eq!(
            (pdf.status, pdf.header("content-type")),
            (axum::http::StatusCode::OK, "application/pdf")
        );
        assert!(pdf.bytes.starts_with(b"%PDF-"));
        assert!(pdf.header("content-disposition").contains("U-1.pdf"));
        let said = served.get(&format!("{path}/sentences")).await.expect(200);
        let range = text(&served.get(&path).await.expect(200)["determinations"][0]["range_text"]);
        let number = range.split('–').next().expect("a range").to_owned();
        assert!(text(&said["journal"]).contains(&number), "{said} {range}");
        // Any change makes it a draft again, and says whose signature no longer holds.
        let record = served.get(&path).await.expect(200)["record"].clone();
        let sample_said =
            json!({ "supersedes": record, "sample": { "label": "U-1", "origin": "store" } });
        served.post(&path, sample_said).await.expect(200);
        let found = served.get(&path).await.expect(200);
        assert_eq!(found["sign_offs"][0]["changed_since"], json!(["sample"]));
        let again = report(&served, &sample).await;
        assert!(
            matches!(again.sign_off, SignOff::Outdated { .. }),
            "{:?}",
            again.sign_off
        );
        // Taken back by its giver, with a reason.
        let path = format!("/api/sign-offs/{}/withdraw", text(&signed["id"]));
        let back = json!({ "supersedes": signed["record"], "reason": "" });
        served
            .post_as(&analyst, &path, back)
            .await
            .problem(422, "reason-missing");
        let back = json!({ "supersedes": signed["record"], "reason": "of another tube" });
        let back = served.post_as(&analyst, &path, back).await.expect(200);
        assert_eq!(back["withdrawn_because"], "of another tube");
    });
}

#[test]
fn a_book_that_does_not_verify_has_no_signed_reports() {
    wait(async {
        let served = Served::new().await;
        let (sample, recording) = signed(&served).await;
        let path = format!("/api/samples/{sample}");
        assert_eq!(served.get(&format!("{path}/report.pdf")).await.status, 200);
        // One byte of the temperatures that the reading was made from.
        let log = served
            .folder
            .join("recordings")
            .join(&recording)
            .join("temperature.csv");
        let mut bytes = std::fs::read(&log).expect("there");
        let last = bytes.len() - 2;
        bytes[last] = if bytes[last] == b'1' { b'2' } else { b'1' };
        std::fs::write(&log, bytes).expect("written");
        for ending in ["report.pdf", "report.html", "sentences"] {
            let refused = served.get(&format!("{path}/{ending}")).await;
            let told = refused.problem(409, "not-signed")["detail"].to_string();
            assert!(
                told.contains("does not verify") && told.contains("temperature.csv"),
                "{told}"
            );
        }
        // Another sample of the same book is not concerned.
        let other = served.sample("U-2").await;
        assert_eq!(
            served
                .get(&format!("/api/samples/{other}/report.pdf"))
                .await
                .status,
            200
        );
    });
}

#[test]
fn other_pictures_than_those_that_were_signed_are_not_shown_as_signed() {
    wait(async {
        let served = Served::new().await;
        let (sample, recording) = signed(&served).await;
        let path = format!("/api/samples/{sample}");
        assert_eq!(served.get(&format!("{path}/report.html")).await.status, 200);
        // Pictures of an imported video are made from it and stand outside of the chain: another one in their place.
        let pictures = served
            .folder
            .join("recordings")
            .join(&recording)
            .join("pictures");
        let packed = pictures.join("frames.bin");
        let bytes = std::fs::metadata(&packed).expect("they were made").len();
        std::fs::write(&packed, vec![0; usize::try_from(bytes).expect("small")]).expect("writable");
        let id = sample.parse().expect("an id");
        let before = pictures_signed(served.state.book(), id)
            .await
            .expect("readable");
        let kept = served.state.book().store().sample(id).await.expect("there");
        assert_ne!(kept.sign_offs[0].sign_off.pictures_sha256, before);
        served
            .get(&format!("{path}/report.html"))
            .await
            .problem(409, "not-signed");
    });
}

#[test]
fn reports_say_what_is_out_of_the_ordinary() {
    wait(async {
        let served = Served::new().await;
        // Overdue: checked 200 days ago, and every 90 days is usual.
        let bench = served.bench("Bench A").await;
        let benzil = served
            .standard("benzil", 95.0, json!({ "kind": "not_stated" }))
            .await;
        served.check(&bench, &benzil, &days_ago(200), 94.5).await;
        let sample = served.sample("U-1").await;
        let path = format!("/api/samples/{sample}/determinations");
        // Not agreed, and out of what is required.
        let ends = [(113.4, 114.2), (110.6, 112.4)];
        served.read_runs(Some(&bench), &sample, &ends, 1.0).await;
        let order = json!({ "required": { "from_c": 150.0, "to_c": 151.0, "guard": 0.95 } });
        served.post(&path, order).await.expect(201);
        let found = report(&served, &sample).await;
        let Some(Agreement {
            agreed, within_c, ..
        }) = found.agreement
        else {
            panic!("there is a result");
        };
        assert_eq!((agreed, within_c), (false, 0.5));
        let decision = found.specification.as_ref().map(|one| one.decision);
        assert_eq!(decision, Some(Decision::DoesNotMeet));
        assert_eq!(found.thermometers[0].state, ThermometerState::Overdue);
        assert_eq!(found.chain, Chain::NotVerified);
        let shown = html(&found);
        for part in ["do not agree", "does not meet", "overdue", "200 days ago"] {
            assert!(shown.to_lowercase().contains(part), "{part}: {shown}");
        }
        // Decomposed: a person says so of a tube.
        let other = served.sample("U-2").await;
        served.read_runs(None, &other, &[(230.0, 231.0)], 1.0).await;
        let detail = served
            .get(&format!("/api/samples/{other}"))
            .await
            .expect(200);
        let reading = text(&detail["tubes"][0]["reading"]).parse().expect("an id");
        let moment = Moment {
            time_s: 100.0,
            temperature_c: 230.0,
            standard_uncertainty_c: 0.1,
        };
        let said = Override {
            reading,
            place: 1,
            outcome: Outcome::Decomposed,
            first_liquid: Some(moment),
            last_crystal: None,
        };
        let said = meltrange_labbook::Draft::new(said).because("it turned brown and foamed");
        let who = served.who.parse().expect("an id");
        served
            .state
            .book()
            .append(who, vec![said])
            .await
            .expect("kept");
        let found = report(&served, &other).await;
        assert!(found.result.is_none());
        let shown = html(&found);
        for part in ["decompos", "it turned brown and foamed", "no result"] {
            assert!(shown.to_lowercase().contains(part), "{part}: {shown}");
        }
    });
}

#[test]
fn a_batch_of_forty_samples_is_one_document() {
    wait(async {
        let served = Served::new().await;
        let mut ids = Vec::new();
        for number in 1..=40 {
            let sample = served.sample(&format!("U-{number}")).await;
            if number % 2 == 0 {
                let first_c = 80.0 + f64::from(number);
                let ends = [(first_c, first_c + 0.8), (first_c + 0.1, first_c + 0.9)];
                served.read_runs(None, &sample, &ends, 1.0).await;
                let path = format!("/api/samples/{sample}/determinations");
                served.post(&path, json!({})).await.expect(201);
            }
            ids.push(sample);
        }
        let mut reports = Vec::new();
        for id in &ids {
            reports.push(report(&served, id).await);
        }
        let pdf = report_pdf(&reports, &ReportOptions::default()).expect("it can be made");
        assert!(pdf.pages > 40, "{} pages", pdf.pages);
        let path = format!("/api/report.pdf?samples={}", ids.join(","));
        let answer = served.get(&path).await;
        assert!(answer.bytes.starts_with(b"%PDF-"));
        for wrong in ["", "nothing", &format!("{},{}", ids[0], "x")] {
            let path = format!("/api/report.pdf?samples={wrong}");
            served.get(&path).await.problem(422, "field");
        }
    });
}

#[test]
fn whoever_has_not_decided_yet_gets_no_report() {
    wait(async {
        let served = Served::new().await;
        let sample = served.sample("U-1").await;
        served
            .read_runs(None, &sample, &[(113.4, 114.2)], 1.0)
            .await;
        let student = served.person("C. First", "student").await;
        for ending in ["report.pdf", "report.html", "sentences"] {
            let path = format!("/api/samples/{sample}/{ending}");
            served.get_as(&student, &path).await.problem(403, "role");
            assert_eq!(served.get(&path).await.status, 200);
        }
        let found = served
            .get_as(&student, &format!("/api/samples/{sample}"))
            .await;
        assert_eq!(found.expect(200)["may_sign"]["may"], json!(false));
    });
}

#[test]
fn settings_that_cannot_be_used_are_said() {
    wait(async {
        let served = Served::new().await;
        let sample = served.sample("U-1").await;
        let path = format!("/api/samples/{sample}/report.html");
        let settings = served.folder.join("report.toml");
        std::fs::write(
            &settings,
            "laboratory = \"Imaginary College\"\nlanguage = \"fr\"\n",
        )
        .expect("written");
        let shown = words(&served.get(&path).await);
        assert!(
            shown.contains("Imaginary College") && shown.contains("lang=\"fr\""),
            "{shown}"
        );
        std::fs::write(&settings, "language = \"latin\"\n").expect("written");
        let told = served.get(&path).await.problem(422, "report-settings");
        assert!(told["detail"].to_string().contains("line 1"), "{told}");
    });
}

/// As a report writes it at this many decimals, in English.
fn written(value: f64, decimals: usize) -> String {
    format!("{value:.decimals$}")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    /// Whatever was measured, the report has the very numbers of the record.
    #[test]
    fn every_number_of_a_report_is_the_record_s(
        first in 60.0f64..220.0,
        width in 0.2f64..3.0,
        apart in 0.0f64..0.7,
        rate in 0.5f64..2.0,
        runs in 1usize..4,
    ) {
        wait(async {
            let served = Served::new().await;
            let sample = served.sample("U-1").await;
            let ends: Vec<(f64, f64)> = (0..runs)
                .map(|run| {
                    let first = first + apart * run as f64;
                    (first, first + width)
                })
                .collect();
            served.read_runs(None, &sample, &ends, rate).await;
            let path = format!("/api/samples/{sample}/determinations");
            served.post(&path, json!({})).await.expect(201);
            let found = report(&served, &sample).await;
            let id = sample.parse().expect("an id");
            let kept = served.state.book().store().sample(id).await.expect("there");
            let row = &kept.determinations[0];
            let said = &row.determination;
            let result = found.result.as_ref().expect("there is one");
            assert_eq!(result.range_text.as_deref(), Some(said.range_text.as_str()));
            assert_eq!(result.record.as_deref(), Some(row.record.to_string().as_str()));
            for (shown, kept) in [(result.first_liquid, said.first_liquid), (result.last_crystal, said.last_crystal)] {
                let (shown, kept) = (shown.expect("an end"), kept.expect("an end"));
                assert_eq!(shown.value_c, kept.value_c);
                assert_eq!(shown.standard_uncertainty_c, kept.standard_uncertainty_c);
                assert_eq!(shown.expanded_uncertainty_c, kept.expanded_uncertainty_c);
                assert_eq!(shown.coverage_factor, kept.coverage_factor);
            }
            let agreement = found.agreement.as_ref().expect("there is one");
            assert_eq!((agreement.agreed, agreement.spread_c), (said.agreed, said.spread_c));
            assert_eq!(found.runs.len(), kept.tubes.len());
            let shown = html(&found);
            for tube in &kept.tubes {
                for moment in [tube.tube.read.first_liquid, tube.tube.read.last_crystal] {
                    let moment = moment.expect("it was read");
                    let in_model = found.runs.iter().any(|run| {
                        [&run.first_liquid, &run.last_crystal].into_iter().flatten().any(|one| {
                            one.logged_c == moment.temperature_c
                                && one.time_s == moment.time_s
                        })
                    });
                    assert!(in_model, "{moment:?} is not in the report");
                    // Rounded to where its uncertainty lies, never more than a tenth of a degree off.
                    let on_paper = (1..=2).any(|decimals| {
                        shown.contains(&written(moment.temperature_c, decimals))
                    });
                    assert!(on_paper, "{} is not on the page", moment.temperature_c);
                }
            }
            let rates: Vec<f64> = found.runs.iter().filter_map(|run| run.heating_rate_c_per_min).collect();
            assert!(rates.iter().all(|&one| (one - rate).abs() < 1e-12), "{rates:?}");
        });
    }
}
