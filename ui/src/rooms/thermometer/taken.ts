/** A check taken from a tube of a reading: a standard that was recorded as samples are. */
import * as api from "../../api/client";
import type { EndName, Moment, StandardContent, TubeRef } from "../../api/types";
import { dayHere } from "../../words/format";
import type { CheckForm } from "./state.svelte";

export interface Taken {
  from: TubeRef;
  /** Label of the sample in the tube, where one is named. */
  label: string | null;
  made_on: string;
  heating_rate_c_per_min: number | null;
  moments: Record<EndName, Moment | null>;
}

/** Reads the tube that an address names; null where the address names none. */
export async function takenFrom(query: URLSearchParams): Promise<Taken | null> {
  const id = query.get("reading");
  const place = Number(query.get("place"));
  if (!id || !Number.isInteger(place) || place < 1) return null;
  const reading = await api.reading(id);
  const tube = reading.tubes.find((one) => one.place === place);
  if (!tube?.holds) return null;
  const recording = await api.recording(reading.recording);
  return {
    from: { reading: id, place },
    label: recording.row.load.find((one) => one.place === place)?.label ?? null,
    made_on: dayHere(new Date(recording.run.begun)),
    heating_rate_c_per_min: tube.heating_rate_c_per_min ?? null,
    moments: { first_liquid: tube.holds.first_liquid, last_crystal: tube.holds.last_crystal },
  };
}

/** Fills in what the tube tells, at the moment that the standard's label stands for. */
export function filled(form: CheckForm, taken: Taken, standard: StandardContent | undefined): CheckForm {
  const moment = standard ? taken.moments[standard.end] : null;
  return {
    ...form,
    made_on: taken.made_on,
    heating_rate_c_per_min: rounded(taken.heating_rate_c_per_min, 2),
    indicated_c: rounded(moment?.temperature_c ?? null, 3),
    standard_uncertainty_c: rounded(moment?.standard_uncertainty_c || null, 4),
  };
}

function rounded(value: number | null, places: number): number | null {
  return value === null ? null : Number(value.toFixed(places));
}
