//! Reports of samples, and sentences to paste.

use super::downloads::{named, shown};
use crate::extract::{Asked, Looking, Named};
use crate::problem::{Problem, Problems};
use crate::reports::{ReportRequest, Settings, chain_of, holds_any, report_of};
use crate::sample_view::keeps_back;
use crate::sight::{Sight, decide_first};
use crate::state::AppState;
use crate::wire::{Paper, ReportLanguage, Sentences};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use meltrange_labbook::SampleId;
use meltrange_report::model::Chain;
use meltrange_report::{
    Dates, Fonts, Report, ReportError, ReportOptions, report_html, report_pdf, sentences,
};
use serde::Deserialize;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// Samples of one document.
const MOST_SAMPLES: usize = 200;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(report_as_pdf))
        .routes(routes!(report_as_html))
        .routes(routes!(batch_as_pdf))
        .routes(routes!(sentences_of))
}

/// How a report is to look; what is not said is as the book's `report.toml` says.
#[derive(Debug, Clone, Copy, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct LookQuery {
    /// In which language.
    #[param(inline)]
    language: Option<ReportLanguage>,
    /// On which paper.
    #[param(inline)]
    paper: Option<Paper>,
    /// Dates as usual in the language instead of 2026-11-26.
    local_dates: Option<bool>,
}

/// Several samples in one document.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct BatchQuery {
    /// Ids of samples with commas between them, at most 200.
    #[param(max_length = 8000)]
    samples: String,
    /// In which language.
    #[param(inline)]
    language: Option<ReportLanguage>,
    /// On which paper.
    #[param(inline)]
    paper: Option<Paper>,
    /// Dates as usual in the language instead of 2026-11-26.
    local_dates: Option<bool>,
}

/// A report as PDF
///
/// PDF/A of the newest result with all that it rests on; a draft until a second person has signed it off. A
/// report that is signed off is shown only where the book verifies.
#[utoipa::path(get, path = "/api/samples/{id}/report.pdf", tag = "reports", security((), ("person" = [])), params(("id" = String, Path, format = "uuid"), LookQuery), responses((status = 200, content_type = "application/pdf", body = inline(Vec<u8>)), Problems))]
async fn report_as_pdf(
    State(state): State<AppState>,
    looking: Looking,
    Named(id): Named<SampleId>,
    Asked(look): Asked<LookQuery>,
) -> Result<Response, Problem> {
    let (reports, options) = gathered(&state, looking, vec![id], look).await?;
    as_pdf(reports, options).await
}

/// A report as one HTML file that needs no other
#[utoipa::path(get, path = "/api/samples/{id}/report.html", tag = "reports", security((), ("person" = [])), params(("id" = String, Path, format = "uuid"), LookQuery), responses((status = 200, content_type = "text/html", body = String), Problems))]
async fn report_as_html(
    State(state): State<AppState>,
    looking: Looking,
    Named(id): Named<SampleId>,
    Asked(look): Asked<LookQuery>,
) -> Result<Response, Problem> {
    let (reports, options) = gathered(&state, looking, vec![id], look).await?;
    let name = file_name(&reports, "html");
    let made = blocking(move || report_html(&reports, &options)).await?;
    Ok(shown(made.text.into(), "text/html; charset=utf-8", &name))
}

/// Reports of several samples in one PDF, with an overview before them
#[utoipa::path(get, path = "/api/report.pdf", tag = "reports", security((), ("person" = [])), params(BatchQuery), responses((status = 200, content_type = "application/pdf", body = inline(Vec<u8>)), Problems))]
async fn batch_as_pdf(
    State(state): State<AppState>,
    looking: Looking,
    Asked(asked): Asked<BatchQuery>,
) -> Result<Response, Problem> {
    let mut samples: Vec<SampleId> = Vec::new();
    for text in asked.samples.split(',').filter(|text| !text.is_empty()) {
        let id = text
            .parse()
            .map_err(|_| Problem::field("samples", format!("\"{text:.60}\""), "ids of samples"))?;
        samples.push(id);
    }
    if samples.is_empty() || samples.len() > MOST_SAMPLES {
        return Err(Problem::field(
            "samples",
            format!("{} samples", samples.len()),
            format!("1 to {MOST_SAMPLES} samples"),
        ));
    }
    let look = LookQuery {
        language: asked.language,
        paper: asked.paper,
        local_dates: asked.local_dates,
    };
    let (reports, options) = gathered(&state, looking, samples, look).await?;
    as_pdf(reports, options).await
}

