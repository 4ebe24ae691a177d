//! When the next check of a thermometer is due.

use serde::{Deserialize, Serialize};

/// How a thermometer stands with its checks, as far as time goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum Schedule {
    /// The last check is younger than the interval.
    InOrder,
    /// It is as old as the interval or older.
    Due,
    /// It is as old as two intervals or older: a check was missed.
    Overdue,
    /// There was none.
    NeverChecked,
}

/// Judge the days since the last check by the interval between checks [days].
///
/// The interval is the user's: per term or yearly, and after any change of the thermometer (common
/// practice, no source). That two intervals make "overdue" is ours. Checks of tomorrow count as of today.
pub fn schedule(days_since: Option<i64>, every_days: u32) -> Schedule {
    let every = i64::from(every_days.max(1));
    match days_since {
        None => Schedule::NeverChecked,
        Some(days) if days < every => Schedule::InOrder,
        Some(days) if days < 2 * every => Schedule::Due,
        Some(_) => Schedule::Overdue,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_check_grows_old() {
        for (days, expected) in [
            (None, Schedule::NeverChecked),
            (Some(-1), Schedule::InOrder),
            (Some(89), Schedule::InOrder),
            (Some(90), Schedule::Due),
            (Some(179), Schedule::Due),
            (Some(180), Schedule::Overdue),
        ] {
            assert_eq!(schedule(days, 90), expected, "{days:?}");
        }
    }
}
