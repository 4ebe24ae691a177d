//! The file form of a session's order, the one that `meltrange session` reads.

use crate::problem::{Fault, Problem};
use axum::http::StatusCode;
use meltrange_planning::SessionOrder;

/// An order out of a file's text.
pub(crate) fn from_toml(text: &str) -> Result<SessionOrder, Problem> {
    toml::from_str(text).map_err(|error| {
        let line = error
            .span()
            .map(|span| text.as_bytes()[..span.start.min(text.len())].iter().filter(|&&byte| byte == b'\n').count() as u64 + 1);
        let place = line.map(|line| format!("line {line}: ")).unwrap_or_default();
        let detail = format!(
            "{place}{}; expected length_min, [policy], [[bench]] with name, places, room_c, start_c, heat_rate_c_per_min, cool_time_constant_min, max_c, and [[sample]] with id, first_liquid_c, last_crystal_c",
            error.message()
        );
        Problem {
            faults: vec![Fault {
                line,
                field: String::new(),
                found: error.message().to_owned(),
                expected: "an order of a session".into(),
            }],
            ..Problem::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "session-file",
                "The session file cannot be used",
                detail,
            )
        }
    })
}

/// The text of a file that says this.
pub(crate) fn to_toml(order: &SessionOrder) -> Result<String, Problem> {
    toml::to_string_pretty(order).map_err(|error| Problem::internal(&error))
}