/// Sentences to paste: for a paper, a notebook and a certificate
#[utoipa::path(get, path = "/api/samples/{id}/sentences", tag = "reports", security((), ("person" = [])), params(("id" = String, Path, format = "uuid"), LookQuery), responses((status = 200, body = Sentences), Problems))]
async fn sentences_of(
    State(state): State<AppState>,
    looking: Looking,
    Named(id): Named<SampleId>,
    Asked(look): Asked<LookQuery>,
) -> Result<Json<Sentences>, Problem> {
    let (reports, options) = gathered(&state, looking, vec![id], look).await?;
    let report = reports
        .first()
        .ok_or_else(|| refused(&ReportError::Nothing))?;
    let said = sentences(report, &options).map_err(|error| refused(&error))?;
    Ok(Json(Sentences {
        journal: said.journal,
        notebook: said.notebook,
        certificate: said.certificate,
    }))
}

/// Reports of these samples, and how they are to look.
async fn gathered(
    state: &AppState,
    looking: Looking,
    samples: Vec<SampleId>,
    look: LookQuery,
) -> Result<(Vec<Report>, ReportOptions), Problem> {
    let settings = Settings::in_book(state.folder()).map_err(|error| {
        Problem::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "report-settings",
            "The settings of reports cannot be used",
            error.to_string(),
        )
    })?;
    let sight = Sight::of(looking, None);
    for &sample in &samples {
        let found = state.book().store().sample(sample).await?;
        if keeps_back(state, sight, &found.tubes).await? {
            return Err(decide_first());
        }
        for tube in &found.tubes {
            sight.remember(state, tube.recording);
        }
    }
    let chain = if holds_any(state.book(), &samples).await? {
        chain_of(state.book(), &samples).await?
    } else {
        Chain::NotVerified
    };
    let request = ReportRequest {
        letterhead: settings.letterhead,
        chain,
    };
    let mut reports = Vec::with_capacity(samples.len());
    for sample in samples {
        reports.push(report_of(state.book(), sample, &request).await?);
    }
    let options = ReportOptions {
        language: look.language.map_or(settings.language, Into::into),
        dates: match look.local_dates {
            Some(true) => Dates::Local,
            Some(false) => Dates::Iso,
            None => settings.dates,
        },
        paper: look.paper.map_or(settings.paper, Into::into),
        fonts: Fonts::with_usual_folders(),
    };
    Ok((reports, options))
}

async fn as_pdf(reports: Vec<Report>, options: ReportOptions) -> Result<Response, Problem> {
    let name = file_name(&reports, "pdf");
    let made = blocking(move || report_pdf(&reports, &options)).await?;
    Ok(shown(made.bytes.into(), "application/pdf", &name))
}

async fn blocking<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, ReportError> + Send + 'static,
) -> Result<T, Problem> {
    tokio::task::spawn_blocking(work)
        .await
        .map_err(|error| Problem::internal(&error))?
        .map_err(|error| refused(&error))
}

fn refused(error: &ReportError) -> Problem {
    match error {
        ReportError::Standing(why) => Problem::new(
            StatusCode::CONFLICT,
            "not-signed",
            "It cannot be shown as signed off",
            why.to_string(),
        ),
        other => Problem::internal(other),
    }
}

/// By the sample's label, in letters that every system takes.
fn file_name(reports: &[Report], ending: &str) -> String {
    let stem = match reports {
        [one] => one.sample.label.clone(),
        _ => format!("{} samples", reports.len()),
    };
    named(&stem, ending)
}
