//! Class sessions, for those who sit in them: coming in by a code, one's own seat, and what is done there.

use super::me::{failed, guarded, knock};
use super::practicals::{plan_again, recorded, turn_changed};
use crate::admission::{AtTheDoor, from_of, kept as cookie};
use crate::extract::{Acting, Body, Named};
use crate::practicals::{Door, Standing, names_of, pseudonym, seat_page, standing, timed};
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{
    JoinRequest, Joined, PracticalState, SeatPage, SeatStep, SeatStepRequest, TurnStanding,
};
use axum::extract::State;
use axum::http::{Extensions, HeaderMap, StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use axum::{Extension, Json};
use jiff::Timestamp;
use meltrange_labbook::{
    Draft, Kind, Person, PersonId, PracticalAct, PracticalId, PracticalStep, Role, When,
};
use std::time::Instant;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// What was done at most so long ago is recorded without saying that it was sent later [s].
const AT_ONCE_S: f64 = 5.0;

/// Steps somebody may take in one class session: far above any afternoon's.
const MOST_STEPS: usize = 20_000;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(join))
        .routes(routes!(my_seat))
        .routes(routes!(step))
}

/// Sit down in a class session
///
/// With the code of the class or of a seat, without an account: whoever comes in is added to the book as a student under a
/// pseudonym. Their name, if they give it, is kept beside the book and can be deleted. After some wrong codes an address has to
/// wait: 429, with how long. Where people have accounts the answer begins a session.
#[utoipa::path(post, path = "/api/practicals/join", tag = "practicals", request_body = JoinRequest, responses((status = 200, body = Joined), Problems))]
async fn join(
    State(state): State<AppState>,
    door: Option<Extension<AtTheDoor>>,
    headers: HeaderMap,
    extensions: Extensions,
    Body(given): Body<JoinRequest>,
) -> Result<Response, Problem> {
    let way = way_in(&state, &given.code, &from_of(&extensions))?;
    let name = real_name(given.name.as_deref())?;
    let turn = state.practicals().turn.lock().await;
    let found = standing(&state, way.practical).await?;
    if found.over.is_some() {
        return Err(over());
    }
    let place = place(&found, way, given.seat)?;
    let (person, pseudonym) = match place.again {
        Some(person) => (person, names_of(&state).await?.remove(&person)),
        None => (PersonId::new(), None),
    };
    let pseudonym = match pseudonym {
        Some(known) => known,
        None => {
            let names = names_of(&state).await?;
            pseudonym_of(&names)?
        }
    };
    let mut digest = None;
    state
        .practicals()
        .kept
        .change(found.id, found.seats.len(), |secrets| {
            if let Some(name) = &name {
                digest = secrets.keep_name(person, name)?;
            }
            Ok(())
        })?;
    let mut drafts = Vec::new();
    if place.again.is_none() {
        let added = Person {
            name: pseudonym.clone(),
            role: Role::Student,
        };
        drafts.push(Draft::about(person, added));
    }
    drafts.push(Draft::new(PracticalStep {
        practical: found.id,
        done: None,
        act: PracticalAct::Joined {
            seat: place.seat,
            person,
            name: digest,
        },
    }));
    state.book().append(person, drafts).await?;
    let first_there = found.seat(place.seat).is_some_and(|seat| !seat.is_taken());
    if found.state() == PracticalState::UnderWay && first_there {
        plan_again(&state, found.id, person, "somebody came late").await?;
    }
    drop(turn);
    let joined = Joined {
        practical: found.id,
        title: found.set_up.title.clone(),
        seat: place.seat,
        vial: found
            .seat(place.seat)
            .map_or_else(String::new, |seat| seat.vial.clone()),
        person,
        pseudonym,
    };
    let title = joined.title.clone();
    let mut answer = Json(joined).into_response();
    if state.guarded().is_some() {
        let guarded = guarded(&state)?;
        let came = guarded
            .accounts()
            .sit_down(&person.to_string(), &title, &knock(&extensions, &headers))
            .await
            .map_err(|error| failed(&error))?;
        let is_secure = door.is_none_or(|Extension(door)| door.is_secure);
        let value = cookie(&guarded, is_secure, &came.secret)
            .ok_or_else(|| Problem::internal(&std::io::Error::other("a cookie that is none")))?;
        answer.headers_mut().insert(header::SET_COOKIE, value);
    }
    Ok(answer)
}

/// Where a code leads, unless somebody has guessed too often.
fn way_in(state: &AppState, code: &str, from: &str) -> Result<Door, Problem> {
    let guesses = &state.practicals().guesses;
    let now = Instant::now();
    if let Some(wait) = guesses.wait(from, now) {
        let wait_s = wait.as_secs().max(1);
        return Err(Problem {
            wait_s: Some(wait_s),
            ..Problem::new(
                StatusCode::TOO_MANY_REQUESTS,
                "wait",
                "Wait before the next try",
                format!("too many wrong codes came from here; try again in {wait_s} s"),
            )
        });
    }
    if let Some(way) = state.practicals().kept.door(code)? {
        return Ok(way);
    }
    guesses.wrong(from, now);
    Err(Problem::new(
        StatusCode::FORBIDDEN,
        "code",
        "No such code",
        "this code leads to no class session; look at the board or the label again, or ask the instructor",
    ))
}

