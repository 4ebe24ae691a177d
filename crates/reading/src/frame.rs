//! What the engine asks of whoever has the pictures.

use std::ops::ControlFlow;

/// One picture: borrowed luma and its time.
#[derive(Debug, Clone, Copy)]
pub struct Frame<'a> {
    /// Time on the temperature log's clock [s].
    pub time_s: f64,
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// `height × width`, row-major, 0..=255, no padding.
    pub luma: &'a [u8],
}

/// Which frames the engine wants next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrameRequest {
    /// From this time on [s], log clock.
    pub from_s: f64,
    /// Up to this time, inclusive [s], log clock.
    pub to_s: f64,
    /// How closely.
    pub density: Density,
}

/// How closely frames are wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Density {
    /// Only pictures that decode on their own, whatever their spacing; a source for which every
    /// picture is such a one may thin them to about `spacing_s`.
    KeyFrames {
        /// No need for more than one every so many seconds.
        spacing_s: f64,
    },
    /// Every frame at least this much later than the one delivered before; 0 means all.
    Spaced {
        /// Least spacing [s].
        spacing_s: f64,
    },
}

/// What is known of the pictures before any is decoded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SourceInfo {
    /// Columns of the frames delivered (after any scaling by the source).
    pub width: usize,
    /// Rows of the frames delivered.
    pub height: usize,
    /// Source pixels per delivered pixel (1 when not scaled down).
    pub source_px_per_px: f64,
    /// First frame's time [s], log clock, as the container states it.
    pub start_s: f64,
    /// Last frame's time [s], log clock, as the container states it; may be off for damaged files.
    pub end_s: f64,
    /// Typical spacing of the frames [s].
    pub frame_interval_s: f64,
    /// Whether `Density::KeyFrames` costs much less than decoding everything.
    pub cheap_key_frames: bool,
}

/// A part of the delivered picture [delivered pixels].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Region {
    /// First column.
    pub x: usize,
    /// First row.
    pub y: usize,
    /// Columns, at least 1.
    pub width: usize,
    /// Rows, at least 1.
    pub height: usize,
}

/// Where pictures come from. The engine may ask several times for overlapping spans.
pub trait FrameSource {
    /// Why pictures could not be had.
    type Error;

    /// What is known beforehand.
    fn info(&self) -> SourceInfo;

    /// Deliver only this part of each picture from the next `deliver` on; `None` brings the whole
    /// picture back. Frames then have the region's size, and `info` goes on describing the whole
    /// picture. A region that reaches over the edge is cut to the picture; sources that cannot
    /// cut ignore the wish, so look at the size of the frames.
    fn set_region(&mut self, region: Option<Region>) {
        let _ = region;
    }

    /// Deliver the frames of `request` in order of time to `sink` until it says stop.
    ///
    /// # Errors
    /// The source's own; frames delivered before the error stay valid.
    fn deliver(
        &mut self,
        request: FrameRequest,
        sink: &mut dyn FnMut(Frame<'_>) -> ControlFlow<()>,
    ) -> Result<(), Self::Error>;
}
