//! One run: a programme, the person and the safety rules, without devices or clocks. What came in and
//! how late it is are arguments; what the heater is to be asked for comes out.

mod coach;
mod event;
mod guard;
mod heating;
mod observed;
mod phase;
mod rate;
mod steps;
#[cfg(test)]
mod tests;
mod view;

pub use coach::{Advice, Coaching, coach};
pub use event::{Fault, Happening, RunEvent};
pub use phase::{Phase, Trigger};
pub use rate::{Rate, RateEstimate};
pub use steps::{Press, Run, RunSettings};
pub use view::{ActiveFault, Look, Mark, MarkedMoment, RunView, TubeView};
