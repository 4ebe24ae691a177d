//! The table of permissions: every route, every role, one decision. It is the only one there is.
//!
//! The door of a guarded book asks it before any handler is reached, and refuses what is not in it. A test
//! goes through the interface's description: a route without a decision, a decision without a route, and a
//! decision that is not what is answered are failures.

use axum::http::Method;
use meltrange_labbook::Role;

/// What a role may do with a route.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum May {
    /// All of it.
    Always,
    /// With what is their own, or what they have read themselves; the handler looks at that.
    Own,
    /// Nothing.
    Never,
}

/// Who may use a route.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rule {
    /// Whoever knocks.
    Anybody,
    /// Supervisor, analyst, student, viewer.
    Roles([May; 4]),
    /// The same, but with a session: a token does not do.
    InPerson([May; 4]),
}

impl Rule {
    /// What this role may.
    pub fn may(self, role: Role) -> May {
        let [supervisor, analyst, student, viewer] = match self {
            Self::Anybody => return May::Always,
            Self::Roles(all) | Self::InPerson(all) => all,
        };
        match role {
            Role::Supervisor => supervisor,
            Role::Analyst => analyst,
            Role::Student => student,
            Role::Viewer => viewer,
        }
    }
}

const ALL: Rule = Rule::Roles([May::Always; 4]);
/// Students only what they have read themselves: opinions are kept back until then.
const ALL_ONCE_READ: Rule = Rule::Roles([May::Always, May::Always, May::Own, May::Always]);
/// Whoever works at the bench; a viewer looks.
const WORKS: Rule = Rule::Roles([May::Always, May::Always, May::Always, May::Never]);
/// Whoever answers for results; a student with what is theirs.
const OWN_OR_ANSWERS: Rule = Rule::Roles([May::Always, May::Always, May::Own, May::Never]);
/// Whoever works, with what is theirs alone.
const OWN_WORK: Rule = Rule::Roles([May::Own, May::Own, May::Own, May::Never]);
const WORKS_ONCE_READ: Rule = Rule::Roles([May::Always, May::Always, May::Own, May::Never]);
/// Whoever answers for results.
const ANSWERS: Rule = Rule::Roles([May::Always, May::Always, May::Never, May::Never]);
/// The same, but a person's own hand: no program signs.
const SIGNS: Rule = Rule::InPerson([May::Always, May::Always, May::Never, May::Never]);
/// The whole book, for whoever may see all of it.
const SEES_ALL: Rule = Rule::Roles([May::Always, May::Always, May::Never, May::Always]);
const DECIDES: Rule = Rule::Roles([May::Always, May::Never, May::Never, May::Never]);
const SUPERVISES: Rule = Rule::InPerson([May::Always, May::Never, May::Never, May::Never]);
const MYSELF: Rule = Rule::InPerson([May::Own; 4]);

