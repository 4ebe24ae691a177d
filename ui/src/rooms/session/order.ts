/** What a session is asked to get done, as it is typed: an expected range may be missing yet. */
import type { PlanningBench, SessionBench, SessionContent, SessionOrder, SessionPolicy, SessionSample, TypedSample } from "../../api/planning";

/** Now is at most so long after the start, and the wall of time is at most so long [min]: two weeks. */
export const MOST_MIN = 20_160;

export interface SampleEntry {
  id: string;
  first_c: number | null;
  last_c: number | null;
  replicates: number | null;
  leaveBelow_c: number | null;
  /** Where the range came from, in words; empty when it was typed. */
  origin: string;
}

export interface OrderEntry {
  length_min: number;
  operators: number;
  policy: SessionPolicy;
  benches: SessionBench[];
  samples: SampleEntry[];
}

export const isReady = (sample: SampleEntry): boolean => sample.first_c !== null && sample.last_c !== null;

function sampleOf(entry: SampleEntry): SessionSample[] {
  if (entry.first_c === null || entry.last_c === null) return [];
  return [
    {
      id: entry.id,
      first_liquid_c: entry.first_c,
      last_crystal_c: entry.last_c,
      replicates: entry.replicates,
      leave_below_c: entry.leaveBelow_c,
    },
  ];
}

/** As it goes to the program: samples whose range is known. */
export function orderOf(entry: OrderEntry): SessionOrder {
  return {
    length_min: entry.length_min,
    operators: entry.operators,
    policy: { ...entry.policy },
    bench: entry.benches.map((bench) => ({ ...bench })),
    sample: entry.samples.flatMap(sampleOf),
  };
}

export const withoutRange = (entry: OrderEntry): string[] => entry.samples.filter((one) => !isReady(one)).map((one) => one.id);

export const emptySample = (id: string): SampleEntry => ({
  id,
  first_c: null,
  last_c: null,
  replicates: null,
  leaveBelow_c: null,
  origin: "",
});

export function entryOf(order: SessionOrder, without: readonly string[] = []): OrderEntry {
  return {
    length_min: order.length_min,
    operators: order.operators,
    policy: { ...order.policy },
    benches: order.bench.map((bench) => ({ ...bench })),
    samples: [
      ...order.sample.map((sample) => ({
        id: sample.id,
        first_c: sample.first_liquid_c,
        last_c: sample.last_crystal_c,
        replicates: sample.replicates ?? null,
        leaveBelow_c: sample.leave_below_c ?? null,
        origin: "",
      })),
      ...without.map(emptySample),
    ],
  };
}

/** Every line as it was typed: what the order leaves out is kept with it. */
export function typedOf(entry: OrderEntry): TypedSample[] {
  return entry.samples.map((one) => ({
    id: one.id,
    first_liquid_c: one.first_c,
    last_crystal_c: one.last_c,
    replicates: one.replicates,
    leave_below_c: one.leaveBelow_c,
    origin: one.origin,
  }));
}

/** What is kept, as it was typed; a session that was kept without its lines has those of its order. */
export function keptEntry(kept: SessionContent): OrderEntry {
  const entry = entryOf(kept.order, kept.without_range);
  if (!kept.typed?.length) return entry;
  const samples = kept.typed.map((one) => ({
    id: one.id,
    first_c: one.first_liquid_c ?? null,
    last_c: one.last_crystal_c ?? null,
    replicates: one.replicates ?? null,
    leaveBelow_c: one.leave_below_c ?? null,
    origin: one.origin ?? "",
  }));
  return { ...entry, samples };
}

/** A bench of the book at the start of the session: where its thermometer stands, else at room temperature. */
export function benchOf(bench: PlanningBench): SessionBench {
  return {
    name: bench.name,
    places: bench.places,
    room_c: bench.room_c,
    start_c: Math.round((bench.now_c ?? bench.room_c) * 10) / 10,
    heat_rate_c_per_min: bench.heat_rate_c_per_min,
    cool_time_constant_min: bench.cool_time_constant_min,
    max_c: bench.max_c,
  };
}

/** Why a line of a pasted list cannot be taken. */
export type PasteFault = "number" | "label" | "tubes" | "cells" | "backwards" | "limit";

export interface Pasted {
  samples: SampleEntry[];
  /** Lines that could not be taken, with what stands there and why. */
  faults: { line: number; text: string; why: PasteFault }[];
}

