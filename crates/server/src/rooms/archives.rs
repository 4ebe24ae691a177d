//! What leaves the book in open formats, and samples that come from another book.

use super::downloads::{Leaving, attached, named, worked};
use crate::extract::{Acting, Asked, Looking, Named};
use crate::problem::{Problem, Problems};
use crate::reports::{ReportRequest, report_of};
use crate::sample_view::keeps_back;
use crate::sight::{Sight, decide_first};
use crate::state::AppState;
use crate::wire::BroughtIn;
use axum::Json;
use axum::body::Body;
use axum::extract::{DefaultBodyLimit, Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use meltrange_archive::{
    CalendarOrder, ExportOrder, bring_in, calendar, export_book, export_film, export_sample,
    export_table,
};
use meltrange_labbook::{Role, SampleId};
use meltrange_planning::retime;
use meltrange_report::model::Run;
use meltrange_report::{Language, curves_csv, curves_png, curves_svg};
use serde::Deserialize;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// Width of a drawn curve [px]: sharp at half a page.
const CURVE_WIDTH_PX: u32 = 1240;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(book_archive))
        .routes(routes!(sample_archive))
        .routes(routes!(table))
        .routes(routes!(film))
        .routes(routes!(curves_as_svg))
        .routes(routes!(curves_as_png))
        .routes(routes!(curves_as_csv))
        .routes(routes!(session_calendar))
        .merge(
            OpenApiRouter::new()
                .routes(routes!(take_in))
                // Its own limit holds, piece by piece.
                .layer(DefaultBodyLimit::disable()),
        )
}

/// The whole book is for those who may see all of it.
fn all_seen(looking: Looking) -> Result<(), Problem> {
    match looking.0 {
        Some(who) if who.role == Role::Student => Err(decide_first()),
        _ => Ok(()),
    }
}

async fn sample_seen(state: &AppState, looking: Looking, id: SampleId) -> Result<(), Problem> {
    let found = state.book().store().sample(id).await?;
    let sight = Sight::of(looking, None);
    if keeps_back(state, sight, &found.tubes).await? {
        return Err(decide_first());
    }
    for tube in &found.tubes {
        sight.remember(state, tube.recording);
    }
    Ok(())
}

/// The whole book as an archive
///
/// An RO-Crate in a zip file: records with their hashes, tables, pictures and videos as captured. `meltrange book restore` makes
/// the same book of it again.
#[utoipa::path(get, path = "/api/book/archive.zip", tag = "reports", security((), ("person" = [])), responses((status = 200, content_type = "application/zip", body = inline(Vec<u8>)), Problems))]
async fn book_archive(
    State(state): State<AppState>,
    looking: Looking,
) -> Result<Response, Problem> {
    all_seen(looking)?;
    let leaving = Leaving::of(&state)?;
    let out = leaving.file("book.zip");
    let order = ExportOrder::to(&out);
    worked(state, move |state, here| {
        here.block_on(export_book(state.book(), &order, &mut |_| ()))
            .map(|_| ())
    })
    .await?;
    leaving
        .sent("book.zip", "book.zip", "application/zip")
        .await
}

/// One sample with all that concerns it, as an archive
#[utoipa::path(get, path = "/api/samples/{id}/archive.zip", tag = "reports", security((), ("person" = [])), params(("id" = String, Path, format = "uuid")), responses((status = 200, content_type = "application/zip", body = inline(Vec<u8>)), Problems))]
async fn sample_archive(
    State(state): State<AppState>,
    looking: Looking,
    Named(id): Named<SampleId>,
) -> Result<Response, Problem> {
    // With it go readings of whatever its thermometer was checked with.
    all_seen(looking)?;
    sample_seen(&state, looking, id).await?;
    let label = state.book().store().sample(id).await?.sample.label;
    let leaving = Leaving::of(&state)?;
    let order = ExportOrder::to(leaving.file("sample.zip"));
    worked(state, move |state, here| {
        here.block_on(export_sample(state.book(), id, &order, &mut |_| ()))
            .map(|_| ())
    })
    .await?;
    let name = named(&label, "zip");
    leaving.sent("sample.zip", &name, "application/zip").await
}

