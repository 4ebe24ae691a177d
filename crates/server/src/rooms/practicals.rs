//! Class sessions, for whoever runs them.

use super::programmes::cannot;
use crate::admission::AtTheDoor;
use crate::admission::{from_of, now_s};
use crate::cameras::qr_svg;
use crate::extract::{Acting, Body, Named, Somebody, no_student};
use crate::practicals::{
    Secrets, Standing, board, gradebook, names_of, planned_anew, standing, timed,
};
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{
    Board, InstructorStep, InstructorStepRequest, Labels, NewPractical, PracticalRow,
    PracticalSetUp, PracticalState, Practicals, SeatLabel, TurnStanding, UnknownsCompared,
    UnknownsRequest,
};
use axum::extract::State;
use axum::http::{Extensions, HeaderMap, StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use axum::{Extension, Json};
use meltrange_identity::estimated_enthalpy;
use meltrange_labbook::{
    self as kept, BookError, DealtVial, Draft, Entry, Kind, PersonId, PracticalAct, PracticalId,
    PracticalStep, StepId, SubjectId,
};
use meltrange_planning::{Screening, screen};
use meltrange_teaching::{Solid, deal, deal_one_more, needed_ratio, tell_apart, vials};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// Seats of one class session.
const MOST_SEATS: u32 = 100;

/// Unknowns of one.
const MOST_UNKNOWNS: usize = 40;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(practicals, set_up))
        .routes(routes!(compare_unknowns))
        .routes(routes!(show_board))
        .routes(routes!(labels))
        .routes(routes!(instruct))
        .routes(routes!(grades))
}

/// Class sessions
#[utoipa::path(get, path = "/api/practicals", tag = "practicals", security(("person" = [])), responses((status = 200, body = Practicals), Problems))]
async fn practicals(
    State(state): State<AppState>,
    Acting(who): Acting,
) -> Result<Json<Practicals>, Problem> {
    instructor(who)?;
    let mut rows = Vec::new();
    for record in state.book().store().practicals().await? {
        let found = standing(&state, record.subject.into()).await?;
        rows.push(PracticalRow {
            id: found.id,
            title: found.set_up.title.clone(),
            begun: found.made.to_string(),
            seats: found.seats.len(),
            people: found.people(),
            state: found.state(),
        });
    }
    Ok(Json(Practicals { practicals: rows }))
}

fn instructor(who: Somebody) -> Result<(), Problem> {
    no_student(who, "class sessions are set up and watched")
}

/// Compare unknowns
///
/// Which pairs a class can tell apart: by their ranges, by a mixed melting only, or not.
#[utoipa::path(post, path = "/api/practicals/unknowns", tag = "practicals", request_body = UnknownsRequest, responses((status = 200, body = UnknownsCompared), Problems))]
async fn compare_unknowns(
    Acting(who): Acting,
    Body(given): Body<UnknownsRequest>,
) -> Result<Json<UnknownsCompared>, Problem> {
    instructor(who)?;
    if given.unknowns.len() > MOST_UNKNOWNS {
        return Err(too_many_unknowns(given.unknowns.len()));
    }
    let solids: Vec<Solid> = given
        .unknowns
        .iter()
        .map(|unknown| Solid {
            last_crystal_c: unknown.last_crystal_c,
            fusion_j_per_mol: unknown
                .fusion_j_per_mol
                .unwrap_or_else(|| estimated_enthalpy(unknown.last_crystal_c).value),
        })
        .collect();
    let pairs = tell_apart(&solids, given.standard_uncertainty_c).map_err(|error| {
        Problem::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "field",
            "A field cannot be taken",
            error.to_string(),
        )
    })?;
    Ok(Json(UnknownsCompared {
        pairs,
        needed_ratio: needed_ratio(),
    }))
}

fn too_many_unknowns(found: usize) -> Problem {
    Problem::field(
        "unknowns",
        found.to_string(),
        format!("2 to {MOST_UNKNOWNS} unknowns"),
    )
}

