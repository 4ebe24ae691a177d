//! Invented determinations of an evening practical: 2-naphthol and its neighbours on the shelf.

use meltrange_report::Report;
use meltrange_report::model::*;

pub(crate) fn stamp(text: &str) -> Stamp {
    text.parse().expect("RFC 3339")
}

/// A picture of a glass tube with powder in it, `melted` of it clear.
pub(crate) fn tube_picture(melted: f64) -> Vec<u8> {
    const WIDTH: u16 = 120;
    const HEIGHT: u16 = 160;
    let mut pixels = Vec::new();
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            let inside = (40..80).contains(&x) && y > 60;
            let solid = inside && f64::from(y - 61) / 99.0 > melted;
            let grain = (u32::from(x) * 7919 + u32::from(y) * 104_729) % 61;
            let luma = match (inside, solid) {
                (_, true) => 180 + grain as u8,
                (true, false) => 70,
                (false, _) => 35 + (x / 8) as u8,
            };
            pixels.push(luma);
        }
    }
    let mut file = Vec::new();
    jpeg_encoder::Encoder::new(&mut file, 85)
        .encode(&pixels, WIDTH, HEIGHT, jpeg_encoder::ColorType::Luma)
        .expect("an encodable picture");
    file
}

/// A view of three tubes with powder, wider than high.
pub(crate) fn bench_picture() -> Vec<u8> {
    const WIDTH: u16 = 320;
    const HEIGHT: u16 = 240;
    let mut pixels = Vec::new();
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            let across = (f64::from(x) / f64::from(WIDTH) - 0.1) % 0.3;
            let glass = x > 32 && (0.05..0.15).contains(&across) && (40..226).contains(&y);
            let powder = glass && (0.07..0.13).contains(&across) && y > 140 && y < 220;
            let grain = (u32::from(x) * 7919 + u32::from(y) * 104_729) % 61;
            pixels.push(match (powder, glass) {
                (true, _) => 180 + grain as u8,
                (false, true) => 90,
                (false, false) => 30,
            });
        }
    }
    let mut file = Vec::new();
    jpeg_encoder::Encoder::new(&mut file, 85)
        .encode(&pixels, WIDTH, HEIGHT, jpeg_encoder::ColorType::Luma)
        .expect("an encodable picture");
    file
}

fn moment(time_s: f64, logged_c: f64, melted: f64) -> Moment {
    Moment {
        time_s,
        logged_c,
        standard_uncertainty_c: 0.061,
        corrected_c: Some(logged_c + 0.37),
        corrected_uncertainty_c: Some(0.118),
        picture: Frame::Shown {
            file: tube_picture(melted),
            time_s: time_s + 0.4,
            logged_c: logged_c + 0.007,
            crop: None,
        },
    }
}

/// A melting curve from `first_c` to `last_c` at 1 °C/min, a point a second.
pub(crate) fn curve(first_c: f64, last_c: f64) -> Vec<CurvePoint> {
    (0..480)
        .map(|second| {
            let temperature_c = first_c - 4.0 + f64::from(second) / 60.0;
            let along = (temperature_c - first_c) / (last_c - first_c);
            let melted = along.clamp(0.0, 1.0);
            CurvePoint {
                time_s: f64::from(second),
                temperature_c,
                melted_fraction: melted * melted * (3.0 - 2.0 * melted),
            }
        })
        .collect()
}

/// One tube that melted from `first_c` to `last_c` as logged.
pub(crate) fn run(index: u8, first_c: f64, last_c: f64) -> Run {
    Run {
        name: Some(format!("EP-{index}")),
        began: Some(stamp(&format!(
            "2026-11-25T18:{:02}:00+01:00",
            10 + 15 * index
        ))),
        bench: Some("Bench 2".to_owned()),
        place: index,
        programme: vec![
            Leg {
                kind: LegKind::Approach,
                to_c: Some(112.0),
                rate_c_per_min: Some(10.0),
                hold_s: None,
            },
            Leg {
                kind: LegKind::Soak,
                to_c: Some(112.0),
                rate_c_per_min: None,
                hold_s: Some(120.0),
            },
            Leg {
                kind: LegKind::Scan,
                to_c: Some(126.0),
                rate_c_per_min: Some(1.0),
                hold_s: None,
            },
        ],
        heating_rate_c_per_min: Some(1.0 + 0.013 * f64::from(index)),
        outcome: Outcome::Melted,
        outcome_because: None,
        first_liquid: Some(moment(240.0, first_c, 0.02)),
        last_crystal: Some(moment(240.0 + 60.0 * (last_c - first_c), last_c, 0.99)),
        read_by: Some("the program, confirmed by Ada Lindqvist".to_owned()),
        curve: curve(first_c, last_c),
        used: true,
        unused_because: None,
        remarks: Vec::new(),
        recording_digest: Some(format!("{index:x}").repeat(64)),
    }
}

