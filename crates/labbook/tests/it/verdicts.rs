//! What samples are said to be: kept, said anew with a reason, verified, exported.

use crate::workshop::{
    add, engine_reading, moment, new_book, recorded, room, sample, verdict, wait,
};
use meltrange_labbook::{
    Book, BookError, Candidate, CandidateList, Convention, Determination, DeterminationId, Draft,
    Finding, Identified, Identity, MixedMelting, MixedVerdict, NamedSubstance, Outcome, Override,
    PersonId, Place, Purity, PurityMethod, ReadingId, RecordId, RecordingId, SampleId,
    SampleVerdict, TubeRef,
};

fn acetanilide() -> NamedSubstance {
    NamedSubstance {
        name: "acetanilide".into(),
        cas: "103-84-4".into(),
    }
}

/// A sample with a recording of three tubes, a reading and a result.
struct Scene {
    book: Book,
    who: PersonId,
    sample: SampleId,
    recording: RecordingId,
    reading: ReadingId,
    result: (DeterminationId, RecordId),
}

async fn scene(place: &std::path::Path) -> Scene {
    let (book, who) = new_book(place).await;
    let mut samples: Vec<SampleId> = Vec::new();
    for label in ["U-1", "reference", "U-1 with reference"] {
        let kept = add(&book, who, sample(label, "acetanilide")).await;
        samples.push(kept.subject.into());
    }
    let recording = recorded(&book, who, &samples).await;
    let reading = add(&book, who, engine_reading(recording, &samples)).await;
    let from = vec![TubeRef {
        reading: reading.subject.into(),
        place: 1,
    }];
    let result = Determination {
        sample: samples[0],
        from,
        agreed: false,
        spread_c: None,
        further_runs_needed: 1,
        convention: Convention::AsLogged,
        first_liquid: None,
        last_crystal: None,
        range_text: "113.4–114.3 °C (uncorrected)".into(),
        basis: None,
    };
    let result = add(&book, who, result).await;
    Scene {
        sample: samples[0],
        recording,
        reading: reading.subject.into(),
        result: (result.subject.into(), result.id),
        book,
        who,
    }
}

impl Scene {
    fn says(&self) -> SampleVerdict {
        let tube = |place| TubeRef {
            reading: self.reading,
            place,
        };
        SampleVerdict {
            sample: self.sample,
            determination: self.result.0,
            result_record: self.result.1,
            range_text: "113.4–114.3 °C (uncorrected)".into(),
            identity: Identity {
                says: Identified::ConsistentWith,
                substance: Some(acetanilide()),
            },
            candidates: CandidateList {
                among: 8429,
                own_list_only: false,
                likeliest: vec![Candidate {
                    substance: acetanilide(),
                    probability: 0.02,
                }],
                credible_95: 640,
                unlisted_probability: 0.05,
            },
            mixed_meltings: vec![MixedMelting {
                recording: self.recording,
                reference: acetanilide(),
                sample_tube: tube(1),
                reference_tube: tube(2),
                mixture_tube: tube(3),
                sample_c: [113.4, 114.3],
                reference_c: [113.4, 114.3],
                mixture_c: [113.4, 114.3],
                standard_uncertainty_c: 0.2,
                verdict: MixedVerdict::ConsistentWithSame,
                words: "not depressed: consistent with the same, not proof".into(),
            }],
            purities: vec![Purity {
                method: PurityMethod::Width,
                impurity_mole_fraction: 0.002,
                standard_uncertainty: 0.002,
                interval_95: [0.0, 0.008],
                pure_melting_c: 114.5,
                hfus_j_per_mol: 21_650.0,
                hfus_source: "a paper".into(),
            }],
            other_evidence: Some("infrared spectrum of the same day, folder 3".into()),
            cautions: vec!["a range alone does not identify".into()],
            words: "Consistent with acetanilide.".into(),
        }
    }
}

