/** Where each step of a first determination is done. */
import type { SampleDetail } from "../../api/types";
import { to } from "../../router.svelte";
import type { StepName } from "../../words/guide";

/** The newest recording that a person has not read yet, else the newest. */
export function recordingFor(detail: SampleDetail | null, person: string): string | null {
  const read = new Set(
    detail?.tubes.flatMap((one) => (one.reader.by === "person" && one.reader.person === person ? [one.recording] : [])),
  );
  const rows = detail?.recordings.filter((row) => row.state !== "under_way") ?? [];
  return (rows.find((row) => !read.has(row.id)) ?? rows[0])?.id ?? null;
}

/** The address of a step's page, and whether it is the very page or only the way there. */
export function placeOf(step: StepName, detail: SampleDetail | null, person: string): { address: string; there: boolean } {
  const there = (address: string) => ({ address, there: true });
  switch (step) {
    case "thermometer":
      return there(to.thermometers);
    case "sample":
      return there(to.samples);
    case "fill":
      return there(to.handout);
    case "plan":
      return there(to.programme);
    case "heat":
    case "second":
      return there(to.benches);
    case "identify": {
      const result = detail?.determinations[0];
      const [first, last] = [result?.first_liquid, result?.last_crystal];
      return there(to.identity(first && last ? { first: first.value_c, last: last.value_c, sample: detail?.row.id ?? "" } : {}));
    }
    case "read":
    case "opinion": {
      const recording = step === "read" ? recordingFor(detail, person) : decidable(detail, person);
      return recording ? there(to.reading(recording)) : { address: to.recordings, there: false };
    }
    case "hazards":
    case "correct":
    case "agree":
    case "result":
    case "verdict":
    case "report":
      return detail ? there(to.sample(detail.row.id)) : { address: to.samples, there: false };
  }
}

/** A recording that the person has read: the engine's opinion on the others is still kept back. */
function decidable(detail: SampleDetail | null, person: string): string | null {
  const own = detail?.tubes.find((one) => one.reader.by === "person" && one.reader.person === person);
  return own?.recording ?? recordingFor(detail, person);
}
