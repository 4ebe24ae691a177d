//! A picture of a temperature display in, digits or "unreadable" out.
//!
//! [`read_frame`] says what one [`Picture`] shows within a marked [`DisplayRegion`], or why that cannot
//! be told; a [`DisplayReader`] makes values of a series of pictures: seen again, and within reach of
//! the heating rate. No files, no clock; the same pictures give the same answers.
//! How it decides, and how far that goes: docs/models/display.md.
//!
//! ```
//! use meltrange_display::{DisplayRegion, DisplaySpec, Picture, Unreadable, read_frame};
//! let covered = vec![90; 160 * 60];
//! let picture = Picture::new(&covered, 160, 60)?;
//! let answer = read_frame(&picture, &DisplayRegion::WholePicture, &DisplaySpec::default());
//! assert!(matches!(answer, Err(Unreadable::LowContrast { .. })));
//! # Ok::<(), meltrange_display::PictureError>(())
//! ```

mod beside;
mod dots;
mod frame;
mod glyph;
mod line;
mod picture;
mod places;
mod point;
mod reader;
mod region;
mod segments;
mod shapes;
mod spec;
mod strip;
mod strokes;
mod unreadable;

pub use frame::{FrameReading, read_frame};
pub use picture::{Picture, PictureError};
pub use reader::{Acceptance, DisplayReader, DisplaySample};
pub use region::DisplayRegion;
pub use spec::{DigitStyle, DisplaySpec, Lit};
pub use unreadable::Unreadable;