fn real_name(given: Option<&str>) -> Result<Option<String>, Problem> {
    let name = given.map(str::trim).filter(|name| !name.is_empty());
    match name {
        Some(name) if name.chars().count() > 100 || name.chars().any(char::is_control) => {
            Err(Problem::field(
                "name",
                format!("{} characters", name.chars().count()),
                "at most 100 characters on one line",
            ))
        }
        name => Ok(name.map(str::to_owned)),
    }
}

fn pseudonym_of(names: &std::collections::HashMap<PersonId, String>) -> Result<String, Problem> {
    let taken = |name: &str| {
        names
            .values()
            .any(|known| known.to_lowercase() == name.to_lowercase())
    };
    pseudonym(taken)
}

fn over() -> Problem {
    Problem::new(
        StatusCode::CONFLICT,
        "over",
        "The class session is over",
        "nothing more is taken in; ask the instructor",
    )
}

/// Where somebody is to sit.
struct Place {
    seat: u32,
    /// Who they are, where they sat there before.
    again: Option<PersonId>,
}

fn place(found: &Standing, way: Door, wanted: Option<u32>) -> Result<Place, Problem> {
    let room = |number: u32| {
        found
            .seat(number)
            .is_some_and(|seat| seat.people.len() < found.set_up.people_per_seat as usize)
    };
    let full = || {
        Problem::new(
            StatusCode::CONFLICT,
            "seat",
            "The seat is taken",
            "somebody sits there already; choose another, or ask the instructor for a new code or one more seat",
        )
    };
    if let Some(seat) = way.seat {
        let gone = found
            .seat(seat)
            .and_then(|seat| seat.people.iter().find(|one| !one.here));
        return match gone {
            Some(one) => Ok(Place {
                seat,
                again: Some(one.person),
            }),
            None if room(seat) => Ok(Place { seat, again: None }),
            None => Err(full()),
        };
    }
    let seats = found.seats.len() as u32;
    match wanted {
        Some(seat) if !(1..=seats).contains(&seat) => Err(Problem::field(
            "seat",
            seat.to_string(),
            format!("1 to {seats}"),
        )),
        Some(seat) if room(seat) => Ok(Place { seat, again: None }),
        Some(_) => Err(full()),
        None => (1..=seats)
            .find(|&seat| room(seat))
            .map(|seat| Place { seat, again: None })
            .ok_or_else(|| {
                Problem::new(
                    StatusCode::CONFLICT,
                    "no-seat",
                    "Every seat is taken",
                    "ask the instructor to add a seat, and join again",
                )
            }),
    }
}

/// One's own seat
#[utoipa::path(get, path = "/api/practicals/{id}/seat", tag = "practicals", security(("person" = [])), params(("id" = String, Path, format = "uuid")), responses((status = 200, body = SeatPage), Problems))]
async fn my_seat(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<PracticalId>,
) -> Result<Json<SeatPage>, Problem> {
    page_of(&state, id, who.id).await.map(Json)
}

async fn page_of(state: &AppState, id: PracticalId, who: PersonId) -> Result<SeatPage, Problem> {
    let found = standing(state, id).await?;
    seat_page(&found, who, &names_of(state).await?)
}

/// Do something at one's own seat
///
/// The same id again changes nothing more, so that what was done offline can be sent until it is answered.
#[utoipa::path(post, path = "/api/practicals/{id}/seat/steps", tag = "practicals", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = SeatStepRequest, responses((status = 200, body = SeatPage), Problems))]
async fn step(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<PracticalId>,
    Body(given): Body<SeatStepRequest>,
) -> Result<Json<SeatPage>, Problem> {
    let turn = state.practicals().turn.lock().await;
    if !recorded(&state, given.id.into(), Kind::PracticalStep).await? {
        let found = standing(&state, id).await?;
        take(&state, &found, who.id, given).await?;
    }
    drop(turn);
    page_of(&state, id, who.id).await.map(Json)
}

async fn take(
    state: &AppState,
    found: &Standing,
    who: PersonId,
    given: SeatStepRequest,
) -> Result<(), Problem> {
    let seat = seat_of(found, who)?;
    let done = moment(found, given.at.as_deref())?;
    if found.over.is_some_and(|over| done > over.instant()) {
        return Err(over());
    }
    if found.history.len() >= MOST_STEPS {
        return Err(Problem::new(
            StatusCode::CONFLICT,
            "too-many",
            "Too many",
            format!("{MOST_STEPS} steps are recorded of this class session"),
        ));
    }
    let Some(act) = act(found, seat, found.minute(done), given.step)? else {
        return Ok(());
    };
    let late_s = Timestamp::now().duration_since(done).as_secs_f64();
    let step = PracticalStep {
        practical: found.id,
        done: (late_s > AT_ONCE_S).then(|| When::of(done, &jiff::tz::TimeZone::system())),
        act,
    };
    super::append_one(state, who, Draft::about(given.id, step)).await?;
    Ok(())
}

