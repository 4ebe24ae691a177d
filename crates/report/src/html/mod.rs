//! Reports as one HTML file: no script, nothing fetched.

use crate::error::ReportError;
use crate::language::{Locale, Words, fill};
use crate::model::Report;
use crate::options::{Paper, ReportOptions};
use crate::pictures::Asset;
use crate::sentences::sentences;
use crate::view::{Fact, Teller};
use crate::warnings::Warning;
use base64::Engine as _;
use minijinja::value::Serde;
use minijinja::{Environment, UndefinedBehavior, Value, context};
use std::collections::BTreeMap;

const PAGE: &str = include_str!("../templates/report.html");
const STYLE: &str = include_str!("../templates/report.css");

/// A page and what is to be known of it.
#[derive(Debug, Clone)]
pub struct Html {
    /// The file.
    pub text: String,
    /// Doubts; the page says the same.
    pub warnings: Vec<Warning>,
}

/// One report, or a batch one below the other with an overview before it, as one HTML file with its
/// pictures inside.
///
/// # Errors
/// [`ReportError`] where a report is signed off and must not be shown as such, or there is none.
pub fn report_html(reports: &[Report], options: &ReportOptions) -> Result<Html, ReportError> {
    let program = &reports.first().ok_or(ReportError::Nothing)?.program;
    let locale = Locale::new(options.language, options.dates);
    let mut assets = Vec::new();
    let mut warnings = Vec::new();
    let mut views = Vec::with_capacity(reports.len());
    let mut pasted = Vec::with_capacity(reports.len());
    for (index, report) in reports.iter().enumerate() {
        let teller = Teller {
            report,
            locale: &locale,
            standing: report.standing()?,
            index,
            assets: &mut assets,
            warnings: &mut warnings,
        };
        views.push(teller.view());
        let said = sentences(report, options)?;
        pasted.push([
            Fact::new(locale.words.for_journal, said.journal),
            Fact::new(locale.words.for_notebook, said.notebook),
            Fact::new(locale.words.for_certificate, said.certificate),
        ]);
    }
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment.add_template("report.html", PAGE)?;
    let words = locale.words;
    let title = match views.as_slice() {
        [one] => format!("{}: {}", words.title, one.sample),
        many => format!(
            "{}: {}",
            words.title,
            fill(words.overview_count, &[("count", &many.len().to_string())])
        ),
    };
    let text = environment.get_template("report.html")?.render(context! {
        lang => locale.language.tag(),
        title => title,
        program => program,
        words => labels(words),
        reports => Value::from(Serde(&views)),
        pasted => Value::from(Serde(&pasted)),
        paper => match options.paper { Paper::A4 => "A4", Paper::Letter => "letter" },
        pictures => pictures(&assets),
        style => Value::from_safe_string(STYLE.to_owned()),
    })?;
    Ok(Html { text, warnings })
}

fn labels(words: &Words) -> Value {
    context! {
        skip => words.skip,
        overview => words.overview,
        report => words.report,
        sample => words.sample,
        melting_range => words.melting_range,
        result => words.result,
        table_of => words.table_of,
        sentences => words.sentences,
    }
}

/// Pictures by path: drawings as elements, all others as data.
fn pictures(assets: &[Asset]) -> BTreeMap<&str, Value> {
    assets
        .iter()
        .map(|asset| {
            let value = if asset.media_type == "image/svg+xml" {
                // Drawn by this crate, every text in it escaped.
                Value::from_safe_string(String::from_utf8_lossy(&asset.bytes).into_owned())
            } else {
                let data = base64::engine::general_purpose::STANDARD.encode(&asset.bytes);
                // Letters of Base64 need no escaping, and a slash escaped is six letters.
                Value::from_safe_string(format!("data:{};base64,{data}", asset.media_type))
            };
            (asset.path.as_str(), value)
        })
        .collect()
}