/// Set up a class session
///
/// Vials are dealt at once, so that neighbours differ. The same id again gives the same class session.
#[utoipa::path(post, path = "/api/practicals", tag = "practicals", security(("person" = [])), request_body = NewPractical, responses((status = 201, body = Board), Problems))]
async fn set_up(
    State(state): State<AppState>,
    Acting(who): Acting,
    Body(given): Body<NewPractical>,
) -> Result<(StatusCode, Json<Board>), Problem> {
    instructor(who)?;
    let _turn = state.practicals().turn.lock().await;
    if !recorded(&state, given.id.into(), Kind::Practical).await? {
        let practical = dealt(given.set_up)?;
        let draft = Draft::about(given.id, practical);
        super::append_one(&state, who.id, draft).await?;
    }
    let board = board_of(&state, given.id).await?;
    Ok((StatusCode::CREATED, Json(board)))
}

/// Whether this subject is recorded already; refused where it is of another kind.
pub(super) async fn recorded(
    state: &AppState,
    subject: SubjectId,
    kind: Kind,
) -> Result<bool, Problem> {
    match state.book().store().latest(subject).await {
        Ok(record) if record.entry.kind() == kind => Ok(true),
        Ok(_) => Err(Problem::new(
            StatusCode::CONFLICT,
            "taken",
            "The id is taken",
            "this id is that of something else in the book; make a new one",
        )),
        Err(BookError::Unknown { .. }) => Ok(false),
        Err(other) => Err(other.into()),
    }
}

fn dealt(given: PracticalSetUp) -> Result<kept::Practical, Problem> {
    let unknowns = given.unknowns.len();
    if !(2..=MOST_UNKNOWNS).contains(&unknowns) {
        return Err(too_many_unknowns(unknowns));
    }
    if !(1..=MOST_SEATS).contains(&given.seats) {
        return Err(Problem::field(
            "seats",
            given.seats.to_string(),
            format!("1 to {MOST_SEATS}"),
        ));
    }
    if !(1..=4).contains(&given.people_per_seat) {
        return Err(Problem::field(
            "people_per_seat",
            given.people_per_seat.to_string(),
            "1, or 2 for pairs; at most 4",
        ));
    }
    if given.benches.is_empty() {
        return Err(Problem::field("benches", "none", "at least one bench"));
    }
    for unknown in &given.unknowns {
        if let Screening::Refused { why } = screen(&unknown.name) {
            return Err(Problem::field("unknowns", unknown.name.clone(), why));
        }
    }
    let numbers = deal(
        given.seats,
        given.seats_per_row,
        unknowns as u32,
        given.seed,
    )
    .map_err(|error| cannot(&error))?;
    let deal = vials(given.seats, given.seed)
        .into_iter()
        .zip(numbers)
        .map(|(vial, unknown)| DealtVial { vial, unknown })
        .collect();
    Ok(kept::Practical {
        title: given.title.trim().to_owned(),
        seats_per_row: given.seats_per_row,
        people_per_seat: given.people_per_seat,
        unknowns: given.unknowns.into_iter().map(Into::into).collect(),
        standard_uncertainty_c: given.standard_uncertainty_c,
        runs_each: given.runs_each,
        length_min: given.length_min,
        operators: given.operators,
        benches: given.benches,
        rubric: given.rubric,
        seed: given.seed,
        deal,
    })
}

/// The board of a class session
///
/// Everything, with what is in the vials. Supervisors and analysts.
#[utoipa::path(get, path = "/api/practicals/{id}/board", tag = "practicals", security(("person" = [])), params(("id" = String, Path, format = "uuid")), responses((status = 200, body = Board), Problems))]
async fn show_board(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<PracticalId>,
) -> Result<Json<Board>, Problem> {
    instructor(who)?;
    board_of(&state, id).await.map(Json)
}

async fn board_of(state: &AppState, id: PracticalId) -> Result<Board, Problem> {
    let found = standing(state, id).await?;
    let secrets = state.practicals().kept.of(id, found.seats.len())?;
    board(&found, &secrets, &names_of(state).await?)
}

