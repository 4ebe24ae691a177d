//! Standards, checks, calibrations and results that stand on them. All values are invented.

use crate::workshop::{add, engine_reading, moment, new_book, room, sample, verdict, wait};
use meltrange_labbook::{
    Bench, BenchId, Book, BookError, Calibration, CalibrationPoint, CertificateState, Check,
    Convention, Determination, Digest, Draft, LoadedTube, Outcome, Override, PersonId, Recording,
    RecordingEnd, RecordingSource, Run, RunState, SampleId, Standard, StandardEnd, StandardId,
    TubeRef,
};
use meltrange_metrology as metrology;

fn standard(substance: &str, reference_c: f64) -> Standard {
    Standard {
        substance: substance.into(),
        cas: None,
        reference_c,
        standard_uncertainty_c: Some(0.1),
        convention: metrology::Convention::AtRate {
            rate_c_per_min: Some(1.0),
        },
        end: StandardEnd::LastCrystal,
        lot: Some("7".into()),
        expires: None,
        source: Some("label".into()),
        cautions: None,
        remarks: None,
        retired: false,
    }
}

fn check(standard: StandardId, bench: BenchId, made_on: &str, indicated_c: f64) -> Check {
    Check {
        standard,
        bench,
        made_on: made_on.parse().expect("a date"),
        indicated_c,
        standard_uncertainty_c: None,
        heating_rate_c_per_min: Some(1.0),
        thermometer: None,
        from: None,
        remarks: None,
        void: false,
    }
}

/// A constant correction of 0.5 °C from one check.
fn calibration(
    bench: BenchId,
    check: &meltrange_labbook::Record,
    standard: StandardId,
) -> Calibration {
    Calibration {
        bench,
        thermometer: None,
        in_force_from: "2026-05-02".parse().expect("a date"),
        curve: metrology::CorrectionCurve {
            degree: 0,
            origin_c: 95.0,
            coefficients: vec![0.5],
            standard_uncertainties: Some(vec![0.1]),
            covariance: Some(vec![vec![0.01]]),
            residual_sd_c: None,
            degrees_of_freedom: 0,
            valid_from_c: 94.5,
            valid_to_c: 94.5,
            uncertainty_from: Some(metrology::UncertaintyFrom::Stated),
            read_at_c_per_min: None,
            convention: metrology::Convention::Thermodynamic,
        },
        points: vec![CalibrationPoint {
            check: check.subject.into(),
            standard,
            substance: "benzil".into(),
            reference_c: 95.0,
            reference_u_c: Some(0.1),
            indicated_c: 94.5,
            indicated_u_c: None,
            certificate: CertificateState::NotStated,
            used: true,
            residual_c: Some(0.0),
            suspect: false,
        }],
        degree_because: "asked for".into(),
        remarks: Vec::new(),
        withdrawn: false,
    }
}

struct Room {
    book: Book,
    who: PersonId,
    bench: BenchId,
    benzil: StandardId,
}

async fn begin(place: &std::path::Path) -> Room {
    let (book, who) = new_book(place).await;
    let bench = Bench {
        name: "Bench A".into(),
        places: 3,
        max_c: Some(250.0),
        check_every_days: Some(30),
        ..Bench::default()
    };
    let bench = add(&book, who, bench).await.subject.into();
    let benzil = add(&book, who, standard("benzil", 95.0))
        .await
        .subject
        .into();
    Room {
        book,
        who,
        bench,
        benzil,
    }
}

