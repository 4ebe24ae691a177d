import { expect, test } from "vitest";
import { learned, uncertain } from "./learned";

test("a value has the places its uncertainty has", () => {
  expect(uncertain(20.123, 0.08)).toBe("20.123 ± 0.080");
  expect(uncertain(20.123, 0.8)).toBe("20.12 ± 0.80");
  expect(uncertain(226.4, 63)).toBe("226 ± 63");
  expect(uncertain(5, 0)).toBe("5.00 ± 0.00");
});

test("a heater that was never asked for all it has is not said to be known", () => {
  const constant = { value: 16, standard_uncertainty: 0.1 };
  const found = {
    full_power_rate_c_per_min: constant,
    loss_time_constant_min: constant,
    fan_time_constant_min: constant,
    dead_time_s: constant,
    sensor_time_constant_s: constant,
    approach: { setpoint: "led", rate_c_per_min: 15, tapers: true },
  } as Parameters<typeof learned.rows>[0];
  const rows = learned.rows(found);
  expect(rows[0]?.value).toBe("16 or more");
  expect(rows.map((row) => row.name)).not.toContain("Losses, fan off");
  expect(rows.map((row) => row.name)).toContain("Dead time and sensor lag");
  const jumps = learned.rows({ ...found, approach: { setpoint: "jump" } });
  expect(jumps).toHaveLength(5);
});
