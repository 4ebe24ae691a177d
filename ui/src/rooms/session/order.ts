/** What a session is asked to get done, as it is typed: an expected range may be missing yet. */
import type { PlanningBench, SessionBench, SessionOrder, SessionPolicy, SessionSample } from "../../api/planning";

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

export interface Pasted {
  samples: SampleEntry[];
  /** Lines that could not be taken, with why. */
  faults: { line: number; text: string }[];
}

const HEADS: Record<string, keyof SampleEntry> = {
  id: "id",
  label: "id",
  sample: "id",
  first_liquid_c: "first_c",
  last_crystal_c: "last_c",
  replicates: "replicates",
  leave_below_c: "leaveBelow_c",
};
const USUAL: (keyof SampleEntry)[] = ["id", "first_c", "last_c", "replicates", "leaveBelow_c"];

/** A cell in quotes loses them. */
const bare = (cell: string): string => cell.trim().replace(/^"(.*)"$/, "$1").replaceAll('""', '"').trim();

/** Lines of label, first liquid, last crystal, tubes, limit; by comma, semicolon or tab, with or without a header. */
export function pasted(text: string): Pasted {
  const lines = text.split(/\r?\n/);
  const first = lines.find((line) => line.trim() !== "") ?? "";
  const by = first.includes("\t") ? "\t" : first.includes(";") ? ";" : ",";
  const found: Pasted = { samples: [], faults: [] };
  let columns: (keyof SampleEntry | undefined)[] = USUAL;
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
    const entry = emptySample("");
    for (const [at, column] of columns.entries()) {
      const cell = cells[at] ?? "";
      if (!column || column === "origin" || cell === "") continue;
      if (column === "id") {
        entry.id = cell;
        continue;
      }
      // A decimal comma can only be told where commas do not part the cells.
      const number = Number(by === "," ? cell : cell.replace(",", "."));
      if (!Number.isFinite(number)) {
        found.faults.push({ line: i + 1, text: cell });
        return;
      }
      entry[column] = number;
    }
    if (!entry.id) found.faults.push({ line: i + 1, text: line.trim() });
    else found.samples.push(entry);
  });
  return found;
}

/** New samples behind those that are there; one with a label that is there takes its place. */
export function merged(before: readonly SampleEntry[], added: readonly SampleEntry[]): SampleEntry[] {
  const by = new Map(before.map((one) => [one.id, one]));
  for (const one of added) {
    const known = by.get(one.id);
    by.set(one.id, known && !isReady(one) ? known : one);
  }
  return [...by.values()];
}