/// Labels of a class session
///
/// What is printed: the code of the class, and for each seat its vial, its code and both as a picture. No substance is on it.
#[utoipa::path(get, path = "/api/practicals/{id}/labels", tag = "practicals", security(("person" = [])), params(("id" = String, Path, format = "uuid")), responses((status = 200, body = Labels), Problems))]
async fn labels(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<PracticalId>,
    headers: HeaderMap,
    door: Option<Extension<AtTheDoor>>,
) -> Result<Json<Labels>, Problem> {
    instructor(who)?;
    let found = standing(&state, id).await?;
    let secrets = state.practicals().kept.of(id, found.seats.len())?;
    let is_secure = door.is_some_and(|Extension(door)| door.is_secure);
    let scheme = if is_secure { "https" } else { "http" };
    let host = headers
        .get(header::HOST)
        .and_then(|host| host.to_str().ok())
        .unwrap_or("localhost");
    let join_address = format!("{scheme}://{host}/#/join");
    let with_code = |code: &str| format!("{join_address}?code={code}");
    Ok(Json(Labels {
        join_qr_svg: qr_svg(&with_code(&secrets.class_code)),
        labels: found
            .seats
            .iter()
            .zip(&secrets.seat_codes)
            .zip(1..)
            .map(|((seat, code), number)| SeatLabel {
                seat: number,
                vial: seat.vial.clone(),
                code: code.clone(),
                address: with_code(code),
                qr_svg: qr_svg(&with_code(code)),
            })
            .collect(),
        class_code: secrets.class_code,
        join_address,
    }))
}

/// The gradebook of a class session
#[utoipa::path(get, path = "/api/practicals/{id}/gradebook.csv", tag = "practicals", security(("person" = [])), params(("id" = String, Path, format = "uuid")), responses((status = 200, content_type = "text/csv", body = String), Problems))]
async fn grades(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<PracticalId>,
) -> Result<Response, Problem> {
    instructor(who)?;
    let found = standing(&state, id).await?;
    let secrets = state.practicals().kept.of(id, found.seats.len())?;
    let table = gradebook(&found, &secrets, &names_of(&state).await?)?;
    let head = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8"),
        (
            header::CONTENT_DISPOSITION,
            "attachment; filename=\"gradebook.csv\"",
        ),
    ];
    Ok((head, table).into_response())
}

/// Do something in a class session
///
/// The same id again changes nothing more. Supervisors and analysts.
#[utoipa::path(post, path = "/api/practicals/{id}/steps", tag = "practicals", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = InstructorStepRequest, responses((status = 200, body = Board), Problems))]
async fn instruct(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<PracticalId>,
    extensions: Extensions,
    Body(given): Body<InstructorStepRequest>,
) -> Result<Json<Board>, Problem> {
    instructor(who)?;
    let turn = state.practicals().turn.lock().await;
    let found = standing(&state, id).await?;
    if !recorded(&state, given.id.into(), Kind::PracticalStep).await? {
        let asked = Asked {
            found: &found,
            who: who.id,
            step: given.id,
            from: from_of(&extensions),
        };
        asked.instructed(&state, given.step).await?;
    }
    drop(turn);
    board_of(&state, id).await.map(Json)
}

/// A step that is to be taken.
struct Asked<'a> {
    found: &'a Standing,
    who: PersonId,
    step: StepId,
    from: String,
}

