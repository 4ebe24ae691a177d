//! The engine on simulated recordings with known truth, pictures handed over in memory.

mod film;
mod first_liquid;
mod live;
mod steadiness;