/// Method, path, who.
const TABLE: &[(&str, &str, Rule)] = &[
    // Coming in.
    ("GET", "/api/me", Rule::Anybody),
    ("POST", "/api/login", Rule::Anybody),
    ("POST", "/api/invitations/accept", Rule::Anybody),
    ("POST", "/api/sign-in", Rule::Anybody),
    ("GET", "/api/sign-in/return", Rule::Anybody),
    ("POST", "/api/logout", MYSELF),
    ("POST", "/api/me/passphrase", MYSELF),
    ("GET", "/api/me/sessions", MYSELF),
    ("DELETE", "/api/me/sessions", MYSELF),
    ("DELETE", "/api/me/sessions/{id}", MYSELF),
    ("GET", "/api/me/tokens", MYSELF),
    ("POST", "/api/me/tokens", MYSELF),
    ("DELETE", "/api/me/tokens/{id}", MYSELF),
    // People. Whoever adds people says what they may: that is a supervisor's.
    ("GET", "/api/people", ALL),
    ("POST", "/api/people", SUPERVISES),
    ("GET", "/api/accounts", SUPERVISES),
    ("POST", "/api/people/{id}/invitation", SUPERVISES),
    ("POST", "/api/people/{id}/lock", SUPERVISES),
    ("POST", "/api/people/{id}/unlock", SUPERVISES),
    ("GET", "/api/access-log", SUPERVISES),
    ("GET", "/api/groups", SUPERVISES),
    ("POST", "/api/groups", SUPERVISES),
    ("DELETE", "/api/groups/{id}", SUPERVISES),
    ("PUT", "/api/groups/{id}/members/{person}", SUPERVISES),
    ("DELETE", "/api/groups/{id}/members/{person}", SUPERVISES),
    ("POST", "/api/groups/{id}/lock", SUPERVISES),
    ("POST", "/api/groups/{id}/unlock", SUPERVISES),
    // The book as a whole.
    ("GET", "/api/book", ALL),
    ("GET", "/api/book/archive.zip", SEES_ALL),
    ("GET", "/api/book/tables/{name}", SEES_ALL),
    ("GET", "/api/events", ALL),
    ("GET", "/api/today", ALL),
    ("GET", "/api/work/{id}", ALL),
    // Benches and standards.
    ("GET", "/api/benches", ALL),
    ("POST", "/api/benches", ANSWERS),
    ("GET", "/api/standards", ALL),
    ("POST", "/api/standards", WORKS),
    ("POST", "/api/standards/{id}", ANSWERS),
    ("GET", "/api/thermometers", ALL),
    ("GET", "/api/thermometers/{bench}", ALL),
    ("POST", "/api/thermometers/{bench}", ANSWERS),
    ("POST", "/api/thermometers/{bench}/checks", WORKS),
    // A student changes checks that they recorded.
    ("POST", "/api/checks/{id}", WORKS_ONCE_READ),
    ("POST", "/api/thermometers/{bench}/calibrations", ANSWERS),
    (
        "POST",
        "/api/thermometers/{bench}/calibrations/try",
        ANSWERS,
    ),
    ("POST", "/api/calibrations/{id}/withdraw", ANSWERS),
    // Samples, and what is said of them.
    ("GET", "/api/samples", ALL),
    ("POST", "/api/samples", WORKS),
    ("POST", "/api/samples/import", WORKS),
    ("GET", "/api/samples/{id}", ALL),
    ("POST", "/api/samples/{id}", WORKS),
    ("GET", "/api/samples/{id}/archive.zip", SEES_ALL),
    ("GET", "/api/samples/{id}/curves.csv", ALL_ONCE_READ),
    ("GET", "/api/samples/{id}/curves.png", ALL_ONCE_READ),
    ("GET", "/api/samples/{id}/curves.svg", ALL_ONCE_READ),
    ("GET", "/api/samples/{id}/report.html", ALL_ONCE_READ),
    ("GET", "/api/samples/{id}/report.pdf", ALL_ONCE_READ),
    ("GET", "/api/samples/{id}/sentences", ALL_ONCE_READ),
    ("GET", "/api/report.pdf", ALL_ONCE_READ),
    ("POST", "/api/samples/{id}/determinations", WORKS_ONCE_READ),
    (
        "POST",
        "/api/samples/{id}/determinations/try",
        WORKS_ONCE_READ,
    ),
    ("POST", "/api/samples/{id}/verdicts", WORKS_ONCE_READ),
    ("POST", "/api/samples/{id}/verdicts/try", WORKS_ONCE_READ),
    ("POST", "/api/samples/{id}/sign-offs", SIGNS),
    ("POST", "/api/sign-offs/{id}/withdraw", ANSWERS),
    // Files on their way in.
    ("POST", "/api/archives", DECIDES),
    ("POST", "/api/uploads", WORKS),
    ("DELETE", "/api/uploads/{id}", WORKS),
    ("GET", "/api/uploads/{id}/log", WORKS),
    ("GET", "/api/uploads/{id}/picture", WORKS),
    ("GET", "/api/uploads/{id}/preview", WORKS),
    ("POST", "/api/imports", WORKS),
    ("POST", "/api/past-results", WORKS),
    ("POST", "/api/past-results/preview", WORKS),
    ("POST", "/api/past-results/{id}/void", WORKS_ONCE_READ),
    // Recordings and readings.
    ("GET", "/api/recordings", ALL),
    ("GET", "/api/recordings/{id}", ALL),
    ("GET", "/api/recordings/{id}/frames", ALL),
    ("GET", "/api/recordings/{id}/frames/{n}", ALL),
    ("GET", "/api/recordings/{id}/log", ALL),
    ("GET", "/api/recordings/{id}/recording.mkv", ALL),
    ("POST", "/api/recordings/{id}/read", WORKS),
    ("POST", "/api/recordings/{id}/readings", WORKS),
    ("POST", "/api/recordings/{id}/mixed-melting", ALL_ONCE_READ),
    ("GET", "/api/readings/{id}", ALL),
    ("POST", "/api/readings/{id}/decisions", WORKS),
    // Many recordings read again. What that does to a book is a supervisor's to decide.
    ("GET", "/api/rereadings", SEES_ALL),
    ("POST", "/api/rereadings", DECIDES),
    ("GET", "/api/rereadings/{id}", SEES_ALL),
    ("GET", "/api/rereadings/{id}/tubes", SEES_ALL),
    ("POST", "/api/rereadings/{id}/accept", DECIDES),
    ("POST", "/api/rereadings/{id}/drop", DECIDES),
    ("POST", "/api/rereadings/{id}/try-again", DECIDES),
    ("POST", "/api/rereadings/{id}/left-out", DECIDES),
    // Benches at work. That a page looks keeps a heater on: a viewer's does not count.
    ("GET", "/api/live", ALL),
    ("GET", "/api/live/{bench}/events", ALL),
    ("GET", "/api/live/{bench}/picture", ALL),
    ("GET", "/api/live/{bench}/learned", ALL),
    ("GET", "/api/live/{bench}/camera", WORKS),
    ("POST", "/api/live/{bench}/camera-pass", ANSWERS),
    ("DELETE", "/api/live/{bench}/camera-pass", ANSWERS),
    ("POST", "/api/live/{bench}/open", WORKS),
    ("POST", "/api/live/{bench}/close", WORKS),
    ("POST", "/api/live/{bench}/plan", ALL),
    ("POST", "/api/live/{bench}/runs", WORKS),
    ("POST", "/api/live/{bench}/press", WORKS),
    ("POST", "/api/live/{bench}/seen", WORKS),
    ("POST", "/api/live/{bench}/temperature", WORKS),
    ("POST", "/api/live/{bench}/faults", WORKS),
    ("POST", "/api/live/{bench}/learn", ANSWERS),
    // Worked out, not recorded.
    ("GET", "/api/programmes/benches", ALL),
    ("GET", "/api/programmes/procedures", ALL),
    ("GET", "/api/programmes/expected/{sample}", ALL),
    ("POST", "/api/programmes/plan", ALL),
    ("POST", "/api/candidates", ALL),
    ("POST", "/api/mixtures", ALL),
    ("POST", "/api/mixed-meltings", ALL),
    ("POST", "/api/purities", ALL),
    ("GET", "/api/library", ALL),
    ("GET", "/api/library/expected", ALL),
    ("GET", "/api/library/own", ALL),
    ("PUT", "/api/library/own", ANSWERS),
    // Sessions at the benches.
    ("POST", "/api/session-files/read", ALL),
    ("POST", "/api/session-files/write", ALL),
    ("POST", "/api/session-plans", ALL),
    ("POST", "/api/session-plans/relaxations", ALL),
    ("POST", "/api/session-plans/replan", ALL),
    ("POST", "/api/session-plans/retime", ALL),
    ("POST", "/api/session-plans/savings", ALL),
    ("GET", "/api/sessions", ALL),
    ("GET", "/api/sessions/{name}", ALL),
    ("PUT", "/api/sessions/{name}", WORKS),
    ("GET", "/api/sessions/{name}/calendar.ics", ALL),
    // Practice: one's own, and everybody's for those who answer for results.
    ("GET", "/api/practice/next", WORKS),
    ("GET", "/api/practice/exercises/{kind}/{seed}", WORKS),
    (
        "GET",
        "/api/practice/exercises/{kind}/{seed}/pictures/{n}",
        ALL,
    ),
    ("GET", "/api/practice/recordings", WORKS),
    ("POST", "/api/practice/attempts", WORKS),
    ("GET", "/api/practice/progress", WORKS),
    ("GET", "/api/practice/progress/{person}", OWN_OR_ANSWERS),
    ("GET", "/api/practice/readers", ANSWERS),
    ("GET", "/api/readers/comparison", ANSWERS),
    ("GET", "/api/readers/agreement", ANSWERS),
    ("GET", "/api/handout", ALL),
    ("GET", "/api/handout/pictures/{name}", ALL),
    // Class sessions. What is in the vials is for those who run them; whoever sits there sees their own seat.
    ("GET", "/api/practicals", ANSWERS),
    ("POST", "/api/practicals", ANSWERS),
    ("POST", "/api/practicals/unknowns", ANSWERS),
    ("POST", "/api/practicals/join", Rule::Anybody),
    ("GET", "/api/practicals/{id}/board", ANSWERS),
    ("GET", "/api/practicals/{id}/labels", ANSWERS),
    ("GET", "/api/practicals/{id}/gradebook.csv", ANSWERS),
    ("POST", "/api/practicals/{id}/steps", ANSWERS),
    ("GET", "/api/practicals/{id}/seat", OWN_WORK),
    ("POST", "/api/practicals/{id}/seat/steps", OWN_WORK),
];

/// The decision on a route; none where nobody made one.
pub(super) fn rule(method: &Method, path: &str) -> Option<Rule> {
    let method = match *method {
        Method::HEAD => "GET",
        _ => method.as_str(),
    };
    TABLE
        .iter()
        .find(|(one, route, _)| *one == method && *route == path)
        .map(|(_, _, rule)| *rule)
}

/// Whether there is a decision on this path in any way.
pub(super) fn knows(path: &str) -> bool {
    TABLE.iter().any(|(_, route, _)| *route == path)
}

/// The whole table: method, path, and who may.
pub fn permissions() -> impl Iterator<Item = (&'static str, &'static str, Rule)> {
    TABLE.iter().copied()
}