impl Asked<'_> {
    async fn instructed(&self, state: &AppState, step: InstructorStep) -> Result<(), Problem> {
        let (found, now_min) = (self.found, self.found.now_min());
        let mut why = None;
        let act = match step {
            InstructorStep::Begin {} => {
                if found.began.is_some() {
                    return Ok(());
                }
                return self.begin(state).await;
            }
            InstructorStep::Over {} => PracticalAct::Over,
            InstructorStep::BenchOut { bench, why } => {
                self.is_bench(&bench)?;
                return self
                    .and_plan(
                        state,
                        PracticalAct::BenchOut { bench },
                        Some(why),
                        "a bench is out of use",
                    )
                    .await;
            }
            InstructorStep::BenchBack { bench } => {
                self.is_bench(&bench)?;
                let act = PracticalAct::BenchBack { bench };
                return self.and_plan(state, act, None, "a bench works again").await;
            }
            InstructorStep::SetIn { bench, load } => {
                self.load(&bench, load, TurnStanding::Now)?;
                PracticalAct::SetIn {
                    bench,
                    load,
                    minute: now_min,
                }
            }
            InstructorStep::Ended { bench, load } => {
                self.load(&bench, load, TurnStanding::UnderWay)?;
                PracticalAct::Ended {
                    bench,
                    load,
                    minute: now_min,
                }
            }
            InstructorStep::Swap { seat, unknown, why } => {
                let from = self.seat(seat)?.unknown;
                if unknown as usize >= found.set_up.unknowns.len() {
                    return Err(Problem::field(
                        "unknown",
                        unknown.to_string(),
                        "one of the unknowns, by number from 0",
                    ));
                }
                let act = PracticalAct::Swapped {
                    seat,
                    from,
                    to: unknown,
                };
                return self
                    .and_plan(state, act, Some(why), "a vial was swapped")
                    .await;
            }
            InstructorStep::AddSeat {} => self.one_more_seat()?,
            InstructorStep::NewCode { seat } => {
                self.seat(seat)?;
                self.close_seat(state, seat).await?;
                PracticalAct::CodeRenewed { seat }
            }
            InstructorStep::HelpGiven { help } => PracticalAct::HelpGiven { help },
            InstructorStep::Mark {
                seat,
                identity,
                range,
                agreement,
                care,
                why: reason,
            } => {
                self.seat(seat)?;
                why = Some(reason);
                PracticalAct::Marked {
                    seat,
                    identity,
                    range,
                    agreement,
                    care,
                }
            }
            InstructorStep::Release {} => PracticalAct::Released,
            InstructorStep::TakeBack {} => PracticalAct::TakenBack,
            InstructorStep::PlanAnew {} => {
                let planned = plan(found, "the instructor asked for it")
                    .await?
                    .ok_or_else(nothing_to_plan)?;
                return self.record(state, vec![(planned, None)]).await;
            }
            InstructorStep::ForgetNames {} => {
                state
                    .practicals()
                    .kept
                    .change(found.id, found.seats.len(), |secrets| {
                        secrets.forget();
                        Ok(())
                    })?;
                PracticalAct::NamesForgotten
            }
        };
        self.record(state, vec![(act, why)]).await
    }

    /// It begins, and is planned from then on.
    async fn begin(&self, state: &AppState) -> Result<(), Problem> {
        let planned = plan(self.found, "the class session begins").await?;
        let acts = std::iter::once(PracticalAct::Begun).chain(planned);
        let acts = acts.map(|act| (act, None)).collect();
        self.record(state, acts).await
    }

    /// Something that changes what can be planned, and the plan that follows. Where none can be made the old one stays: what
    /// happened is recorded all the same.
    async fn and_plan(
        &self,
        state: &AppState,
        act: PracticalAct,
        why: Option<String>,
        because: &str,
    ) -> Result<(), Problem> {
        self.record(state, vec![(act, why)]).await?;
        if self.found.began.is_some() {
            plan_again(state, self.found.id, self.who, because).await?;
        }
        Ok(())
    }

    /// The first of them under the id that was given.
    async fn record(
        &self,
        state: &AppState,
        acts: Vec<(PracticalAct, Option<String>)>,
    ) -> Result<(), Problem> {
        let mut drafts = Vec::new();
        for (number, (act, why)) in acts.into_iter().enumerate() {
            let subject = if number == 0 {
                self.step
            } else {
                StepId::new()
            };
            let step = PracticalStep {
                practical: self.found.id,
                done: None,
                act,
            };
            let draft = Draft::about(subject, step);
            drafts.push(match why {
                Some(why) => draft.because(why),
                None => draft,
            });
        }
        state.book().append(self.who, drafts).await?;
        Ok(())
    }

    fn seat(&self, number: u32) -> Result<&crate::practicals::Seat, Problem> {
        self.found.seat(number).ok_or_else(|| {
            Problem::field(
                "seat",
                number.to_string(),
                format!("1 to {}", self.found.seats.len()),
            )
        })
    }

    fn is_bench(&self, name: &str) -> Result<(), Problem> {
        let known = self.found.set_up.benches.iter().any(|one| one.name == name);
        if known {
            return Ok(());
        }
        let shown: String = name.chars().take(60).collect();
        Err(Problem::field(
            "bench",
            format!("\"{shown}\""),
            "a bench of this class session",
        ))
    }

    fn load(&self, bench: &str, load: u32, wanted: TurnStanding) -> Result<(), Problem> {
        self.is_bench(bench)?;
        let timed = timed(self.found, self.found.now_min())?;
        let own = timed.of_bench(bench).find(|own| own.load == load);
        let own = own.ok_or_else(|| {
            Problem::field("load", load.to_string(), "a load of this bench, from 0")
        })?;
        if own.standing() == wanted {
            return Ok(());
        }
        Err(turn_changed(own.standing()))
    }

    fn one_more_seat(&self) -> Result<PracticalAct, Problem> {
        let set_up = &self.found.set_up;
        let seats = self.found.seats.len();
        if seats >= MOST_SEATS as usize {
            return Err(Problem::field(
                "seats",
                seats.to_string(),
                format!("at most {MOST_SEATS}"),
            ));
        }
        let dealt: Vec<u32> = self.found.seats.iter().map(|seat| seat.unknown).collect();
        let unknown = deal_one_more(
            &dealt,
            set_up.seats_per_row,
            set_up.unknowns.len() as u32,
            set_up.seed,
        )
        .map_err(|error| cannot(&error))?;
        let vial = vials(seats as u32 + 1, set_up.seed)
            .pop()
            .unwrap_or_default();
        Ok(PracticalAct::SeatAdded {
            dealt: DealtVial { vial, unknown },
        })
    }

    /// Nobody is let in by what let them in before.
    async fn close_seat(&self, state: &AppState, number: u32) -> Result<(), Problem> {
        let seats = self.found.seats.len();
        state
            .practicals()
            .kept
            .change(self.found.id, seats, |secrets: &mut Secrets| {
                secrets.renew(number)
            })?;
        let Some(guarded) = state.guarded() else {
            return Ok(());
        };
        for one in &self.seat(number)?.people {
            guarded
                .accounts()
                .log_out_everywhere(
                    &one.person.to_string(),
                    &self.who.to_string(),
                    &self.from,
                    now_s(),
                )
                .await
                .map_err(|error| super::me::failed(&error))?;
        }
        Ok(())
    }
}