type Column = Exclude<keyof SampleEntry, "origin">;
const HEADS: Record<string, Column> = {
  id: "id",
  label: "id",
  sample: "id",
  first_liquid_c: "first_c",
  last_crystal_c: "last_c",
  replicates: "replicates",
  leave_below_c: "leaveBelow_c",
};
const USUAL: Column[] = ["id", "first_c", "last_c", "replicates", "leaveBelow_c"];

/** A cell in quotes loses them. */
const bare = (cell: string): string => cell.trim().replace(/^"(.*)"$/, "$1").replaceAll('""', '"').trim();

/** One line; what is wrong with it where it cannot be taken. */
function readLine(cells: readonly string[], columns: readonly (Column | undefined)[], commas: boolean): SampleEntry | { text: string; why: PasteFault } {
  const entry = emptySample("");
  const more = cells.slice(columns.length).find((cell) => cell !== "");
  if (more !== undefined) return { text: more, why: "cells" };
  for (const [at, column] of columns.entries()) {
    const cell = cells[at] ?? "";
    if (!column || cell === "") continue;
    if (column === "id") {
      entry.id = cell;
      continue;
    }
    // A decimal comma can only be told where commas do not part the cells.
    const number = Number(commas ? cell : cell.replace(",", "."));
    if (!Number.isFinite(number)) return { text: cell, why: "number" };
    if (column === "replicates" && !(Number.isInteger(number) && number >= 1)) return { text: cell, why: "tubes" };
    entry[column] = number;
  }
  const { first_c, last_c, leaveBelow_c } = entry;
  if (!entry.id) return { text: cells.join(" "), why: "label" };
  // Decimal commas among commas that part cells show here: 121,5,122,5 would be a range from 121 down to 5.
  if (first_c !== null && last_c !== null && first_c > last_c) return { text: `${first_c} … ${last_c}`, why: "backwards" };
  if (last_c !== null && leaveBelow_c !== null && leaveBelow_c < last_c) return { text: String(leaveBelow_c), why: "limit" };
  return entry;
}

/** Lines of label, first liquid, last crystal, tubes, limit; by comma, semicolon or tab, with or without a header. */
export function pasted(text: string): Pasted {
  const lines = text.split(/\r?\n/);
  const first = lines.find((line) => line.trim() !== "") ?? "";
  const by = first.includes("\t") ? "\t" : first.includes(";") ? ";" : ",";
  const found: Pasted = { samples: [], faults: [] };
  let columns: (Column | undefined)[] = USUAL;
  let begun = false;
  lines.forEach((line, i) => {
    if (!line.trim()) return;
    const cells = line.split(by).map(bare);
    const heads = cells.map((cell) => HEADS[cell.toLowerCase()]);
    if (!begun && heads.includes("id")) {
      begun = true;
      columns = heads;
      return;
    }
    begun = true;
    const read = readLine(cells, columns, by === ",");
    if ("why" in read) found.faults.push({ line: i + 1, ...read });
    else found.samples.push(read);
  });
  return found;
}

/** What is said newly of a sample that is there: a range takes the place of its range, an empty cell takes nothing away. */
function renewed(known: SampleEntry, one: SampleEntry): SampleEntry {
  const range = isReady(one) || !isReady(known);
  return {
    ...known,
    ...(range ? { first_c: one.first_c ?? known.first_c, last_c: one.last_c ?? known.last_c, origin: one.origin || (isReady(one) ? "" : known.origin) } : {}),
    replicates: one.replicates ?? known.replicates,
    leaveBelow_c: one.leaveBelow_c ?? known.leaveBelow_c,
  };
}

/** New samples behind those that are there; one with a label that is there renews that line. No line goes. */
export function merged(before: readonly SampleEntry[], added: readonly SampleEntry[]): SampleEntry[] {
  const lines = [...before];
  const renewedAt = new Set<number>();
  for (const one of added) {
    // A label that comes twice in what is added is two lines: which of them is meant is for the person to say.
    const at = one.id.trim() === "" ? -1 : before.findIndex((known, i) => known.id === one.id && !renewedAt.has(i));
    const known = lines[at];
    if (!known) {
      lines.push(one);
      continue;
    }
    renewedAt.add(at);
    lines[at] = renewed(known, one);
  }
  return lines;
}
