//! `frame_index.csv`: a line for each picture, written after the picture itself.

use crate::digest::Digest;
use crate::error::BookError;
use std::fmt::Write as _;
use std::path::Path;

/// The first line.
pub(crate) const HEADER: &str = "time_s,offset,bytes,sha256\n";

/// One picture in `frames.bin`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct FrameLine {
    /// On the clock of the pictures [s].
    pub time_s: f64,
    /// Its first byte.
    pub offset: u64,
    /// How many bytes it has.
    pub bytes: u64,
    /// SHA-256 of these bytes.
    pub sha256: Digest,
}

impl FrameLine {
    /// Where the next picture begins.
    pub fn end(&self) -> u64 {
        self.offset.saturating_add(self.bytes)
    }

    pub fn write(&self, text: &mut String) {
        // Numbers print with as many digits as reading them back exactly needs.
        let _ = writeln!(
            text,
            "{},{},{},{}",
            self.time_s, self.offset, self.bytes, self.sha256
        );
    }

    fn read(line: &str) -> Option<Self> {
        let mut cells = line.split(',');
        let mut cell = || cells.next();
        let found = Self {
            time_s: cell()?.parse().ok()?,
            offset: cell()?.parse().ok()?,
            bytes: cell()?.parse().ok()?,
            sha256: cell()?.parse().ok()?,
        };
        (cell().is_none() && found.time_s.is_finite()).then_some(found)
    }
}

/// What an index holds.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Index {
    /// Its pictures, in order.
    pub lines: Vec<FrameLine>,
    /// Bytes of the index up to the end of the last good line.
    pub good_bytes: u64,
    /// The first line that is not as it should be, from 1, with what is wrong.
    pub wrong: Option<(u64, String)>,
}

/// Read an index up to its first line that does not follow.
pub(crate) fn parse_index(text: &[u8]) -> Index {
    let mut index = Index::default();
    let Some(mut rest) = text.strip_prefix(HEADER.as_bytes()) else {
        index.wrong = (!text.is_empty()).then(|| (1, "is not the header".to_owned()));
        return index;
    };
    index.good_bytes = HEADER.len() as u64;
    let mut number = 1;
    while !rest.is_empty() {
        number += 1;
        let Some(len) = rest.iter().position(|&byte| byte == b'\n') else {
            index.wrong = Some((number, "has no end".to_owned()));
            break;
        };
        let (line, after) = rest.split_at(len + 1);
        rest = after;
        let line = String::from_utf8_lossy(line);
        let before = index.lines.last();
        let (end, before_s) =
            before.map_or((0, f64::NEG_INFINITY), |line| (line.end(), line.time_s));
        match FrameLine::read(line.trim_end_matches('\n')) {
            Some(found) if found.offset == end && found.time_s > before_s => {
                index.lines.push(found);
                index.good_bytes += len as u64 + 1;
            }
            Some(found) => {
                let what = format!(
                    "has a picture at {} s from byte {}; expected one after {before_s} s from byte {end}",
                    found.time_s, found.offset
                );
                index.wrong = Some((number, what));
                break;
            }
            None => {
                index.wrong = Some((
                    number,
                    format!(
                        "is \"{}\"; expected time_s,offset,bytes,sha256",
                        line.escape_debug().take(80).collect::<String>()
                    ),
                ));
                break;
            }
        }
    }
    index
}

/// Read an index that must be whole.
pub(crate) fn read_index(path: &Path) -> Result<Vec<FrameLine>, BookError> {
    let bytes = std::fs::read(path).map_err(|error| BookError::file(path, "read", error))?;
    let index = parse_index(&bytes);
    match index.wrong {
        None => Ok(index.lines),
        Some((line, what)) => Err(BookError::Damaged {
            path: path.into(),
            found: format!("line {line} {what}"),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn line(time_s: f64, offset: u64) -> FrameLine {
        FrameLine {
            time_s,
            offset,
            bytes: 3,
            sha256: Digest::of(b"abc"),
        }
    }

    proptest! {
        #[test]
        fn times_come_back_exactly(times in proptest::collection::btree_set(-1_000_000_000_i64..1_000_000_000, 0..20)) {
            let lines: Vec<FrameLine> = (0..)
                .zip(times)
                .map(|(at, time)| line(time as f64 / 3.0, 3 * at))
                .collect();
            let mut text = HEADER.to_owned();
            lines.iter().for_each(|line| line.write(&mut text));
            let index = parse_index(text.as_bytes());
            prop_assert_eq!(index.wrong, None);
            prop_assert_eq!(index.lines, lines);
            prop_assert_eq!(index.good_bytes as usize, text.len());
        }

        #[test]
        fn what_was_cut_off_is_the_beginning(cut in 0_usize..200) {
            let mut text = HEADER.to_owned();
            let lines = [line(0.0, 0), line(0.5, 3)];
            lines.iter().for_each(|line| line.write(&mut text));
            let cut = cut.min(text.len());
            let index = parse_index(&text.as_bytes()[..cut]);
            prop_assert!(lines.starts_with(&index.lines));
            prop_assert!(index.good_bytes as usize <= cut);
        }

        #[test]
        fn anything_else_is_no_index(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
            let index = parse_index(&bytes);
            prop_assert!(index.lines.is_empty());
        }
    }
}
