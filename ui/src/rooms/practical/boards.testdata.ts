/** A board of an invented class as the program tells it. */
import type { Board, BoardSeat } from "../../api/practicals";

export const seat = (number: number, change: Partial<BoardSeat> = {}): BoardSeat => ({
  seat: number,
  vial: `K${number}`,
  unknown: 0,
  people: [],
  standing: "waits",
  since_min: 5,
  turn: null,
  results: [],
  identified: null,
  flags: [],
  help: null,
  mark: null,
  ...change,
});

export const board = (change: Partial<Board> = {}): Board => ({
  id: "p",
  title: "Evening practical",
  state: "under_way",
  now_min: 12,
  began: "2027-01-31T18:00:00Z",
  set_up: {
    title: "Evening practical",
    seats: 2,
    seats_per_row: 2,
    people_per_seat: 1,
    unknowns: [
      { library: null, name: "benzil", first_liquid_c: 94, last_crystal_c: 95, hazards: null, fusion_j_per_mol: null },
      { library: null, name: "vanillin", first_liquid_c: 81, last_crystal_c: 82, hazards: null, fusion_j_per_mol: null },
    ],
    standard_uncertainty_c: 0.5,
    runs_each: 2,
    length_min: 150,
    operators: 2,
    benches: [],
    rubric: { identity: 10, range: 10, agreement: 5, care: 5, range_within_c: 1, agreement_within_c: 0.5, heating_rate_c_per_min: 1.5 },
    seed: 1,
  },
  seats: [seat(1), seat(2)],
  benches: [],
  makespan_min: 120,
  fits: true,
  released: false,
  names_kept: true,
  seq: 10,
  history: [],
  ...change,
});
