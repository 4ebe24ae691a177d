//! When something was recorded: an instant, and the offset of the clock on the wall.

use jiff::Timestamp;
use jiff::tz::{Offset, TimeZone};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::fmt;
use std::str::FromStr;

/// An instant to the microsecond with its offset from UTC, as RFC 3339 writes it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct When {
    instant: Timestamp,
    offset: Offset,
}

/// A text that is no such time.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "\"{found}\" is not a time; expected RFC 3339 with an offset, such as 2026-11-25T18:04:00.25+01:00"
)]
pub struct WhenError {
    /// As given.
    pub found: String,
}

impl When {
    /// Now, with the offset of this machine's time zone.
    pub fn now() -> Self {
        Self::of(Timestamp::now(), &TimeZone::system())
    }

    /// An instant in a time zone, cut to the microsecond.
    pub fn of(instant: Timestamp, zone: &TimeZone) -> Self {
        let instant = Timestamp::from_microsecond(instant.as_microsecond())
            .expect("the microseconds of a time stamp are one");
        Self {
            instant,
            offset: zone.to_offset(instant),
        }
    }

    /// The instant.
    pub fn instant(self) -> Timestamp {
        self.instant
    }

    /// The date on the wall.
    pub fn date(self) -> jiff::civil::Date {
        self.offset.to_datetime(self.instant).date()
    }
}

impl fmt::Display for When {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.instant.display_with_offset(self.offset).fmt(formatter)
    }
}

impl FromStr for When {
    type Err = WhenError;

    fn from_str(text: &str) -> Result<Self, WhenError> {
        let wrong = || WhenError {
            found: text.chars().take(60).collect(),
        };
        let instant: Timestamp = text.parse().map_err(|_| wrong())?;
        let offset = jiff::fmt::temporal::Pieces::parse(text)
            .ok()
            .and_then(|pieces| pieces.to_numeric_offset())
            .ok_or_else(wrong)?;
        Ok(Self { instant, offset })
    }
}

impl Serialize for When {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for When {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_prints_as_it_parses() {
        for text in [
            "2026-11-25T18:04:00.25+01:00",
            "2026-11-25T17:04:00-03:30",
            "2026-11-25T17:04:00+00:00",
        ] {
            let when: When = text.parse().expect("RFC 3339");
            assert_eq!(when.to_string(), text);
        }
        assert!("yesterday".parse::<When>().is_err());
        assert!("2026-11-25T18:04:00".parse::<When>().is_err());
        let now = When::now();
        assert_eq!(now.to_string().parse(), Ok(now));
    }
}
