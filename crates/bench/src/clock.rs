//! The clock of one bench: seconds since it was opened, from a monotonic clock.

use std::time::Duration;
use tokio::time::Instant;

/// Seconds since a bench was opened; cheap to copy. A simulated bench's clock may run faster than
/// the wall's, real devices' never do.
#[derive(Debug, Clone, Copy)]
pub struct BenchClock {
    opened: Instant,
    speed: f64,
}

impl BenchClock {
    /// A clock that starts now and runs as fast as the wall's.
    pub fn start() -> Self {
        Self::start_at_speed(1.0)
    }

    /// A clock that starts now and runs `speed` times as fast as the wall's, 1 to 60.
    pub fn start_at_speed(speed: f64) -> Self {
        Self {
            opened: Instant::now(),
            speed: speed.clamp(1.0, 60.0),
        }
    }

    /// How many times as fast as the wall's clock.
    pub fn speed(&self) -> f64 {
        self.speed
    }

    /// Now [s].
    pub fn now_s(&self) -> f64 {
        self.opened.elapsed().as_secs_f64() * self.speed
    }

    /// What this clock showed at `instant` [s]; 0 for one before it was started.
    pub fn at_s(&self, instant: Instant) -> f64 {
        instant.saturating_duration_since(self.opened).as_secs_f64() * self.speed
    }

    /// Wait until this clock shows `time_s`; at once when it is past.
    pub async fn sleep_until_s(&self, time_s: f64) {
        let wall_s = (time_s / self.speed).clamp(0.0, 1e9);
        tokio::time::sleep_until(self.opened + Duration::from_secs_f64(wall_s)).await;
    }
}
