//! One module for each room of the interface: its routes, each short.

mod accounts;
mod archives;
mod benches;
mod book;
mod calibrations;
mod camera;
mod determinations;
pub(crate) mod downloads;
mod events;
mod groups;
mod identity;
mod imports;
mod learning;
mod live;
mod me;
pub(crate) mod pages;
mod past_results;
mod people;
mod practicals;
mod practice;
pub(crate) mod programmes;
mod readers;
mod readings;
mod recordings;
mod reports;
mod rereadings;
mod samples;
mod seats;
mod sessions;
mod sign_in;
mod sign_offs;
mod standards;
mod thermometers;
mod today;
mod verdicts;

use crate::problem::Problem;
use crate::state::AppState;
use crate::wire;
use meltrange_labbook::{BookError, Draft, Kind, PersonId, Record, SampleId, SubjectId};
use utoipa::OpenApi;
use utoipa_axum::router::OpenApiRouter;

/// What the description says of the interface as a whole.
#[derive(OpenApi)]
#[openapi(
    info(
        title = "meltrange",
        description = "A lab book of melting ranges, served on this machine. Temperatures are in degrees Celsius as logged, uncorrected, unless a convention says otherwise; `_s` are seconds on the log's clock. Problems are RFC 9457 problem JSON with a stable `type`."
    ),
    components(schemas(wire::Change, wire::Work, wire::LiveView)),
    modifiers(&Acts),
    tags(
        (name = "book", description = "The book that is open."),
        (name = "today", description = "What is under way and what waits."),
        (name = "people", description = "Who measures, reads and decides."),
        (name = "benches", description = "Heating apparatus."),
        (name = "samples", description = "What is measured, agreement and results."),
        (name = "reports", description = "What leaves the book: reports, signed off by a second person, and sentences to paste."),
        (name = "standards", description = "Reference substances with the values on their labels."),
        (name = "thermometers", description = "Checks, drift and calibrations of the benches' thermometers."),
        (name = "imports", description = "Videos and logs on their way into the book."),
        (name = "recordings", description = "Pictures with times and temperatures."),
        (name = "readings", description = "First liquid and last crystal, and what people say to them."),
        (name = "live", description = "Benches at work: heating, watching, recording."),
        (name = "programmes", description = "Planning one run away from the bench."),
        (name = "sessions", description = "Blocks of bench time: many samples, few places, people at work."),
        (name = "practice", description = "Blind reading of recordings whose moments are known, how far somebody is, readers compared, the handout."),
        (name = "practicals", description = "Class sessions: seats, vials, turns at the benches, marks."),
        (name = "identity", description = "What a solid could be, mixed melting, purity, and the compound library."),
        (name = "rereadings", description = "Many recordings of a shared book read again by another engine, and accepted or dropped."),
        (name = "events", description = "Live changes."),
        (name = "camera", description = "Browsers as cameras of open benches."),
    )
)]
struct Description;

/// Describes the header that says who acts.
struct Acts;

impl utoipa::Modify for Acts {
    fn modify(&self, openapi: &mut utoipa::openapi::OpenApi) {
        use utoipa::openapi::security::{
            ApiKey, ApiKeyValue, HttpAuthScheme, HttpBuilder, SecurityScheme,
        };
        let scheme = SecurityScheme::ApiKey(ApiKey::Header(ApiKeyValue::with_description(
            crate::extract::PERSON,
            "Id of the person who acts or looks, where the book is open on this machine. Needed for everything that is recorded. Where people have accounts it may be left out.",
        )));
        let token = SecurityScheme::Http(
            HttpBuilder::new()
                .scheme(HttpAuthScheme::Bearer)
                .description(Some(
                    "A person's own token, where people have accounts. Pages have a session in a cookie instead.",
                ))
                .build(),
        );
        let components = openapi.components.get_or_insert_default();
        components.add_security_scheme("person", scheme);
        components.add_security_scheme("token", token);
    }
}