/// Two runs that agree, corrected, in order.
pub(crate) fn plain() -> Report {
    Report {
        number: "EP-2026-041/1".to_owned(),
        made: stamp("2026-11-25T19:30:00+01:00"),
        program: "meltrange 0.1.0".to_owned(),
        book: "Evening practical, winter term".to_owned(),
        letterhead: Letterhead {
            name: "Brackwater College, Department of Chemistry".to_owned(),
            lines: vec![
                "Teaching laboratory 3".to_owned(),
                "Quayside 4, Brackwater".to_owned(),
            ],
            logo: None,
        },
        people: vec![
            Contributor {
                name: "Ada Lindqvist".to_owned(),
                part: Part::Measured,
            },
            Contributor {
                name: "Ada Lindqvist".to_owned(),
                part: Part::Determined,
            },
        ],
        sample: Sample {
            label: "Unknown 4".to_owned(),
            origin: Some("shelf of unknowns, drawer C".to_owned()),
            expected_substance: Some("2-naphthol".to_owned()),
            hazards: Some("harmful by inhalation; dust".to_owned()),
            dried: Some(true),
            ground: Some(true),
            column_height_mm: Some(2.5),
            solvent: Some("aqueous ethanol".to_owned()),
            remarks: None,
        },
        result: Some(MeltingResult {
            convention: Convention::Thermodynamic,
            first_liquid: Some(End {
                value_c: 121.637,
                standard_uncertainty_c: 0.118,
                expanded_uncertainty_c: 0.243,
                coverage_factor: 2.06,
                coverage: Some(0.95),
            }),
            last_crystal: Some(End {
                value_c: 122.412,
                standard_uncertainty_c: 0.127,
                expanded_uncertainty_c: 0.262,
                coverage_factor: 2.06,
                coverage: Some(0.95),
            }),
            range_text: Some("121.6–122.4 °C".to_owned()),
            heating_rate_c_per_min: Some(1.02),
            record: Some("0198f6a2-7c11-7d60-9a1c-5f0a6e1c2b3d".to_owned()),
            stated: Some(stamp("2026-11-25T19:12:00+01:00")),
            reason: None,
        }),
        no_result_because: None,
        agreement: Some(Agreement {
            agreed: true,
            within_c: 0.5,
            spread_c: Some(0.14),
            runs_used: 2,
            further_runs_needed: 0,
            left_out: Vec::new(),
        }),
        runs: vec![run(1, 121.2, 122.0), run(2, 121.34, 122.09)],
        thermometers: vec![Thermometer {
            name: "Pt100 no. 7".to_owned(),
            bench: Some("Bench 2".to_owned()),
            state: ThermometerState::InOrder,
            state_because: Vec::new(),
            calibrated_from: Some(jiff::civil::date(2026, 10, 1)),
            last_check: Some(jiff::civil::date(2026, 11, 20)),
            next_check: Some(jiff::civil::date(2026, 12, 20)),
            convention: Some(Convention::Thermodynamic),
            standards: vec!["benzil".to_owned(), "urea".to_owned()],
            record: Some("0198e000-1111-7222-8333-444455556666".to_owned()),
        }],
        specification: None,
        candidates: None,
        mixed_meltings: Vec::new(),
        purity: None,
        verdict: None,
        deviations: Vec::new(),
        remarks: None,
        sign_off: SignOff::Draft,
        chain: Chain::Verified {
            when: stamp("2026-11-25T19:29:00+01:00"),
            records: 412,
            head: "9f".repeat(32),
        },
    }
}

