//! Frames in, tubes and their moments out.

mod column;
mod ending;
mod first_liquid;
mod frame;
mod heap;
mod image;
mod last_crystal;
mod ledger;
mod live;
mod moments;
mod patch;
mod powder;
mod read;
mod remarks;
mod result;
mod scout;
mod standstill;
mod steady;
mod tube_reading;
mod tubes;
mod warp;
mod watch;

pub use frame::{Density, Frame, FrameRequest, FrameSource, Region, SourceInfo};
pub use live::{LiveReader, LiveStage, LiveTube};
pub use read::{ReadError, ReadOptions, read_recording};
pub use result::{
    CurvePoint, Level, Moment, Outcome, Quality, QualityKind, Reading, Remark, RemarkKind,
    TubeFrame, TubeReading,
};