#[test]
fn a_verdict_is_kept_said_anew_and_verified() {
    let (room, place) = room();
    wait(async {
        let scene = scene(&place).await;
        let Scene { book, who, .. } = &scene;
        let first = add(book, *who, scene.says()).await;
        let open = SampleVerdict {
            identity: Identity {
                says: Identified::Open,
                substance: None,
            },
            words: "Nothing can be said of it yet.".into(),
            ..scene.says()
        };
        let anew = Draft::revision(first.subject, first.id, open.clone());
        let refused = book.append(*who, vec![anew.clone()]).await;
        assert!(
            matches!(refused, Err(BookError::ReasonMissing { .. })),
            "{refused:?}"
        );
        let anew = anew.because("the reference was of another lot");
        book.append(*who, vec![anew.clone()]).await.expect("kept");
        // Somebody who looked before cannot overwrite it.
        let stale = book.append(*who, vec![anew]).await;
        assert!(matches!(stale, Err(BookError::Stale { .. })), "{stale:?}");
        let found = book.store().sample(scene.sample).await.expect("there");
        assert_eq!(found.verdicts.len(), 1);
        assert_eq!(found.verdicts[0].outdated, []);
        assert_eq!(found.verdicts[0].verdict, open);
        assert_eq!(
            found.verdicts[0].reason.as_deref(),
            Some("the reference was of another lot")
        );
        let seen_otherwise = Override {
            reading: scene.reading,
            place: 3,
            outcome: Outcome::Melted,
            first_liquid: Some(moment(90.0, 95.0)),
            last_crystal: Some(moment(160.0, 110.0)),
        };
        let seen_otherwise = Draft::new(seen_otherwise).because("it had begun before");
        book.append(*who, vec![seen_otherwise]).await.expect("kept");
        let found = book.store().sample(scene.sample).await.expect("there");
        let changed: Vec<u8> = found.verdicts[0]
            .outdated
            .iter()
            .map(|tube| tube.place)
            .collect();
        assert_eq!(changed, [3]);
        let out = room.path().join("out");
        book.export_tables(&out).await.expect("there is room");
        let table = std::fs::read_to_string(out.join("verdicts.csv")).expect("written");
        assert!(
            table.contains("Nothing can be said of it yet.") && table.contains("R. Amsel"),
            "{table}"
        );
        scene.book.close().await;
        let found = verdict(&place).await;
        // The recording here is one without files.
        let in_records = |finding: &&Finding| !matches!(finding.place, Place::Recording { .. });
        let findings: Vec<&Finding> = found.findings.iter().filter(in_records).collect();
        assert!(findings.is_empty(), "{findings:?}");
    });
}

#[test]
fn verdicts_that_cannot_be_are_refused() {
    let (_room, place) = room();
    wait(async {
        let scene = scene(&place).await;
        type Change = fn(&mut SampleVerdict);
        let wrong: [(&str, Change); 6] = [
            ("identity", |said| said.identity.substance = None),
            ("words", |said| said.words = "  ".into()),
            ("probability", |said| {
                said.candidates.likeliest[0].probability = 1.5;
            }),
            ("place", |said| {
                said.mixed_meltings[0].mixture_tube.place = 4
            }),
            ("interval", |said| {
                said.purities[0].interval_95 = [0.0, f64::NAN]
            }),
            ("mixed_melting", |said| {
                said.mixed_meltings[0].mixture_c[0] = f64::INFINITY;
            }),
        ];
        for (field, change) in wrong {
            let mut said = scene.says();
            change(&mut said);
            let refused = scene.book.append(scene.who, vec![Draft::new(said)]).await;
            let told = refused.expect_err("it cannot be").to_string();
            assert!(told.contains(field), "{field}: {told}");
        }
        let mut backwards = scene.says();
        backwards.purities[0].interval_95 = [0.02, 0.01];
        let mut other_place = scene.says();
        other_place.mixed_meltings[0].recording =
            recorded(&scene.book, scene.who, &[scene.sample]).await;
        let mut other_record = scene.says();
        other_record.result_record = RecordId::new();
        for said in [backwards, other_place, other_record] {
            let refused = scene.book.append(scene.who, vec![Draft::new(said)]).await;
            assert!(refused.is_err(), "{refused:?}");
        }
        // One verdict of a sample.
        add(&scene.book, scene.who, scene.says()).await;
        let second = Draft::new(scene.says());
        let refused = scene.book.append(scene.who, vec![second]).await;
        let told = refused.expect_err("there is one").to_string();
        assert!(told.contains("one verdict of a sample"), "{told}");
        let mut nowhere = scene.says();
        nowhere.determination = DeterminationId::new();
        let refused = scene
            .book
            .append(scene.who, vec![Draft::new(nowhere)])
            .await;
        assert!(refused.is_err(), "{refused:?}");
    });
}
