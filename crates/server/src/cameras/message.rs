//! Messages between a camera page and the server; `docs/server.md` describes the exchange.

use serde::{Deserialize, Serialize};

/// The version of the messages.
pub(super) const VERSION: u32 = 1;

/// Bytes before the JPEG in a picture's message.
const HEAD: usize = 16;

/// What a page says in text.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "type", rename_all = "snake_case", deny_unknown_fields)]
pub(super) enum FromPage {
    /// The first message.
    Hello(Hello),
    /// The answer to a ping, at once.
    Pong {
        /// The ping's number.
        number: u64,
        /// The page's monotonic clock [ms].
        page_ms: f64,
        /// Its wall clock [ms since 1970].
        wall_ms: f64,
    },
}

/// Who shows what.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Hello {
    /// [`VERSION`].
    pub version: u32,
    /// What the page calls itself as long as it is open; sequence numbers and clock belong to it.
    pub session: String,
    /// Who shows, on this machine's own pages.
    #[serde(default)]
    pub person: Option<String>,
    /// What the browser calls the camera.
    pub camera: String,
    /// Columns and rows of its pictures [px].
    pub size: [u32; 2],
    /// In place of a camera that shows already.
    #[serde(default)]
    pub take_over: bool,
}

/// What the server says.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "type", rename_all = "snake_case")]
pub(super) enum ToPage {
    /// Asks for the page's clocks.
    Ping {
        /// To be given back.
        number: u64,
    },
    /// Pictures may come.
    Welcome {
        /// The last picture taken of this session; none of it are known here without.
        after: Option<u64>,
    },
    /// This picture and those before are taken.
    Acknowledged {
        /// Which.
        sequence: u64,
    },
    /// How the clocks stand.
    Clock {
        /// Bench clock less the page's monotonic clock [s].
        offset_s: f64,
        /// It cannot be further off [s].
        at_most_s: f64,
    },
    /// The connection ends.
    Refused {
        /// Stable: `version`, `hello`, `person`, `held`, `taken_over`, `closed`, `message`.
        reason: &'static str,
        /// In words.
        why: String,
    },
}

/// A picture as it comes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shown<'a> {
    /// Counts from 0 within a session.
    pub sequence: u64,
    /// When it was captured by the page's monotonic clock [s].
    pub page_s: f64,
    /// JPEG.
    pub jpeg: &'a [u8],
}

/// Take a picture's message apart: sequence number (u64) and capture time in milliseconds (f64), both
/// least byte first, then the JPEG.
pub(super) fn shown(bytes: &[u8]) -> Result<Shown<'_>, &'static str> {
    let Some((head, jpeg)) = bytes.split_at_checked(HEAD) else {
        return Err("a picture's message of less than 16 bytes");
    };
    let (sequence, page_ms) = head.split_at(8);
    // Both halves have eight bytes.
    let sequence = u64::from_le_bytes(sequence.try_into().unwrap_or_default());
    let page_ms = f64::from_le_bytes(page_ms.try_into().unwrap_or_default());
    // Beyond this doubles do not count milliseconds any more, and sums could overflow.
    if !(page_ms.is_finite() && page_ms.abs() < 1e15) {
        return Err("a picture's time is no number");
    }
    if !jpeg.starts_with(&[0xFF, 0xD8, 0xFF]) {
        return Err("a picture that is no JPEG");
    }
    Ok(Shown {
        sequence,
        page_s: page_ms / 1000.0,
        jpeg,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pictures_are_taken_apart() {
        let mut message = 258_u64.to_le_bytes().to_vec();
        message.extend(1500.5_f64.to_le_bytes());
        message.extend([0xFF, 0xD8, 0xFF, 0xE0]);
        let found = shown(&message).expect("a picture");
        assert_eq!((found.sequence, found.jpeg.len()), (258, 4));
        assert!((found.page_s - 1.5005).abs() < 1e-12);
        assert!(shown(&message[..15]).is_err());
        assert!(shown(&message[..17]).is_err());
        message[8..16].copy_from_slice(&f64::NAN.to_le_bytes());
        assert!(shown(&message).is_err());
    }

    #[test]
    fn texts_are_as_described() {
        let hello =
            r#"{"type":"hello","version":1,"session":"a","camera":"Back","size":[640,480]}"#;
        assert!(matches!(
            serde_json::from_str(hello),
            Ok(FromPage::Hello(_))
        ));
        let more =
            r#"{"type":"hello","version":1,"session":"a","camera":"Back","size":[640,480],"x":1}"#;
        assert!(serde_json::from_str::<FromPage>(more).is_err());
        let said = serde_json::to_string(&ToPage::Welcome { after: None }).expect("JSON");
        assert_eq!(said, r#"{"type":"welcome","after":null}"#);
    }
}