/// One table of the book, as CSV or Parquet
///
/// `name` is samples, recordings, readings, determinations, verdicts, sign_offs, past_results, people, events and others with `.csv` or
/// `.parquet` behind it.
#[utoipa::path(get, path = "/api/book/tables/{name}", tag = "reports", security((), ("person" = [])), params(("name" = String, Path)), responses((status = 200, content_type = "application/octet-stream", body = inline(Vec<u8>)), Problems))]
async fn table(
    State(state): State<AppState>,
    looking: Looking,
    Path(name): Path<String>,
) -> Result<Response, Problem> {
    all_seen(looking)?;
    let unknown = || {
        Problem::unknown(
            "there is no such table; expected a name such as samples.csv or readings.parquet",
        )
    };
    let (stem, ending) = name.rsplit_once('.').ok_or_else(unknown)?;
    let kind = match ending {
        "csv" => "text/csv; charset=utf-8",
        "parquet" => "application/vnd.apache.parquet",
        _ => return Err(unknown()),
    };
    if stem.is_empty()
        || !stem
            .bytes()
            .all(|byte| byte.is_ascii_lowercase() || byte == b'_')
    {
        return Err(unknown());
    }
    let leaving = Leaving::of(&state)?;
    let (out, stem) = (leaving.file(&name), stem.to_owned());
    worked(state, move |state, here| {
        here.block_on(export_table(state.book(), &stem, &out))
    })
    .await?;
    leaving.sent(&name, &name, kind).await
}

/// A recording as a film with its temperatures as subtitles
#[utoipa::path(get, path = "/api/recordings/{id}/recording.mkv", tag = "recordings", security((), ("person" = [])), params(("id" = String, Path, format = "uuid")), responses((status = 200, content_type = "video/matroska", body = inline(Vec<u8>)), Problems))]
async fn film(
    State(state): State<AppState>,
    Named(id): Named<meltrange_labbook::RecordingId>,
) -> Result<Response, Problem> {
    let detail = state.book().store().recording(id).await?;
    let leaving = Leaving::of(&state)?;
    let out = leaving.file("recording.mkv");
    worked(state, move |state, here| {
        here.block_on(export_film(state.book(), &detail, &out, &mut |_| ()))
            .map(|_| ())
    })
    .await?;
    let name = format!("{id}.mkv");
    leaving.sent("recording.mkv", &name, "video/matroska").await
}

/// In which form curves leave the book.
#[derive(Debug, Clone, Copy)]
enum CurveForm {
    Svg,
    Png,
    Csv,
}

/// A sample's melting curves as SVG
///
/// Those that a report shows, one above the other.
#[utoipa::path(get, path = "/api/samples/{id}/curves.svg", tag = "reports", security((), ("person" = [])), params(("id" = String, Path, format = "uuid")), responses((status = 200, content_type = "image/svg+xml", body = String), Problems))]
async fn curves_as_svg(
    State(state): State<AppState>,
    looking: Looking,
    Named(id): Named<SampleId>,
) -> Result<Response, Problem> {
    curves(state, looking, id, CurveForm::Svg).await
}

/// A sample's melting curves as PNG
#[utoipa::path(get, path = "/api/samples/{id}/curves.png", tag = "reports", security((), ("person" = [])), params(("id" = String, Path, format = "uuid")), responses((status = 200, content_type = "image/png", body = inline(Vec<u8>)), Problems))]
async fn curves_as_png(
    State(state): State<AppState>,
    looking: Looking,
    Named(id): Named<SampleId>,
) -> Result<Response, Problem> {
    curves(state, looking, id, CurveForm::Png).await
}

/// A sample's melting curves as CSV
#[utoipa::path(get, path = "/api/samples/{id}/curves.csv", tag = "reports", security((), ("person" = [])), params(("id" = String, Path, format = "uuid")), responses((status = 200, content_type = "text/csv", body = String), Problems))]
async fn curves_as_csv(
    State(state): State<AppState>,
    looking: Looking,
    Named(id): Named<SampleId>,
) -> Result<Response, Problem> {
    curves(state, looking, id, CurveForm::Csv).await
}

