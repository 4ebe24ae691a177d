//! Thermometers: how far each can be relied on, its drift, its calibrations and what they change.

mod fit;
mod recompute;
mod standing;
mod view;

pub(crate) use fit::{fitted, plot};
pub(crate) use recompute::{Recomputed, differs, recompute};
pub(crate) use standing::Standings;
pub(crate) use view::{calibration_view, of_result, row, thermometer};
