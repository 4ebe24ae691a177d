//! Why a command could not do what was asked, in words for a person.

use std::error::Error;

/// Why a command ended without its result.
#[derive(Debug)]
pub(crate) enum Failure {
    /// The data, a file or a folder could not be used.
    Unusable {
        /// What was found, where, and what was expected.
        message: String,
        /// What to do next.
        hints: Vec<String>,
    },
    /// Whoever read our output has stopped reading: not a fault.
    PipeClosed,
}

impl Failure {
    /// A failure in plain words.
    pub fn new(message: impl Into<String>) -> Self {
        Self::Unusable {
            message: message.into(),
            hints: Vec::new(),
        }
    }

    /// The words of an error and of everything that led to it.
    pub fn of(error: &dyn Error) -> Self {
        let mut message = error.to_string();
        let mut cause = error.source();
        while let Some(deeper) = cause {
            let words = deeper.to_string();
            // Some errors already say their cause.
            if !message.contains(&words) {
                message.push_str(": ");
                message.push_str(&words);
            }
            cause = deeper.source();
        }
        Self::new(message)
    }

    /// The same with one more piece of advice.
    pub fn hint(mut self, advice: impl Into<String>) -> Self {
        if let Self::Unusable { hints, .. } = &mut self {
            hints.push(advice.into());
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Debug, thiserror::Error)]
    #[error("run.mp4 could not be read")]
    struct Outer(#[source] std::io::Error);

    #[test]
    fn causes_follow_their_error() {
        let inner = std::io::Error::other("the disk is gone");
        let Failure::Unusable { message, .. } = Failure::of(&Outer(inner)) else {
            panic!("an error is a failure");
        };
        assert_eq!(message, "run.mp4 could not be read: the disk is gone");
    }
}
