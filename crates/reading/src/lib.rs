//! Frames in, tubes and their moments out.

mod column;
mod frame;
mod image;
mod powder;
mod result;
mod steady;
mod tubes;
mod warp;

pub use frame::{Density, Frame, FrameRequest, FrameSource, Region, SourceInfo};
pub use result::{
    CurvePoint, Level, Moment, Outcome, Quality, QualityKind, Reading, Remark, RemarkKind,
    TubeFrame, TubeReading,
};

/// Development view into the engine; not part of the interface.
#[doc(hidden)]
pub mod probe;