async fn curves(
    state: AppState,
    looking: Looking,
    id: SampleId,
    form: CurveForm,
) -> Result<Response, Problem> {
    sample_seen(&state, looking, id).await?;
    let report = report_of(state.book(), id, &ReportRequest::default()).await?;
    let drawn = tokio::task::spawn_blocking(move || {
        let runs = report.runs.iter().filter(|run| run.curve.len() > 1);
        let runs: Vec<&Run> = runs.collect();
        let bytes = match form {
            CurveForm::Svg => curves_svg(&runs, Language::English).map(String::into_bytes),
            CurveForm::Png => curves_png(&runs, Language::English, CURVE_WIDTH_PX),
            CurveForm::Csv => (!runs.is_empty()).then(|| curves_csv(&runs).into_bytes()),
        };
        (bytes, report.sample.label)
    });
    let (bytes, label) = drawn.await.map_err(|error| Problem::internal(&error))?;
    let bytes = bytes.ok_or_else(|| {
        Problem::unknown(
            "there is no melting curve of this sample; read one of its recordings first",
        )
    })?;
    let (kind, ending) = match form {
        CurveForm::Svg => ("image/svg+xml", "svg"),
        CurveForm::Png => ("image/png", "png"),
        CurveForm::Csv => ("text/csv; charset=utf-8", "csv"),
    };
    let name = named(&format!("{label}-curves"), ending);
    Ok(attached(bytes.into(), kind, &name))
}

/// When a session begins.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct StartQuery {
    /// A moment such as 2026-11-26T18:00:00+01:00; when it began, if the clock runs.
    #[param(max_length = 40)]
    start: Option<String>,
}

/// A kept session's plan as a calendar
///
/// iCalendar (RFC 5545): when somebody must be at which bench, and what for.
#[utoipa::path(get, path = "/api/sessions/{name}/calendar.ics", tag = "sessions", params(("name" = String, Path), StartQuery), responses((status = 200, content_type = "text/calendar", body = String), Problems))]
async fn session_calendar(
    State(state): State<AppState>,
    Path(name): Path<String>,
    Asked(asked): Asked<StartQuery>,
) -> Result<Response, Problem> {
    let shown = name.clone();
    let kept = tokio::task::spawn_blocking(move || state.sessions().get(&name))
        .await
        .map_err(|error| Problem::internal(&error))??;
    let content = kept.session;
    let draft = content.draft.ok_or_else(|| {
        Problem::field(
            "session",
            "not planned yet",
            "a session with a plan; plan it first, and keep it",
        )
    })?;
    let start = asked.start.or(content.begun).ok_or_else(|| {
        Problem::field(
            "start",
            "missing",
            "a moment such as 2026-11-26T18:00:00+01:00",
        )
    })?;
    let start: jiff::Timestamp = start.parse().map_err(|_| {
        let given: String = start.chars().take(40).collect();
        Problem::field(
            "start",
            format!("\"{given}\""),
            "a moment such as 2026-11-26T18:00:00+01:00",
        )
    })?;
    let plan = retime(&content.order, &draft, content.now_min)
        .map_err(|error| super::programmes::cannot(&error))?
        .plan;
    let order = CalendarOrder {
        start,
        stamp: jiff::Timestamp::now(),
        load_min: content.order.policy.load_min,
        people: Vec::new(),
    };
    let text = calendar(&plan, &order);
    Ok(attached(
        text.into(),
        "text/calendar; charset=utf-8",
        &named(&shown, "ics"),
    ))
}

/// Take a sample in from another book's archive
///
/// The body is the zip file that a sample's archive is. Its records keep their ids, people and times; what is there already with the
/// same text is passed over, with another text it is refused. All of it or nothing.
#[utoipa::path(post, path = "/api/archives", tag = "imports", security(("person" = [])), request_body(content = inline(Vec<u8>), content_type = "application/octet-stream"), responses((status = 201, body = BroughtIn), Problems))]
async fn take_in(
    State(state): State<AppState>,
    Acting(who): Acting,
    body: Body,
) -> Result<(StatusCode, Json<BroughtIn>), Problem> {
    let sent = state
        .uploads()
        .receive("archive.zip", body.into_data_stream())
        .await?;
    // Goes on to its end, and tidies up, also where nobody waits for it any more.
    let work = tokio::spawn(async move {
        let place = state.uploads().get(sent.id)?.path;
        let turn = state.results_turn().await;
        let taken = worked(state.clone(), move |state, here| {
            here.block_on(bring_in(state.book(), &place, who.id, &mut |_| ()))
        })
        .await;
        drop(turn);
        state.uploads().remove(sent.id);
        taken
    });
    let taken = work.await.map_err(|error| Problem::internal(&error))??;
    Ok((
        StatusCode::CREATED,
        Json(BroughtIn {
            title: taken.title,
            records: taken.records,
            there_already: taken.already_there,
            recordings: taken.recordings,
            samples: vec![taken.label],
        }),
    ))
}
