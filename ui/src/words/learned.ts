/** Words of what is learned of a bench from its runs. */
import type { BenchLearning } from "../api/live";

type Learned = NonNullable<BenchLearning["learned"]>;

/** A value with its standard uncertainty, to as many places as that has two digits for. */
export function uncertain(value: number, standardUncertainty: number): string {
  const places = standardUncertainty > 0 ? Math.min(3, Math.max(0, 1 - Math.floor(Math.log10(standardUncertainty)))) : 2;
  return `${value.toFixed(places)} ± ${standardUncertainty.toFixed(places)}`;
}

export const learned = {
  title: "How this bench heats",
  nothing:
    "Nothing was learned yet: times of approach and cooling are those of the bench file or of an ordinary block. After some runs at different temperatures, each with its cooling, learn from them.",
  from: (logs: number, highest_c: number) =>
    `From ${logs} ${logs === 1 ? "run" : "runs"}, up to ${highest_c.toFixed(0)} °C. Value ± standard uncertainty.`,
  learn: (logs: number) =>
    logs === 0 ? "No runs to learn from yet" : `Learn from the latest ${logs === 1 ? "run" : `${Math.min(logs, 10)} runs`}`,
  learning: "Learning; this takes some seconds",
  fresh: "Written into the bench file. This bench takes it when it is opened anew; plans take it at once.",
  doubt: "Have this looked at:",
  rows(found: Learned): { name: string; value: string; unit: string }[] {
    const led = found.approach.setpoint === "led";
    const row = (name: string, constant: { value: number; standard_uncertainty: number }, unit: string) => ({
      name,
      value: uncertain(constant.value, constant.standard_uncertainty),
      unit,
    });
    return [
      led
        ? { name: "Heater limit", value: `${found.full_power_rate_c_per_min.value.toFixed(0)} or more`, unit: "°C/min; never asked for all" }
        : row("Heater limit", found.full_power_rate_c_per_min, "°C/min, cold block"),
      row("Losses, fan off", found.loss_time_constant_min, "min"),
      row("Cooling, fan on", found.fan_time_constant_min, "min"),
      ...(led
        ? [
            {
              name: "Dead time and sensor lag",
              value: `about ${(found.dead_time_s.value + found.sensor_time_constant_s.value).toFixed(0)}`,
              unit: "s together; told apart only at full power",
            },
          ]
        : [row("Dead time", found.dead_time_s, "s"), row("Sensor lag", found.sensor_time_constant_s, "s")]),
    ].filter((one) => !led || one.name !== "Losses, fan off");
  },
};
