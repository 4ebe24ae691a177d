//! Reports as HTML: well formed, self-contained, nobody's text taken for markup.

use crate::determination::*;
use meltrange_report::model::*;
use meltrange_report::*;
use scraper::{Html as Page, Selector};

pub(crate) fn page(reports: &[Report], language: Language) -> (String, Page) {
    let options = ReportOptions {
        language,
        ..ReportOptions::default()
    };
    let found = report_html(reports, &options).expect("a report that can be shown");
    let page = Page::parse_document(&found.text);
    (found.text, page)
}

pub(crate) fn selector(text: &str) -> Selector {
    Selector::parse(text).expect("a selector")
}

fn everything() -> Vec<Report> {
    vec![
        plain(),
        full(),
        decomposed(),
        not_agreed(),
        out_of_specification(),
        out_of_calibration(),
        mixed_melting(),
    ]
}

#[test]
fn it_is_well_formed_in_every_language() {
    for language in Language::ALL {
        let (_, parsed) = page(&everything(), language);
        assert!(
            parsed.errors.is_empty(),
            "{language:?}: {:?}",
            parsed.errors
        );
        let root = parsed.root_element();
        assert_eq!(root.value().attr("lang"), Some(language.tag()));
        let ids: Vec<&str> = parsed
            .select(&selector("[id]"))
            .filter_map(|element| element.value().attr("id"))
            .collect();
        let mut unique = ids.clone();
        unique.sort_unstable();
        unique.dedup();
        assert_eq!(unique.len(), ids.len(), "{ids:?}");
        for named in parsed.select(&selector("[aria-labelledby]")) {
            let name = named
                .value()
                .attr("aria-labelledby")
                .expect("selected by it");
            assert!(ids.contains(&name), "{name}");
        }
    }
}

#[test]
fn nothing_is_fetched_and_nothing_runs() {
    let mut report = full();
    report.letterhead.logo = Some(tube_picture(0.5));
    let (text, parsed) = page(&[report, plain()], Language::French);
    for attribute in [
        "src",
        "href",
        "srcset",
        "data",
        "action",
        "poster",
        "xlink:href",
    ] {
        for element in parsed.select(&selector(&format!("[{}]", attribute.replace(':', "\\:")))) {
            let value = element.value().attr(attribute).expect("selected by it");
            assert!(
                value.starts_with("data:image/") || value.starts_with('#'),
                "{attribute} is {}",
                &value[..value.len().min(60)]
            );
        }
    }
    assert_eq!(
        parsed
            .select(&selector("script, link, iframe, object, embed"))
            .count(),
        0
    );
    // The name of the SVG format is an address that nobody visits.
    let rest = text.replace("http://www.w3.org/2000/svg", "");
    for sign in ["http:", "https:", "@import", "url(//", "javascript:"] {
        assert!(!rest.contains(sign), "{sign}");
    }
    assert!(
        !text.contains(" on")
            || parsed
                .select(&selector("[onload], [onclick], [onerror]"))
                .count()
                == 0
    );
}

#[test]
fn tables_have_headers_with_a_scope_and_pictures_have_words() {
    let (_, parsed) = page(&everything(), Language::Spanish);
    let headers: Vec<_> = parsed.select(&selector("th")).collect();
    assert!(headers.len() > 50);
    for header in headers {
        let scope = header.value().attr("scope");
        assert!(
            matches!(scope, Some("col" | "row" | "colgroup")),
            "{}",
            header.html()
        );
    }
    for picture in parsed.select(&selector("main img")) {
        assert!(
            picture
                .value()
                .attr("alt")
                .is_some_and(|alt| !alt.is_empty())
        );
    }
    for drawing in parsed.select(&selector("svg")) {
        assert_eq!(drawing.value().attr("role"), Some("img"));
        assert!(
            drawing
                .value()
                .attr("aria-label")
                .is_some_and(|label| label.len() > 20)
        );
    }
}

/// Markup of every system that a text passes through.
pub(crate) const HOSTILE: [&str; 9] = [
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "#import \"@preview/evil:0.1.0\"",
    "#{panic()} #read(\"/etc/passwd\")",
    "$x^2$ *bold* _it_ `raw` @ref <label> = heading",
    "{{ 7 * 7 }} {% raw %}",
    "&lt;b&gt; &amp; &#60;",
    "\\ // /* comment",
    "{count} {range}",
];

#[test]
fn texts_of_people_are_shown_as_they_are() {
    for hostile in HOSTILE {
        let mut report = full();
        report.sample.label = hostile.to_owned();
        report.book = hostile.to_owned();
        report.number = hostile.to_owned();
        report.remarks = Some(hostile.to_owned());
        report.letterhead.name = hostile.to_owned();
        report.people[0].name = hostile.to_owned();
        report.runs[0].outcome_because = Some(hostile.to_owned());
        report.runs[0].remarks = vec![RunRemark {
            time_s: None,
            text: hostile.to_owned(),
        }];
        let (text, parsed) = page(&[report], Language::English);
        assert!(parsed.errors.is_empty(), "{hostile}: {:?}", parsed.errors);
        assert_eq!(
            parsed
                .select(&selector("script, main img[onerror], b"))
                .count(),
            0
        );
        for place in [
            "h1 .sample",
            ".letterhead strong",
            ".remarks li",
            ".sections p",
        ] {
            let shown = parsed
                .select(&selector(place))
                .any(|element| element.text().collect::<String>() == hostile);
            assert!(shown, "{hostile} in {place}");
        }
        assert!(!text.contains("<script"));
    }
}

#[test]
fn sentences_to_paste_stand_each_under_a_heading_of_its_own() {
    for language in Language::ALL {
        let options = ReportOptions {
            language,
            ..ReportOptions::default()
        };
        let said = sentences(&full(), &options).expect("signed");
        let (_, parsed) = page(&[full()], language);
        let block = parsed
            .select(&selector(".sentences"))
            .next()
            .expect("a section of sentences");
        let headings = block.select(&selector("h3")).count();
        let pasted: Vec<String> = block
            .select(&selector("h3 + p.paste"))
            .map(|one| one.text().collect())
            .collect();
        assert_eq!(headings, 3, "{language:?}");
        assert_eq!(pasted, [said.journal, said.notebook, said.certificate]);
    }
}

#[test]
fn headings_go_down_one_step_at_a_time() {
    // WCAG 2.2, technique H42/G141: headings show the order; none is skipped.
    for report in everything() {
        let (_, parsed) = page(&[report], Language::English);
        let mut before = 0;
        for heading in parsed.select(&selector("h1, h2, h3, h4")) {
            let level: usize = heading.value().name()[1..].parse().expect("h and a digit");
            assert!(level <= before + 1, "{} after h{before}", heading.html());
            before = level;
        }
    }
}

#[test]
fn it_is_printed_on_the_paper_that_was_asked_for() {
    for (paper, size) in [(Paper::A4, "size: A4;"), (Paper::Letter, "size: letter;")] {
        let options = ReportOptions {
            paper,
            ..ReportOptions::default()
        };
        let text = report_html(&[plain()], &options).expect("a draft").text;
        assert!(text.contains(size), "{paper:?}");
    }
}