fn nothing_to_plan() -> Problem {
    Problem::new(
        StatusCode::CONFLICT,
        "nothing-to-plan",
        "There is nothing to plan",
        "nobody has sat down yet, or no bench works",
    )
}

/// A load that is asked for stands differently by now.
pub(super) fn turn_changed(found: TurnStanding) -> Problem {
    let words = match found {
        TurnStanding::Ahead => "another load comes before it on its bench",
        TurnStanding::Now => "it has not been set in yet",
        TurnStanding::UnderWay => "it was set in already",
        TurnStanding::Over => "it has ended already",
    };
    Problem::new(
        StatusCode::CONFLICT,
        "turn",
        "The load stands differently",
        format!("{words}; look at the page again"),
    )
}

/// The plan of what is left, looked for on a thread of its own.
async fn plan(found: &Standing, why: &'static str) -> Result<Option<PracticalAct>, Problem> {
    let found = found.clone();
    tokio::task::spawn_blocking(move || planned_anew(&found, why))
        .await
        .map_err(|error| Problem::internal(&error))?
        .map_err(|error| cannot(&error))
}

/// Plan a class session that is under way anew after something was recorded. Where no plan can be made the old one stays, and
/// the log says why.
pub(super) async fn plan_again(
    state: &AppState,
    id: PracticalId,
    who: PersonId,
    because: &str,
) -> Result<(), Problem> {
    let found = standing(state, id).await?;
    if found.state() != PracticalState::UnderWay {
        return Ok(());
    }
    let because = because.to_owned();
    let planned = tokio::task::spawn_blocking(move || planned_anew(&found, &because))
        .await
        .map_err(|error| Problem::internal(&error))?;
    match planned {
        Ok(Some(act)) => {
            let step = PracticalStep {
                practical: id,
                done: None,
                act,
            };
            super::append_one(state, who, Draft::new(Entry::PracticalStep(step))).await?;
        }
        Ok(None) => {}
        Err(error) => tracing::warn!(%error, "a class session could not be planned anew"),
    }
    Ok(())
}
