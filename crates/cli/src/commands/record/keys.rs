//! Words typed during a run.

use meltrange_bench::{MarkedMoment, Press};
use std::io::BufRead as _;
use tokio::sync::mpsc;

/// What a line asks for.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Key {
    Press(Press),
    Mark(u8, MarkedMoment),
    Temperature(f64),
    Unknown(String),
}

impl Key {
    pub fn of(line: &str) -> Self {
        let line = line.trim().to_lowercase();
        let place = |text: &str| text.trim().parse::<u8>().ok();
        let marked = |word: &str, moment| {
            let number = line.strip_prefix(word).and_then(place);
            number.map(|number| Self::Mark(number, moment))
        };
        match line.as_str() {
            "" | "attend" => return Self::Press(Press::Attend),
            "hold" => return Self::Press(Press::Hold),
            "pause" => return Self::Press(Press::Pause),
            "resume" => return Self::Press(Press::Resume),
            "skip" => return Self::Press(Press::Skip),
            "stop" => return Self::Press(Press::Stop),
            _ => {}
        }
        marked("first", MarkedMoment::FirstLiquid)
            .or_else(|| marked("last", MarkedMoment::LastCrystal))
            .or_else(|| {
                let number: f64 = line.parse().ok()?;
                number.is_finite().then_some(Self::Temperature(number))
            })
            .unwrap_or(Self::Unknown(line))
    }
}

/// Lines of the terminal as they come; none when there is no terminal or it is closed.
pub(super) fn read_keys() -> mpsc::UnboundedReceiver<Key> {
    let (to, keys) = mpsc::unbounded_channel();
    std::thread::spawn(move || {
        for line in std::io::stdin().lock().lines() {
            let Ok(line) = line else { return };
            if to.send(Key::of(&line)).is_err() {
                return;
            }
        }
    });
    keys
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_mean_what_they_say() {
        assert_eq!(Key::of(" \n"), Key::Press(Press::Attend));
        assert_eq!(Key::of("Stop"), Key::Press(Press::Stop));
        assert_eq!(Key::of("first 2"), Key::Mark(2, MarkedMoment::FirstLiquid));
        assert_eq!(Key::of("last3"), Key::Mark(3, MarkedMoment::LastCrystal));
        assert_eq!(Key::of("121.5"), Key::Temperature(121.5));
        for odd in ["121,5", "nan", "first", "first 300", "quit"] {
            assert_eq!(Key::of(odd), Key::Unknown(odd.into()), "{odd}");
        }
    }
}
