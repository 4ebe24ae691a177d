//! Temperatures in messages and answers: a number by itself, or one in a JSON text.

use crate::pattern::quoted;
use serde_json::Value;

/// The temperature in a message [°C].
///
/// # Arguments
/// * `pointer`: where it stands in a JSON text (RFC 6901); none: the message is the number.
///
/// # Errors
/// What was found and what was expected, in words.
pub(crate) fn temperature(payload: &[u8], pointer: Option<&str>) -> Result<f64, String> {
    let text = String::from_utf8_lossy(payload);
    let Some(pointer) = pointer else {
        return number(text.trim());
    };
    let value: Value = serde_json::from_slice(payload)
        .map_err(|error| format!("{} is no JSON ({error}); expected JSON", quoted(&text)))?;
    match value.pointer(pointer) {
        Some(Value::Number(found)) => found
            .as_f64()
            .ok_or_else(|| format!("{found}; expected a smaller number")),
        Some(Value::String(found)) => number(found.trim()),
        Some(found) => Err(format!(
            "{} at {pointer}; expected a number",
            quoted(&found.to_string())
        )),
        None => Err(format!(
            "nothing at {pointer} in {}; expected a number",
            quoted(&text)
        )),
    }
}

/// A number as it is written with a decimal point.
pub(crate) fn number(text: &str) -> Result<f64, String> {
    text.parse().map_err(|_| {
        let comma = text.contains(',') && text.replacen(',', ".", 1).parse::<f64>().is_ok();
        if comma {
            format!(
                "{} has a decimal comma; expected a decimal point",
                quoted(text)
            )
        } else {
            format!("{}; expected a number", quoted(text))
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_found_where_they_stand() {
        assert_eq!(temperature(b" 121.6\n", None), Ok(121.6));
        let json = br#"{"block":{"temperature_c":121.6,"text":"99.5","a/b":[1,2]}}"#;
        for (pointer, found) in [
            ("/block/temperature_c", 121.6),
            ("/block/text", 99.5),
            // RFC 6901, section 3: ~1 stands for a slash.
            ("/block/a~1b/1", 2.0),
        ] {
            assert_eq!(temperature(json, Some(pointer)), Ok(found));
        }
        assert_eq!(temperature(b"121.6", Some("")), Ok(121.6));
    }

    #[test]
    fn anything_else_is_said_to_be_so() {
        for (payload, pointer, part) in [
            (&b"121,6"[..], None, "decimal comma"),
            (b"warm", None, "\"warm\"; expected a number"),
            (b"", None, "expected a number"),
            (b"{", Some("/a"), "no JSON"),
            (b"{\"a\":null}", Some("/a"), "null"),
            (b"{\"a\":1}", Some("/b"), "nothing at /b"),
            (b"{\"a\":\"121,6\"}", Some("/a"), "decimal comma"),
            (b"\xff\xfe", None, "expected a number"),
        ] {
            let error = temperature(payload, pointer).expect_err(part);
            assert!(error.contains(part), "{part} not in: {error}");
        }
    }
}
