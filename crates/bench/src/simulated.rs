//! The simulated bench: a block with losses and dead time, its controller, and tubes that melt, behind
//! the same three device traits as real ones. Faults can be provoked.

mod devices;
mod faults;

pub use devices::{SimulatedCameraDevice, SimulatedHeater, SimulatedThermometerDevice};
pub use faults::{SimulatedFault, SimulatedFaults};

use crate::clock::BenchClock;
use crate::device::HeaterCommand;
use meltrange_physics::{
    BlockConstants, Celsius, Demand, Fan, HeatedBlock, MeltingError, SetpointController,
};
use meltrange_scene::{Scene, Stage, TubeTruth};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// The controller works in steps of this [s].
const STEP_S: f64 = 0.2;
/// Longest stretch that is caught up at once [s]; a clock that stood still for longer is not followed.
const LONGEST_S: f64 = 600.0;
/// Not asked for this long, the simulated controller falls back to off [s].
pub(crate) const DEAD_MAN_S: f64 = 10.0;

/// Losses with the fan off are so many times slower than with it on; a bench file gives the latter.
const STILL_AIR: f64 = 2.5;
/// A change of the power shows after this time [s].
const DEAD_TIME_S: f64 = 4.0;
/// Lag of the thermometer behind the block [s].
const SENSOR_S: f64 = 1.5;
/// Full power is so many times what an approach asks for: losses have to be made up for as well.
const POWER_IN_HAND: f64 = 2.2;

/// A simulated bench; cheap to clone, all clones are the same bench.
#[derive(Debug, Clone)]
pub struct SimulatedBench {
    pub(crate) clock: BenchClock,
    block: Arc<Mutex<Block>>,
    tubes: Arc<Mutex<Tubes>>,
    faults: SimulatedFaults,
}

/// Block and controller.
#[derive(Debug)]
struct Block {
    now_s: f64,
    block: HeatedBlock,
    controller: SetpointController,
    command: HeaterCommand,
    commanded_s: f64,
    /// Block temperatures that the tubes have not seen yet.
    course: Vec<(f64, f64)>,
}

/// What stands in the block.
#[derive(Debug)]
struct Tubes {
    scene: Scene,
    stage: Option<(f64, Stage)>,
    loads: u64,
}

impl SimulatedBench {
    /// A bench in equilibrium with its room. `scene` gives tubes, light and camera.
    ///
    /// # Errors
    /// [`MeltingError`] for a block that cannot be.
    pub fn new(
        clock: BenchClock,
        room_c: f64,
        heat_rate_c_per_min: f64,
        cool_time_constant_min: f64,
        scene: Scene,
    ) -> Result<Self, MeltingError> {
        let constants = BlockConstants {
            room_c,
            full_power_rate_c_per_min: POWER_IN_HAND * heat_rate_c_per_min,
            loss_time_constant_min: STILL_AIR * cool_time_constant_min,
            fan_time_constant_min: cool_time_constant_min,
            dead_time_s: DEAD_TIME_S,
            sensor_time_constant_s: SENSOR_S,
        };
        let block = Block {
            now_s: clock.now_s(),
            block: HeatedBlock::new(constants, Celsius(room_c))?,
            controller: SetpointController::new(constants)?,
            command: HeaterCommand::Off { fan: false },
            commanded_s: clock.now_s(),
            course: Vec::new(),
        };
        let bench = Self {
            clock,
            block: Arc::new(Mutex::new(block)),
            tubes: Arc::new(Mutex::new(Tubes {
                scene,
                stage: None,
                loads: 0,
            })),
            faults: SimulatedFaults::default(),
        };
        bench.set_in(None)?;
        Ok(bench)
    }

    /// Its faults, to be provoked and mended.
    pub fn faults(&self) -> &SimulatedFaults {
        &self.faults
    }

    /// Set fresh tubes in: of another scene, or of the same kind with other grains.
    ///
    /// # Errors
    /// [`MeltingError`] for tubes that cannot be.
    pub fn set_in(&self, scene: Option<Scene>) -> Result<(), MeltingError> {
        let mut tubes = locked(&self.tubes);
        let mut block = locked(&self.block);
        block.catch_up(self.clock.now_s(), &self.faults, self.clock.speed());
        if let Some(scene) = scene {
            tubes.scene = scene;
        }
        let mut scene = tubes.scene.clone();
        scene.seed = scene.seed.wrapping_add(tubes.loads);
        tubes.loads += 1;
        tubes.stage = Some((block.now_s, Stage::new(scene, block.block.block())?));
        block.course.clear();
        Ok(())
    }

