/** Which seats come first on the board: those that need somebody most. */
import type { BoardSeat, SeatStanding } from "../../api/practicals";

const RANK: Record<SeatStanding, number> = { stuck: 1, turn: 2, heating: 3, waits: 4, done: 5, empty: 6 };
const rank = (seat: BoardSeat): number => (seat.help ? 0 : RANK[seat.standing]);

/** Who asks for help (oldest first), who is stuck, called, heating, waits, is done; empty seats last. Within each, who has stood so longest. */
export function byNeed(seats: readonly BoardSeat[]): BoardSeat[] {
  return [...seats].sort(
    (a, b) =>
      rank(a) - rank(b) ||
      (a.help && b.help ? Date.parse(a.help.asked) - Date.parse(b.help.asked) : b.since_min - a.since_min) ||
      a.seat - b.seat,
  );
}

export const byNumber = (seats: readonly BoardSeat[]): BoardSeat[] => [...seats].sort((a, b) => a.seat - b.seat);

/** What a person at a seat is called on the board: the name where it is kept, else the pseudonym. */
export const calledBy = (person: { name: string | null; pseudonym: string }): string => person.name || person.pseudonym;
