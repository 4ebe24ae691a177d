/** Which steps of a first determination the book itself says are done. What it cannot know is left to a tick. */
import type { SampleDetail, ThermometerRow } from "../../api/types";
import type { StepName } from "../../words/guide";

/** `person`: whose determination it is; a reading counts only when it is theirs. */
export function noticed(
  detail: SampleDetail | null,
  thermometers: readonly ThermometerRow[],
  person: string,
): ReadonlySet<StepName> {
  const done = new Set<StepName>();
  if (thermometers.some((one) => one.state === "in_order")) done.add("thermometer");
  if (!detail) return done;
  done.add("sample");
  const { sample, tubes, recordings, determinations } = detail;
  if (sample.hazards?.trim()) done.add("hazards");
  const made = sample.preparation;
  if (made?.dried != null && made.ground != null && made.column_height_mm != null) done.add("fill");
  // A run may have been recorded twice; only different runs count as repeats.
  const runs = new Set(recordings.filter((row) => row.state !== "under_way").map((row) => row.run));
  if (runs.size >= 1) done.add("heat");
  if (runs.size >= 2) done.add("second");
  if (tubes.some((one) => one.reader.by === "person" && one.reader.person === person && one.reader.blind)) done.add("read");
  if (tubes.some((one) => one.reader.by === "engine" && one.tube.decision?.who === person)) done.add("opinion");
  if (detail.agreement?.agreed) done.add("agree");
  if (determinations.length) done.add("result");
  if (determinations[0] && determinations[0].convention !== "as_logged") done.add("correct");
  if (detail.verdicts.length) done.add("verdict");
  if (detail.sign_offs.some((one) => one.holds)) done.add("report");
  return done;
}