fn seat_of(found: &Standing, who: PersonId) -> Result<u32, Problem> {
    let at = found.seat_of(who).ok_or_else(|| {
        Problem::unknown("you have no seat in this class session; join with its code")
    })?;
    let seat = found.seats.get(at);
    let here = seat.is_some_and(|seat| {
        let mut people = seat.people.iter();
        people.any(|one| one.person == who && one.here)
    });
    if here {
        return Ok(at as u32 + 1);
    }
    Err(Problem::new(
        StatusCode::FORBIDDEN,
        "code",
        "Come in again",
        "a new code was made for your seat; join with it",
    ))
}

/// When something was done: as said, but not before the class session and not later than now. Clocks of phones are off.
fn moment(found: &Standing, at: Option<&str>) -> Result<Timestamp, Problem> {
    let now = Timestamp::now();
    let Some(at) = at else {
        return Ok(now);
    };
    let said: Timestamp = at.parse().map_err(|_| {
        let shown: String = at.chars().take(40).collect();
        Problem::field(
            "at",
            format!("\"{shown}\""),
            "a moment such as 2026-11-25T17:00:00Z",
        )
    })?;
    Ok(said.max(found.made.instant()).min(now))
}

/// What is recorded of a step; none where it is so already.
fn act(
    found: &Standing,
    seat: u32,
    minute: f64,
    step: SeatStep,
) -> Result<Option<PracticalAct>, Problem> {
    let own = found
        .seat(seat)
        .ok_or_else(|| Problem::unknown("there is no such seat"))?;
    Ok(Some(match step {
        SeatStep::SetIn { load } => {
            let (bench, how) = own_load(found, &own.vial, load)?;
            match how {
                TurnStanding::Now => PracticalAct::SetIn {
                    bench,
                    load,
                    minute,
                },
                // Somebody else with a tube in it said so already.
                TurnStanding::UnderWay => return Ok(None),
                other => return Err(turn_changed(other)),
            }
        }
        SeatStep::Ended { load } => {
            let (bench, how) = own_load(found, &own.vial, load)?;
            match how {
                TurnStanding::UnderWay => PracticalAct::Ended {
                    bench,
                    load,
                    minute,
                },
                TurnStanding::Over => return Ok(None),
                other => return Err(turn_changed(other)),
            }
        }
        SeatStep::Result {
            run,
            first_liquid_c,
            last_crystal_c,
            heating_rate_c_per_min,
            fresh_tube,
            note,
        } => {
            if !(1..=20).contains(&run) {
                return Err(Problem::field("run", run.to_string(), "1 to 20"));
            }
            PracticalAct::Result {
                seat,
                run,
                first_liquid_c,
                last_crystal_c,
                heating_rate_c_per_min,
                fresh_tube,
                note,
                bench: bench_of(found, &own.vial, run),
            }
        }
        SeatStep::Identify { name, why } => {
            let known = found
                .set_up
                .unknowns
                .iter()
                .any(|unknown| unknown.name == name);
            if !known {
                let shown: String = name.chars().take(60).collect();
                return Err(Problem::field(
                    "name",
                    format!("\"{shown}\""),
                    "one of the substances on the list",
                ));
            }
            PracticalAct::Identified { seat, name, why }
        }
        SeatStep::Note { text } => PracticalAct::Noted { seat, text },
        SeatStep::AskHelp { text } => PracticalAct::HelpAsked { seat, text },
        SeatStep::HelpDone {} => match &own.help {
            Some(asked) => PracticalAct::HelpGiven { help: asked.id },
            None => return Ok(None),
        },
    }))
}

/// The bench of the load with this number that holds a tube of this vial, and how the load stands.
fn own_load(found: &Standing, vial: &str, load: u32) -> Result<(String, TurnStanding), Problem> {
    let timed = timed(found, found.now_min())?;
    let mut own = timed
        .loads
        .iter()
        .filter(|one| one.load == load && one.tubes.iter().any(|tube| tube.sample == vial));
    // Of two on different benches the one that is not over.
    let first = own.next();
    let chosen = match (first, own.next()) {
        (Some(one), Some(other)) if one.standing() == TurnStanding::Over => Some(other),
        (one, _) => one,
    };
    let one = chosen.ok_or_else(|| {
        Problem::new(
            StatusCode::CONFLICT,
            "turn",
            "The load stands differently",
            "the plan was changed; look at the page again",
        )
    })?;
    Ok((one.bench.clone(), one.standing()))
}

/// At which bench this run of a vial was.
fn bench_of(found: &Standing, vial: &str, run: u32) -> Option<String> {
    let plan = found.plan.as_ref()?;
    let holds = |bench: &&meltrange_planning::DraftBench| {
        let mut tubes = bench
            .loads
            .iter()
            .filter(|load| load.actual.is_some())
            .flat_map(|load| &load.tubes);
        tubes.any(|tube| tube.sample == vial && tube.replicate == run)
    };
    let bench = plan.draft.benches.iter().find(holds)?;
    Some(bench.bench.clone())
}
