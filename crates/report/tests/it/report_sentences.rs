//! Sentences to paste, word for word.

use crate::determination::*;
use meltrange_report::model::*;
use meltrange_report::*;

fn said(report: &Report, language: Language) -> Sentences {
    let options = ReportOptions {
        language,
        ..ReportOptions::default()
    };
    let mut found = sentences(report, &options).expect("a report that can be shown");
    for text in [
        &mut found.journal,
        &mut found.notebook,
        &mut found.certificate,
    ] {
        // Narrow spaces are hard to see in a test.
        *text = text.replace('\u{202f}', " ");
    }
    found
}

#[test]
fn a_paper_gets_one_line_in_every_language() {
    let found = Language::ALL.map(|language| said(&plain(), language).journal);
    assert_eq!(
        found,
        [
            "mp 121.6–122.4 °C (corrected, thermodynamic, 1.02 °C/min)",
            "Schmp. 121,6–122,4 °C (korr., thermodynamisch, 1,02 °C/min)",
            "pf 121,6–122,4 °C (corr., thermodynamique, 1,02 °C/min)",
            "p.f. 121,6–122,4 °C (corr., termodinámico, 1,02 °C/min)",
        ]
    );
}

#[test]
fn what_was_not_corrected_says_so() {
    let mut report = plain();
    let result = report.result.as_mut().expect("plain has one");
    result.convention = Convention::AsLogged;
    assert_eq!(
        said(&report, Language::English).journal,
        "mp 121.6–122.4 °C (uncorrected, 1.02 °C/min)"
    );
    assert!(said(&report, Language::German).notebook.contains("unkorr."));
    assert!(
        said(&report, Language::French)
            .certificate
            .contains("non corrigée")
    );
}

#[test]
fn decomposition_stands_beside_the_temperature() {
    let mut report = plain();
    report.runs[0].outcome = Outcome::Decomposed;
    assert_eq!(
        said(&report, Language::English).journal,
        "mp 121.6–122.4 °C (dec.) (corrected, thermodynamic, 1.02 °C/min)"
    );
    assert_eq!(
        said(&report, Language::German).journal,
        "Schmp. 121,6–122,4 °C (Zers.) (korr., thermodynamisch, 1,02 °C/min)"
    );
}

#[test]
fn a_notebook_gets_runs_uncertainty_and_who() {
    assert_eq!(
        said(&plain(), Language::English).notebook,
        "Sample Unknown 4: m.p. 121.6–122.4 °C (corrected, thermodynamic; heating rate 1.02 °C/min; mean of 2 agreeing runs; U = 0.24 °C at the first liquid, 0.26 °C at the last crystal). Ada Lindqvist, 2026-11-25, draft, not signed off."
    );
    let found = said(&not_agreed(), Language::Spanish).notebook;
    assert!(
        found.contains("media de 2 ensayos no concordantes"),
        "{found}"
    );
}

#[test]
fn a_certificate_gets_convention_requirement_and_signature() {
    assert_eq!(
        said(&full(), Language::English).certificate,
        "Melting range (open capillary; corrected, thermodynamic (zero heating rate)): 121.6–122.4 °C; U = 0.24 °C at the first liquid, 0.26 °C at the last crystal; k = 2.1. Requirement: required 121.0–123.0 °C; meets the requirement. Report EP-2026-041/2, signed off by Bruno Okafor, 2026-11-26."
    );
    let found = said(&out_of_specification(), Language::German).certificate;
    assert!(
        found.contains("gefordert 122,00–124,25 °C; entspricht der Anforderung nicht."),
        "{found}"
    );
    assert!(found.ends_with("Entwurf, nicht freigegeben."), "{found}");
}

#[test]
fn without_a_result_each_says_why() {
    let found = said(&decomposed(), Language::English);
    for text in [found.journal, found.notebook, found.certificate] {
        assert!(text.contains("No result: Both tubes darkened"), "{text}");
    }
}
