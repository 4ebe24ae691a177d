//! SHA-256 digests (FIPS 180-4), in hexadecimal.

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use sha2::{Digest as _, Sha256};
use std::fmt;
use std::io::{self, Read};
use std::str::FromStr;

/// A SHA-256 digest.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Digest([u8; 32]);

/// A text that is no digest.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{found}\" is not a digest; expected 64 hexadecimal digits in lower case")]
pub struct DigestError {
    /// As given.
    pub found: String,
}

/// Bytes read at a time: files are never held whole.
const PIECE: usize = 256 * 1024;

impl Digest {
    /// Of bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// Of everything that can be read, and how many bytes that is; `seen` hears how many so far.
    ///
    /// # Errors
    /// The reader's own.
    pub fn of_reader(mut from: impl Read, seen: &mut dyn FnMut(u64)) -> io::Result<(Self, u64)> {
        let mut running = Running::default();
        let mut piece = vec![0; PIECE];
        loop {
            let read = match from.read(&mut piece) {
                Ok(0) => return Ok(running.end()),
                Ok(read) => read,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                Err(error) => return Err(error),
            };
            running.add(&piece[..read]);
            seen(running.bytes);
        }
    }
}

/// A digest under way.
#[derive(Debug, Clone, Default)]
pub(crate) struct Running {
    sha256: Sha256,
    bytes: u64,
}

impl Running {
    pub fn add(&mut self, bytes: &[u8]) {
        self.sha256.update(bytes);
        self.bytes += bytes.len() as u64;
    }

    pub fn end(self) -> (Digest, u64) {
        (Digest(self.sha256.finalize().into()), self.bytes)
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0
            .iter()
            .try_for_each(|byte| write!(formatter, "{byte:02x}"))
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "Digest({self})")
    }
}

impl FromStr for Digest {
    type Err = DigestError;

    fn from_str(text: &str) -> Result<Self, DigestError> {
        let wrong = || DigestError {
            found: text.chars().take(70).collect(),
        };
        let digit = |letter: u8| match letter {
            b'0'..=b'9' => Ok(letter - b'0'),
            b'a'..=b'f' => Ok(letter - b'a' + 10),
            _ => Err(wrong()),
        };
        if text.len() != 64 {
            return Err(wrong());
        }
        let mut bytes = [0; 32];
        for (byte, pair) in bytes.iter_mut().zip(text.as_bytes().chunks_exact(2)) {
            *byte = digit(pair[0])? << 4 | digit(pair[1])?;
        }
        Ok(Self(bytes))
    }
}

impl Serialize for Digest {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Digest {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4 example "abc" (NIST, Cryptographic Standards: SHA-256 example values).
    #[test]
    fn the_standard_s_example() {
        let abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(Digest::of(b"abc").to_string(), abc);
        assert_eq!(abc.parse(), Ok(Digest::of(b"abc")));
        let (read, bytes) =
            Digest::of_reader(&b"abc"[..], &mut |_| ()).expect("memory can be read");
        assert_eq!((read, bytes), (Digest::of(b"abc"), 3));
        assert!("BA78".parse::<Digest>().is_err());
    }
}
