//! A time on the wall with its offset.

use jiff::civil::DateTime;
use jiff::tz::Offset;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::fmt;
use std::str::FromStr;

/// Date and time of day to the second with the offset from UTC, as RFC 3339 writes it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stamp {
    local: DateTime,
    offset: Offset,
}

/// A text that is no such time.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "\"{found}\" is not a time; expected RFC 3339 with an offset, such as 2026-11-25T18:04:00+01:00"
)]
pub struct StampError {
    /// As given.
    pub found: String,
}

impl Stamp {
    /// Date and time on the wall.
    pub fn local(self) -> DateTime {
        self.local
    }

    /// Offset from UTC in whole minutes.
    pub fn offset_minutes(self) -> i32 {
        self.offset.seconds() / 60
    }
}

impl FromStr for Stamp {
    type Err = StampError;

    fn from_str(text: &str) -> Result<Self, StampError> {
        let wrong = || StampError {
            found: text.chars().take(60).collect(),
        };
        let instant: jiff::Timestamp = text.parse().map_err(|_| wrong())?;
        let offset = jiff::fmt::temporal::Pieces::parse(text)
            .ok()
            .and_then(|pieces| pieces.to_numeric_offset())
            .ok_or_else(wrong)?;
        let whole = jiff::Timestamp::from_second(instant.as_second()).map_err(|_| wrong())?;
        Ok(Self {
            local: offset.to_datetime(whole),
            offset,
        })
    }
}

impl fmt::Display for Stamp {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let minutes = self.offset_minutes();
        let sign = if minutes < 0 { '-' } else { '+' };
        let local = self.local;
        write!(
            formatter,
            "{:04}-{:02}-{:02}T{:02}:{:02}:{:02}{sign}{:02}:{:02}",
            local.year(),
            local.month(),
            local.day(),
            local.hour(),
            local.minute(),
            local.second(),
            minutes.abs() / 60,
            minutes.abs() % 60
        )
    }
}

impl Serialize for Stamp {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Stamp {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?
            .parse()
            .map_err(de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_read_is_written() {
        for text in ["2026-11-25T18:04:00+01:00", "2026-02-01T00:00:59-03:30"] {
            let stamp: Stamp = text.parse().expect("RFC 3339");
            assert_eq!(stamp.to_string(), text);
        }
        let finer: Stamp = "2026-11-25T18:04:00.25Z".parse().expect("RFC 3339");
        assert_eq!(finer.to_string(), "2026-11-25T18:04:00+00:00");
        assert!("yesterday".parse::<Stamp>().is_err());
    }
}