/// The same with everything that can be said, three runs, signed.
pub(crate) fn full() -> Report {
    let mut report = plain();
    report.number = "EP-2026-041/2".to_owned();
    report.runs.push(run(3, 121.28, 122.05));
    report.specification = Some(Specification {
        source: Some("order 7, delivered lot".to_owned()),
        from_c: 121.0,
        to_c: 123.0,
        guard: Some(0.95),
        guard_lower_c: 0.214,
        guard_upper_c: 0.233,
        decision: Decision::Meets,
        probability_lower: Some(0.9991),
        probability_upper: Some(0.9874),
    });
    report.candidates = Some(Candidates {
        list: "shelf of unknowns, 24 substances".to_owned(),
        shown: vec![
            Candidate {
                name: "2-naphthol".to_owned(),
                from_c: 121.5,
                to_c: Some(123.0),
                probability: 0.812,
            },
            Candidate {
                name: "benzoic acid".to_owned(),
                from_c: 122.4,
                to_c: None,
                probability: 0.113,
            },
        ],
        others: 0.034,
        others_count: 22,
        not_in_list: 0.041,
    });
    report.mixed_meltings = vec![MixedMelting {
        reference: "2-naphthol, reference bottle".to_owned(),
        reference_mass_fraction: Some(0.5),
        first_liquid_c: Some(121.5),
        last_crystal_c: Some(122.3),
        depression_c: Some(0.11),
        depression_uncertainty_c: Some(0.17),
        outcome: MixedOutcome::Same,
        remarks: None,
    }];
    report.purity = Some(Purity {
        mole_fraction: Some(0.9923),
        standard_uncertainty: Some(0.0014),
        method: Some("from the melting curve (van ’t Hoff)".to_owned()),
        limits: vec!["Holds for impurities that dissolve in the melt alone.".to_owned()],
    });
    report.verdict = Some(Verdict {
        text: "2-naphthol, pure enough for the coupling".to_owned(),
        by: Some("Ada Lindqvist".to_owned()),
    });
    report.remarks = Some("Tube 2 was tapped once during the soak.".to_owned());
    report.sign_off = SignOff::Reviewed {
        by: "Bruno Okafor".to_owned(),
        when: stamp("2026-11-26T09:05:00+01:00"),
        meaning: Meaning::ReviewedAndApproved,
        statement: Some("Frames compared with the moments.".to_owned()),
        record: Some("0198f900-aaaa-7bbb-8ccc-ddddeeeeffff".to_owned()),
    };
    report
}

pub(crate) fn decomposed() -> Report {
    let mut report = plain();
    report.number = "EP-2026-042/1".to_owned();
    report.sample.label = "Unknown 9".to_owned();
    report.result = None;
    report.no_result_because =
        Some("Both tubes darkened and gave off gas before anything turned clear.".to_owned());
    report.agreement = None;
    for run in &mut report.runs {
        run.outcome = Outcome::Decomposed;
        run.outcome_because = Some("darkening from 118.4 °C".to_owned());
        run.first_liquid = None;
        run.last_crystal = None;
        run.used = false;
        run.unused_because = Some("decomposed".to_owned());
        run.remarks = vec![RunRemark {
            time_s: Some(204.6),
            text: "darkening".to_owned(),
        }];
    }
    report
}

pub(crate) fn not_agreed() -> Report {
    let mut report = plain();
    report.number = "EP-2026-043/1".to_owned();
    report.agreement = Some(Agreement {
        agreed: false,
        within_c: 0.5,
        spread_c: Some(0.83),
        runs_used: 2,
        further_runs_needed: 1,
        left_out: vec!["run 3: column too tall".to_owned()],
    });
    report
}

pub(crate) fn out_of_specification() -> Report {
    let mut report = plain();
    report.number = "EP-2026-044/1".to_owned();
    report.specification = Some(Specification {
        source: None,
        from_c: 122.0,
        to_c: 124.25,
        guard: None,
        guard_lower_c: 0.0,
        guard_upper_c: 0.0,
        decision: Decision::DoesNotMeet,
        probability_lower: Some(0.002),
        probability_upper: Some(1.0),
    });
    report
}

pub(crate) fn out_of_calibration() -> Report {
    let mut report = plain();
    report.number = "EP-2026-045/1".to_owned();
    report.thermometers[0].state = ThermometerState::Overdue;
    report.thermometers[0].next_check = Some(jiff::civil::date(2026, 6, 20));
    report.thermometers[0].state_because = vec!["158 days past its date".to_owned()];
    report.deviations = vec!["Measured with a thermometer that was past its date.".to_owned()];
    report
}

pub(crate) fn mixed_melting() -> Report {
    let mut report = plain();
    report.number = "EP-2026-046/1".to_owned();
    report.mixed_meltings = vec![MixedMelting {
        reference: "benzoic acid".to_owned(),
        reference_mass_fraction: Some(0.48),
        first_liquid_c: Some(98.2),
        last_crystal_c: Some(110.7),
        depression_c: Some(11.73),
        depression_uncertainty_c: Some(0.31),
        outcome: MixedOutcome::Different,
        remarks: Some("Ground together for a minute.".to_owned()),
    }];
    report
}

/// A practical: forty samples, every third signed, each with two runs.
pub(crate) fn batch(count: usize) -> Vec<Report> {
    (0..count)
        .map(|index| {
            let mut report = if index % 3 == 0 { full() } else { plain() };
            report.runs.truncate(2);
            report.number = format!("EP-2026-{:03}/1", 100 + index);
            report.sample.label = format!("Unknown {}", index + 1);
            report
        })
        .collect()
}
