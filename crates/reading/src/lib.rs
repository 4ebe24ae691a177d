//! Frames in, tubes and their moments out.

mod frame;
mod result;

pub use frame::{Density, Frame, FrameRequest, FrameSource, SourceInfo};
pub use result::{
    CurvePoint, Level, Moment, Outcome, Quality, QualityKind, Reading, Remark, RemarkKind,
    TubeFrame, TubeReading,
};