#[test]
fn thermometers_come_with_all_that_is_known_of_them_in_order() {
    let (room, place) = room();
    wait(async {
        let Room {
            book,
            who,
            bench,
            benzil,
        } = begin(&place).await;
        let urea: StandardId = add(&book, who, standard("urea", 133.0))
            .await
            .subject
            .into();
        add(&book, who, standard("vanillin", 82.0)).await;
        let late = add(&book, who, check(urea, bench, "2026-05-02", 132.4)).await;
        let early = add(&book, who, check(benzil, bench, "2026-05-01", 94.5)).await;
        let made = add(&book, who, calibration(bench, &early, benzil)).await;
        let all = book.store().thermometers().await.expect("readable");
        let names: Vec<&str> = all
            .standards
            .iter()
            .map(|row| row.standard.substance.as_str())
            .collect();
        assert_eq!(names, ["vanillin", "benzil", "urea"], "by reference value");
        let checks: Vec<_> = all.checks.iter().map(|row| row.record).collect();
        assert_eq!(checks, [early.id, late.id], "by day");
        let day = "2026-05-02".parse().expect("a date");
        let found = all.in_force(bench, day, None).expect("one is in force");
        assert_eq!((found.record, found.who), (made.id, who));
        assert!(!all.bench(bench).expect("it is there").used);
        // Withdrawn and void with a reason, as revisions; both stay in the lists.
        let withdrawn = Calibration {
            withdrawn: true,
            ..found.calibration.clone()
        };
        let silent = Draft::revision(found.id, made.id, withdrawn.clone());
        let refused = book.append(who, vec![silent]).await;
        assert!(matches!(
            refused,
            Err(BookError::ReasonMissing {
                what: "calibration"
            })
        ));
        let void = Check {
            void: true,
            ..check(urea, bench, "2026-05-02", 132.4)
        };
        let silent = Draft::revision(late.subject, late.id, void.clone());
        let refused = book.append(who, vec![silent]).await;
        assert!(matches!(
            refused,
            Err(BookError::ReasonMissing { what: "check" })
        ));
        let both = vec![
            Draft::revision(found.id, made.id, withdrawn).because("the lot was mixed up"),
            Draft::revision(late.subject, late.id, void).because("read off the wrong scale"),
        ];
        book.append(who, both).await.expect("kept");
        let all = book.store().thermometers().await.expect("readable");
        assert_eq!(all.in_force(bench, day, None), None);
        assert_eq!(
            all.calibrations[0].reason.as_deref(),
            Some("the lot was mixed up")
        );
        assert!(all.checks[1].check.void);
        let target = room.path().join("exported");
        book.export_tables(&target).await.expect("room");
        let rows = |file: &str| std::fs::read_to_string(target.join(file)).expect("written");
        assert!(
            rows("standards.csv").contains("benzil,,95,0.1,\"at rate, 1 °C/min\",last_crystal")
        );
        let checks = rows("checks.csv");
        assert!(
            checks.contains("132.4,,1,,yes,read off the wrong scale"),
            "{checks}"
        );
        assert!(rows("calibrations.csv").contains("yes,the lot was mixed up,R. Amsel"));
        book.close().await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
    });
}

#[test]
fn numbers_that_cannot_be_are_refused_by_name() {
    let (_room, place) = room();
    wait(async {
        let Room {
            book,
            who,
            bench,
            benzil,
        } = begin(&place).await;
        let good = add(&book, who, check(benzil, bench, "2026-05-01", 250.0)).await;
        let records = book.store().head().await.expect("readable").seq;
        let refused = async |entry: meltrange_labbook::Entry, wanted: &str| {
            let found = book.append(who, vec![Draft::new(entry)]).await;
            match found {
                Err(BookError::Field { field, .. }) => assert_eq!(field, wanted),
                other => panic!("{wanted}: {other:?}"),
            }
        };
        let bad = |change: fn(&mut Standard)| {
            let mut standard = standard("benzil", 95.0);
            change(&mut standard);
            standard.into()
        };
        refused(
            bad(|one| one.reference_c = f64::NAN),
            "standard.reference_c",
        )
        .await;
        refused(bad(|one| one.reference_c = 1001.0), "standard.reference_c").await;
        let field = "standard.standard_uncertainty_c";
        refused(bad(|one| one.standard_uncertainty_c = Some(0.0)), field).await;
        refused(
            bad(|one| one.substance = String::new()),
            "standard.substance",
        )
        .await;
        let at_rate = |one: &mut Standard| {
            one.convention = metrology::Convention::AtRate {
                rate_c_per_min: Some(-1.0),
            };
        };
        refused(bad(at_rate), "standard.convention.rate_c_per_min").await;
        let bad = |change: fn(&mut Check)| {
            let mut check = check(benzil, bench, "2026-05-01", 94.5);
            change(&mut check);
            check.into()
        };
        // What the bench may become, and what any thermometer shows.
        refused(bad(|one| one.indicated_c = 250.1), "check.indicated_c").await;
        refused(
            bad(|one| one.indicated_c = f64::INFINITY),
            "check.indicated_c",
        )
        .await;
        let field = "check.heating_rate_c_per_min";
        refused(bad(|one| one.heating_rate_c_per_min = Some(0.0)), field).await;
        let bad = |change: fn(&mut Calibration)| {
            let mut calibration = calibration(bench, &good, benzil);
            change(&mut calibration);
            calibration.into()
        };
        refused(bad(|one| one.curve.covariance = None), "calibration.curve").await;
        refused(bad(|one| one.curve.degree = 2), "calibration.curve").await;
        refused(bad(|one| one.points[0].used = false), "calibration.points").await;
        for (max_c, days, wanted) in [
            (Some(0.0), None, "bench.max_c"),
            (None, Some(0), "bench.check_every_days"),
            (None, Some(3651), "bench.check_every_days"),
        ] {
            let bench = Bench {
                name: "Bench B".into(),
                places: 1,
                max_c,
                check_every_days: days,
                ..Bench::default()
            };
            refused(bench.into(), wanted).await;
        }
        let nowhere = check(StandardId::new(), bench, "2026-05-01", 94.5);
        let found = book.append(who, vec![Draft::new(nowhere)]).await;
        assert!(matches!(
            found,
            Err(BookError::Unknown {
                what: "standard",
                ..
            })
        ));
        let sample: SampleId = add(&book, who, sample("U-1", "benzil"))
            .await
            .subject
            .into();
        let of_sample = check(
            benzil,
            meltrange_labbook::SubjectId::from(sample).into(),
            "2026-05-01",
            94.5,
        );
        let found = book.append(who, vec![Draft::new(of_sample)]).await;
        assert!(matches!(
            found,
            Err(BookError::Unknown { what: "bench", .. })
        ));
        assert_eq!(
            book.store().head().await.expect("readable").seq,
            records + 1,
            "only the sample was kept"
        );
    });
}

