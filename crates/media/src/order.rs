//! Whether the rows of a table stand in order of time.

/// A table whose clock starts again overlaps itself by more rows than a few late ones [rows].
const RESTART_ROWS: usize = 10;

/// Line in the file, from 1, and time [s] of one row.
pub(crate) type RowTime = (u64, f64);

/// How the rows of a table follow each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Order {
    /// None is earlier than the one before; times may be equal.
    Rising,
    /// Some are late; sorting by time brings them where they belong.
    Late {
        /// Rows earlier than the row before.
        count: usize,
        /// Line of the first.
        first_line: u64,
    },
    /// The clock falls back and runs over the same time again: two tables in one.
    Restarts {
        /// Line of the first row after the fall.
        line: u64,
        /// Time before [s].
        before_s: f64,
        /// Time found [s].
        found_s: f64,
    },
}

impl Order {
    /// Of rows as they stand in the file.
    pub fn of(rows: &[RowTime]) -> Self {
        let falls: Vec<usize> = (1..rows.len())
            .filter(|&at| rows[at].1 < rows[at - 1].1)
            .collect();
        let Some(&first) = falls.first() else {
            return Self::Rising;
        };
        for (nth, &at) in falls.iter().enumerate() {
            let start = if nth == 0 { 0 } else { falls[nth - 1] };
            let end = falls.get(nth + 1).copied().unwrap_or(rows.len());
            if runs_again(&rows[start..at], &rows[at..end]) {
                return Self::Restarts {
                    line: rows[at].0,
                    before_s: rows[at - 1].1,
                    found_s: rows[at].1,
                };
            }
        }
        Self::Late {
            count: falls.len(),
            first_line: rows[first].0,
        }
    }
}

/// Whether a rising stretch runs over the same time as the rising stretch before it.
fn runs_again(before: &[RowTime], after: &[RowTime]) -> bool {
    let (Some(last), Some(first)) = (before.last(), after.first()) else {
        return false;
    };
    let again = after.iter().filter(|row| row.1 <= last.1);
    let overrun = before.iter().filter(|row| row.1 >= first.1);
    again.count() > RESTART_ROWS && overrun.count() > RESTART_ROWS
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(times: impl IntoIterator<Item = f64>) -> Vec<RowTime> {
        times
            .into_iter()
            .zip(2..)
            .map(|(time_s, line)| (line, time_s))
            .collect()
    }

    #[test]
    fn late_rows_are_told_from_a_second_table() {
        assert_eq!(Order::of(&[]), Order::Rising);
        assert_eq!(Order::of(&rows([1.0, 1.0, 2.0])), Order::Rising);
        assert_eq!(
            Order::of(&rows([1.0, 3.0, 2.0, 4.0])),
            Order::Late {
                count: 1,
                first_line: 4
            }
        );
        let falling = Order::of(&rows((0..100).rev().map(f64::from)));
        assert!(
            matches!(falling, Order::Late { count: 99, .. }),
            "{falling:?}"
        );
        let twice = (0..40).chain(0..40).map(f64::from);
        assert_eq!(
            Order::of(&rows(twice)),
            Order::Restarts {
                line: 42,
                before_s: 39.0,
                found_s: 0.0
            }
        );
    }
}
