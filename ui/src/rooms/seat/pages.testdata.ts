/** A seat of an invented class as the program tells it. */
import type { SeatPage, SeatResult, Turn } from "../../api/practicals";

export const turn = (change: Partial<Turn> = {}): Turn => ({
  run: 1,
  bench: "B",
  begins_min: 20,
  ends_min: 45,
  standing: "ahead",
  with_seats: [4, 5, 6],
  before: 2,
  load: 2,
  ...change,
});

export const result = (change: Partial<SeatResult> = {}): SeatResult => ({
  id: "r-1",
  run: 1,
  first_liquid_c: 113.2,
  last_crystal_c: 114.4,
  heating_rate_c_per_min: 1,
  fresh_tube: true,
  note: "",
  when: "2027-01-31T18:30:00Z",
  by: "amber owl",
  bench: "B",
  ...change,
});

export const page = (change: Partial<SeatPage> = {}): SeatPage => ({
  practical: "p",
  title: "Evening practical",
  state: "under_way",
  now_min: 10,
  seat: 4,
  vial: "K7",
  pseudonym: "amber owl",
  partners: [],
  turn: turn(),
  standing: "waits",
  results: [],
  runs_each: 2,
  choices: ["acetanilide", "benzil", "vanillin"],
  identified: null,
  identified_why: null,
  help: null,
  notes: [],
  agreement: { agreed: null, first_liquid_difference_c: null, last_crystal_difference_c: null },
  mark: null,
  truth: null,
  cautions: ["vanillin: irritates eyes"],
  ...change,
});
