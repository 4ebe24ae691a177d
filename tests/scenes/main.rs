//! The engine on simulated recordings with known truth, pictures handed over in memory.

mod film;
mod live;
mod steadiness;
