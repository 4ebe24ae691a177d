//! What ffmpeg says on its standard error while it decodes: one time stamp for each picture, and complaints.

use super::probe::TimeBase;

/// The time stamp of one picture, as the filter `showinfo` prints it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stamp {
    /// In units of the time base.
    At { pts: i64, time_base: TimeBase },
    /// The container does not say.
    Unknown,
}

/// What was said besides time stamps. Only counts and first words are kept.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Complaints {
    /// Lines at level error or worse.
    pub errors: u64,
    /// The first of them, without the decoder's internal addresses.
    pub first: String,
    /// The last of them.
    pub last: String,
    /// The file ended before its structure was complete.
    pub ended_early: bool,
}

/// Words by which ffmpeg's demuxers say that the file ends too soon (matroska, mov, avi, general).
const ENDED_EARLY: [&str; 4] = [
    "ended prematurely",
    "partial file",
    "truncated",
    "ends prematurely",
];

/// Reads the lines one by one.
#[derive(Debug)]
pub(super) struct Listener {
    time_base: TimeBase,
    pub complaints: Complaints,
}

impl Listener {
    /// `time_base` holds until the filter states its own.
    pub fn new(time_base: TimeBase) -> Self {
        Self {
            time_base,
            complaints: Complaints::default(),
        }
    }

    /// Take one line; a time stamp when it is one.
    ///
    /// A decoder's thread may complain while the filter prints its line in pieces: a complaint is
    /// looked for anywhere in the line.
    pub fn hear(&mut self, line: &str) -> Option<Stamp> {
        let complaint = ["[error] ", "[fatal] ", "[panic] "]
            .iter()
            .find_map(|level| line.find(level));
        if let Some(at) = complaint {
            // `[h264 @ 0x55d0c8] [error] ...`: who complains stands before the level.
            let from = line[..at].rfind('[').unwrap_or(at);
            self.complaints.errors += 1;
            let words = without_address(&line[from..]);
            if self.complaints.errors == 1 {
                self.complaints.first.clone_from(&words);
            }
            self.complaints.last = words;
        }
        if let Some(info) = line
            .split_once("[Parsed_showinfo")
            .and_then(|(_, rest)| rest.split_once("[info] "))
            .map(|(_, info)| info)
        {
            return self.hear_showinfo(info);
        }
        self.complaints.ended_early |= ENDED_EARLY.iter().any(|words| line.contains(words));
        None
    }

    fn hear_showinfo(&mut self, info: &str) -> Option<Stamp> {
        if let Some(config) = info.strip_prefix("config in time_base:") {
            if let Some(time_base) = config.split(',').next().and_then(TimeBase::parse) {
                self.time_base = time_base;
            }
            return None;
        }
        if !info.starts_with("n:") {
            return None;
        }
        let (_, rest) = info.split_once("pts:")?;
        let word = rest.split_whitespace().next()?;
        Some(word.parse().map_or(Stamp::Unknown, |pts| Stamp::At {
            pts,
            time_base: self.time_base,
        }))
    }
}

/// `[h264 @ 0x55d0c8] [error] no frame!` becomes `h264: no frame!`.
fn without_address(line: &str) -> String {
    let mut parts: Vec<&str> = Vec::new();
    let mut rest = line;
    while let Some(inner) = rest.strip_prefix('[') {
        let Some((tag, after)) = inner.split_once(']') else {
            break;
        };
        let name = tag.split(" @ ").next().unwrap_or(tag);
        if !matches!(name, "error" | "fatal" | "panic") {
            parts.push(name);
        }
        rest = after.trim_start();
    }
    let words: String = rest.chars().take(160).collect();
    if parts.is_empty() {
        words
    } else {
        format!("{}: {words}", parts.join(", "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stamps_carry_the_stated_time_base() {
        let mut listener = Listener::new(TimeBase { num: 1, den: 25 });
        let config =
            "[Parsed_showinfo_3 @ 0x5644] [info] config in time_base: 1/10240, frame_rate: 10/1";
        assert_eq!(listener.hear(config), None);
        let line = "[Parsed_showinfo_3 @ 0x5644] [info] n:   1 pts:  20480 pts_time:2       pos:   119225 fmt:gray";
        assert_eq!(
            listener.hear(line),
            Some(Stamp::At {
                pts: 20_480,
                time_base: TimeBase {
                    num: 1,
                    den: 10_240
                }
            })
        );
        let colour = "[Parsed_showinfo_3 @ 0x5644] [info] color_range:pc color_space:unknown";
        assert_eq!(listener.hear(colour), None);
        let mixed = "[Parsed_showinfo_3 @ 0x5644] [info] n:   2 pts:  20481 pts_time:2 [h264 @ 0x55d0] [error] no frame!";
        assert!(matches!(
            listener.hear(mixed),
            Some(Stamp::At { pts: 20_481, .. })
        ));
        assert_eq!(
            (
                listener.complaints.errors,
                listener.complaints.first.as_str()
            ),
            (1, "h264: no frame!")
        );
        let none = "[Parsed_showinfo_3 @ 0x5644] [info] n:   1 pts:  NOPTS pts_time:NOPTS";
        assert_eq!(listener.hear(none), Some(Stamp::Unknown));
        let negative = "[Parsed_showinfo_0 @ 0x1] [info] n:   0 pts:  -2048 pts_time:-0.2";
        assert!(matches!(
            listener.hear(negative),
            Some(Stamp::At { pts: -2048, .. })
        ));
    }

    #[test]
    fn complaints_are_counted_without_addresses() {
        let mut listener = Listener::new(TimeBase { num: 1, den: 25 });
        listener.hear("[h264 @ 0x55d0c8] [error] error while decoding MB 3 4");
        listener.hear("[matroska,webm @ 0x55aa] [error] File ended prematurely at pos. 9 (0x9)");
        assert_eq!(listener.complaints.errors, 2);
        assert_eq!(
            listener.complaints.first,
            "h264: error while decoding MB 3 4"
        );
        assert!(listener.complaints.ended_early);
    }
}
