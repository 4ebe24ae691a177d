//! Video, pictures and temperature logs, in and out.
//!
//! In: whatever a person names as a recording ([`open`]) and its temperature log ([`read_log`]).
//! Out: frames on the log's clock through [`meltrange_reading::FrameSource`], a
//! [`meltrange_physics::TemperatureLog`], and typed remarks about what had to be mended.
//! `docs/models/media.md` says how times are defined and what is kept exact.

pub mod encode;
mod error;
mod frame_list;
mod opened;
mod order;
mod picture;
mod pictures;
mod remark;
mod shrink;
mod size;
mod table;
mod temperature_log;
mod thinning;
mod video;

pub use error::MediaError;
pub use frame_list::{FrameEntry, parse_frame_list};
pub use opened::{Opened, open};
pub use picture::{Luma, decode_luma};
pub use pictures::{PackedPicture, PictureSource};
pub use remark::MediaRemark;
pub use table::TableError;
pub use temperature_log::{LogError, LogRead, LogRemark, parse_temperature_log, read_log};
pub use video::{ColourPicture, VideoSource};