#[test]
fn results_come_with_their_tubes_as_they_hold_and_with_their_runs() {
    let (_room, place) = room();
    wait(async {
        let Room {
            book, who, bench, ..
        } = begin(&place).await;
        let id: SampleId = add(&book, who, sample("U-1", "benzil"))
            .await
            .subject
            .into();
        let mut from = Vec::new();
        for place in [Some(bench), None] {
            let run = Draft::new(Run {
                bench: place,
                load: vec![LoadedTube {
                    place: 1,
                    sample: Some(id),
                }],
                programme: None,
                state: RunState::Ended,
                remarks: None,
            });
            let recording = Draft::new(Recording {
                run: run.subject().into(),
                source: RecordingSource::Camera,
                end: Some(RecordingEnd {
                    manifest: Digest::of(b"{}"),
                    cut: false,
                    frames: 0,
                    start_s: None,
                    end_s: None,
                    lowest_c: None,
                    highest_c: None,
                }),
            });
            let reading = Draft::new(engine_reading(recording.subject().into(), &[id]));
            from.push(TubeRef {
                reading: reading.subject().into(),
                place: 1,
            });
            let drafts = vec![run, recording, reading];
            book.append(who, drafts).await.expect("kept");
        }
        let instead = Override {
            reading: from[0].reading,
            place: 1,
            outcome: Outcome::Melted,
            first_liquid: Some(moment(100.0, 113.0)),
            last_crystal: Some(moment(160.0, 114.0)),
        };
        let draft = Draft::new(instead).because("a droplet before the column moved");
        book.append(who, vec![draft]).await.expect("kept");
        let result = Determination {
            sample: id,
            from: from.clone(),
            agreed: true,
            spread_c: None,
            further_runs_needed: 0,
            convention: Convention::AsLogged,
            first_liquid: None,
            last_crystal: None,
            range_text: "113.2–114.2 °C".into(),
            basis: None,
        };
        let record = add(&book, who, result.clone()).await;
        let found = book.store().results_on(bench).await.expect("readable");
        assert_eq!(found.results.len(), 1);
        let one = &found.results[0];
        assert_eq!((one.record, one.label.as_str()), (record.id, "U-1"));
        assert_eq!(one.determination, result);
        let firsts: Vec<Option<f64>> = one
            .tubes
            .iter()
            .map(|tube| Some(tube.counts.first_liquid?.temperature_c))
            .collect();
        assert_eq!(firsts, [Some(113.0), Some(113.4)], "overridden, as read");
        assert_eq!(one.tubes[0].heating_rate_c_per_min, Some(1.0));
        let places: Vec<Option<BenchId>> = one
            .tubes
            .iter()
            .map(|tube| found.runs[&tube.run].bench)
            .collect();
        assert_eq!(places, [Some(bench), None]);
        let all = book.store().thermometers().await.expect("readable");
        assert!(all.bench(bench).expect("it is there").used);
        let elsewhere = book.store().results_on(BenchId::new()).await;
        assert_eq!(elsewhere.expect("readable").results, []);
    });
}