/// All rooms, with their description.
pub(crate) fn all() -> OpenApiRouter<AppState> {
    OpenApiRouter::with_openapi(Description::openapi())
        .merge(book::routes())
        .merge(today::routes())
        .merge(me::routes())
        .merge(sign_in::routes())
        .merge(people::routes())
        .merge(accounts::routes())
        .merge(groups::routes())
        .merge(benches::routes())
        .merge(samples::routes())
        .merge(determinations::routes())
        .merge(verdicts::routes())
        .merge(reports::routes())
        .merge(sign_offs::routes())
        .merge(past_results::routes())
        .merge(archives::routes())
        .merge(standards::routes())
        .merge(thermometers::routes())
        .merge(calibrations::routes())
        .merge(imports::routes())
        .merge(recordings::routes())
        .merge(readings::routes())
        .merge(rereadings::routes())
        .merge(live::routes())
        .merge(learning::routes())
        .merge(programmes::routes())
        .merge(sessions::routes())
        .merge(practicals::routes())
        .merge(practice::routes())
        .merge(readers::routes())
        .merge(seats::routes())
        .merge(identity::routes())
        .merge(events::routes())
        .merge(camera::routes())
}

/// Rows to pass over before `page`, from 1.
pub(crate) fn offset(page: u64, per_page: u32) -> u64 {
    page.saturating_sub(1).saturating_mul(u64::from(per_page))
}

/// Write one record.
pub(crate) async fn append_one(
    state: &AppState,
    who: PersonId,
    draft: Draft,
) -> Result<Record, Problem> {
    let mut records = state.book().append(who, vec![draft]).await?;
    // One draft makes one record.
    records
        .pop()
        .ok_or_else(|| Problem::internal(&std::io::Error::other("a batch of one made no record")))
}

/// What somebody is called.
pub(crate) async fn person_name(state: &AppState, who: PersonId) -> Result<String, Problem> {
    let people = state.book().store().people().await?;
    let known = people.into_iter().find(|person| person.id == who);
    Ok(known.map_or_else(|| who.to_string(), |person| person.name))
}

/// A date out of a request.
pub(crate) fn date(field: &'static str, text: &str) -> Result<jiff::civil::Date, Problem> {
    text.parse().map_err(|_| {
        let shown: String = text.chars().take(40).collect();
        Problem::field(field, format!("\"{shown}\""), "a date such as 2027-01-31")
    })
}

/// Page and rows a page, within the limits.
pub(crate) use samples::checked_paging as paging;

/// Whether opinions are kept back.
#[derive(Debug, serde::Deserialize, utoipa::IntoParams)]
#[into_params(parameter_in = Query)]
pub(crate) struct BlindQuery {
    /// Keep the opinions of the engine and of others back until this person has decided; students
    /// look so unless this says false.
    pub blind: Option<bool>,
}

/// Refuse what is not there, or not of this kind.
pub(crate) async fn is_kind(
    state: &AppState,
    subject: SubjectId,
    kind: Kind,
    what: &'static str,
) -> Result<(), Problem> {
    match state.book().store().latest(subject).await {
        Ok(record) if record.entry.kind() == kind => Ok(()),
        Ok(_) | Err(BookError::Unknown { .. }) => Err(Problem::field(
            what,
            subject.to_string(),
            format!("a {what} of this book"),
        )),
        Err(other) => Err(other.into()),
    }
}

/// Samples by place, from left to right, from places in any order.
pub(crate) async fn load(
    state: &AppState,
    tubes: &[wire::LoadedTubeRequest],
) -> Result<Vec<Option<SampleId>>, Problem> {
    let mut places = std::collections::BTreeMap::new();
    for tube in tubes {
        if !(1..=3).contains(&tube.place) || places.insert(tube.place, tube.sample).is_some() {
            return Err(Problem::field(
                "tubes",
                format!("place {}", tube.place),
                "places 1, 2 and 3, each at most once",
            ));
        }
        if let Some(sample) = tube.sample {
            is_kind(state, sample.into(), Kind::Sample, "sample").await?;
        }
    }
    let last = places.keys().next_back().copied().unwrap_or(0);
    Ok((1..=last)
        .map(|place| places.get(&place).copied().flatten())
        .collect())
}
