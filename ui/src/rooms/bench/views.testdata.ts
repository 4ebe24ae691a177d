/** Events as a bench tells them, for tests. */
import type { BenchView, LiveBench, RunView } from "../../api/live";

export const practice: LiveBench = {
  name: "Practice bench",
  places: 3,
  room_c: 22,
  max_c: 300,
  simulated: true,
  speed: 10,
  by_hand: false,
  keyed: false,
  browser_camera: false,
  open: true,
  problem: null,
};

export function aRun(more: Partial<RunView> = {}): RunView {
  return {
    time_s: 300,
    phase: "running",
    programme: {
      purpose: "measuring",
      legs: [
        { kind: "approach", to_c: 118 },
        { kind: "soak", minutes: 3 },
        { kind: "attend" },
        { kind: "scan", to_c: 126, rate_c_per_min: 1 },
        { kind: "cool", to_c: 100 },
      ],
    },
    leg: 3,
    leg_elapsed_s: 60,
    temperature_c: 118.9,
    wanted_c: 119,
    coaching: { advice: "hold", wanted_c_per_min: 1, actual_c_per_min: 0.97, warning: null },
    faults: [],
    tubes: [],
    marks: [],
    attend_left_s: null,
    estimate_c: null,
    events: [],
    recording: true,
    end: null,
    ...more,
  };
}

export function aView(more: Partial<BenchView> = {}): BenchView {
  return {
    time_s: 400,
    temperature_c: 118.9,
    thermometer: { state: "well" },
    heater: { state: "well" },
    camera: { state: "well" },
    picture: 7,
    passed_over: 0,
    engine_behind_s: 0,
    recording_trouble: null,
    run: null,
    run_id: null,
    recording_id: null,
    first_point: 0,
    new_points: [],
    ...more,
  };
}

export const point = (time_s: number, actual_c = 20 + time_s) => ({ time_s, actual_c, wanted_c: actual_c + 1 });
