//! Doubts about pictures that could be read all the same.

/// A doubt about the pictures; collected while they are delivered.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum MediaRemark {
    /// The pictures end before the end that the file states.
    #[error("the video was cut short: the last picture that can be decoded is at {last_s:.2} s{}; everything up to there was used", stated(.stated_end_s))]
    CutShort {
        /// Time of the last picture delivered [s], log clock.
        last_s: f64,
        /// Time of the last picture as the file states it [s], log clock, where it does.
        stated_end_s: Option<f64>,
    },
    /// The decoder complained; pictures may be blemished.
    #[error("the video is damaged; complaints of the decoder: {complaints}, the first \"{first}\"")]
    Damaged {
        /// Complaints in the worst pass.
        complaints: u64,
        /// The first of them.
        first: String,
    },
    /// Pictures whose time does not come after the one before; left out.
    #[error(
        "pictures whose time does not come after that of the picture before: {skipped} (first at {first_s:.3} s); left out"
    )]
    TimesNotRising {
        /// How many in the worst pass.
        skipped: u64,
        /// Time of the first [s], log clock.
        first_s: f64,
    },
    /// Rows of a list of pictures out of order; they were sorted.
    #[error(
        "{list}: rows earlier than the row before: {count} (first in line {first_line}); the pictures were sorted by time"
    )]
    OutOfOrder {
        /// The list.
        list: String,
        /// How many.
        count: usize,
        /// Line of the first.
        first_line: u64,
    },
    /// Pictures without a time; left out.
    #[error("pictures of which the file does not say when they were taken: {skipped}; left out")]
    WithoutTime {
        /// How many in the worst pass.
        skipped: u64,
    },
    /// The first picture is far from video time 0.
    #[error(
        "the first picture stands at {first_s:.3} s of the video's own clock, not at 0; video time 0 was taken as the file states it"
    )]
    StartsAwayFromZero {
        /// Time of the first picture [s], video clock.
        first_s: f64,
    },
    /// A listed picture could not be used; left out.
    #[error("{list}, line {line}: {file} {problem}; this picture was left out")]
    PictureUnusable {
        /// The list.
        list: String,
        /// Line in the list.
        line: u64,
        /// As the list names it.
        file: String,
        /// What is wrong with it.
        problem: String,
    },
    /// Further pictures could not be used; left out.
    #[error("further pictures of {list} that could not be used: {count}; left out")]
    MorePicturesUnusable {
        /// The list.
        list: String,
        /// How many besides those named.
        count: u64,
    },
}

fn stated(end_s: &Option<f64>) -> String {
    end_s.map_or_else(String::new, |end_s| {
        format!(" where {end_s:.2} s is stated as the end")
    })
}