    /// What really happened to the tubes since they were set in; times on the bench clock.
    pub fn truth(&self) -> Vec<TubeTruth> {
        let tubes = locked(&self.tubes);
        let Some((since_s, stage)) = &tubes.stage else {
            return Vec::new();
        };
        let mut truth = stage.truth();
        for tube in &mut truth {
            for moment in [&mut tube.first_liquid, &mut tube.last_crystal]
                .into_iter()
                .flatten()
            {
                moment.time_s += since_s;
            }
        }
        truth
    }

    /// The indication now [°C], without noise.
    pub(crate) fn indicated_c(&self, now_s: f64) -> f64 {
        let mut block = locked(&self.block);
        block.catch_up(now_s, &self.faults, self.clock.speed());
        block.block.indicated().0
    }

    pub(crate) fn ask(&self, command: HeaterCommand) {
        let now_s = self.clock.now_s();
        let mut block = locked(&self.block);
        block.catch_up(now_s, &self.faults, self.clock.speed());
        block.command = command;
        block.commanded_s = now_s;
    }

    /// Draw the tubes as they are at `now_s`; red, green, blue.
    pub(crate) fn picture(&self, now_s: f64) -> Option<(usize, usize, Vec<u8>)> {
        let mut tubes = locked(&self.tubes);
        let (since_s, stage) = tubes.stage.as_mut()?;
        let course = {
            let mut block = locked(&self.block);
            block.catch_up(now_s, &self.faults, self.clock.speed());
            std::mem::take(&mut block.course)
        };
        for (time_s, block_c) in course {
            if time_s > *since_s + stage.time_s() {
                stage.advance(time_s - *since_s, Celsius(block_c));
            }
        }
        let picture = stage.picture();
        Some((picture.width, picture.height, picture.rgb()))
    }
}

impl Block {
    fn catch_up(&mut self, now_s: f64, faults: &SimulatedFaults, speed: f64) {
        self.now_s = self.now_s.max(now_s - LONGEST_S);
        // At the wall's pace a hiccup of a second is no silence.
        let dead_man_s = DEAD_MAN_S.max(2.0 * speed);
        while self.now_s + STEP_S <= now_s {
            self.now_s += STEP_S;
            if self.now_s - self.commanded_s > dead_man_s {
                self.command = HeaterCommand::Off { fan: false };
            }
            let (power, fan) = if faults.has(SimulatedFault::HeaterStuck) {
                (1.0, Fan::Off)
            } else {
                self.drive()
            };
            let power = if faults.has(SimulatedFault::HeaterCold) {
                0.0
            } else {
                power
            };
            self.block.advance(STEP_S, power, fan);
            self.course.push((self.now_s, self.block.block().0));
        }
    }

    fn drive(&mut self) -> (f64, Fan) {
        match self.command {
            HeaterCommand::Off { fan: true } => (0.0, Fan::On),
            HeaterCommand::Off { fan: false } => (0.0, Fan::Off),
            HeaterCommand::Setpoint {
                setpoint_c,
                rate_c_per_min,
            } => {
                let demand = Demand {
                    setpoint: Celsius(setpoint_c),
                    slope_c_per_min: rate_c_per_min,
                };
                let drive = self
                    .controller
                    .update(demand, self.block.indicated(), STEP_S);
                (drive.power_fraction, drive.fan)
            }
        }
    }
}

/// A panic elsewhere leaves block and tubes whole: each change is one step.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a controller must do when the program that asks is killed.
    #[tokio::test]
    async fn not_asked_any_more_the_controller_falls_back_to_off() {
        let clock = BenchClock::start_at_speed(60.0);
        let bench = SimulatedBench::new(clock, 22.0, 15.0, 6.0, Scene::default()).expect("a block");
        let asked_until_s = clock.now_s() + 60.0;
        while clock.now_s() < asked_until_s {
            bench.ask(HeaterCommand::Setpoint {
                setpoint_c: 150.0,
                rate_c_per_min: 0.0,
            });
            clock.sleep_until_s(clock.now_s() + 1.0).await;
        }
        let asked_c = bench.indicated_c(clock.now_s());
        assert!(asked_c > 30.0, "{asked_c} °C");
        // On a clock sixty times as fast its dead-man time is two seconds of the wall's.
        clock.sleep_until_s(asked_until_s + 180.0).await;
        let highest_c = bench.indicated_c(clock.now_s());
        clock.sleep_until_s(asked_until_s + 300.0).await;
        let later_c = bench.indicated_c(clock.now_s());
        assert!(
            later_c < highest_c - 1.0,
            "{highest_c} °C, then {later_c} °C"
        );
    }
}
