//! The simulated bench view.
