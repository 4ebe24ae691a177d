/** What somebody at a seat is to do now, in one sentence and a little more. */
import type { SeatPage } from "../../api/practicals";
import { seat as words } from "../../words/practical";

export type NowKind =
  | "prepared"
  | "wait"
  | "turn"
  | "heating"
  | "result"
  | "disagree"
  | "identify"
  | "done"
  | "no_turn"
  | "over"
  | "marked";

export interface Now {
  kind: NowKind;
  big: string;
  more: string;
  /** The run whose result is asked for. */
  run: number;
}

/** Runs whose heating is over, by the turn that comes next. */
function runsOver(page: SeatPage): number {
  if (!page.turn) return page.standing === "done" ? page.runs_each : 0;
  return page.turn.standing === "over" ? page.turn.run : page.turn.run - 1;
}

/** `own`: runs that have a result already. `timeOf`: the time of day of a minute of the practical. */
export function nowOf(page: SeatPage, own: readonly number[], timeOf: (minute: number) => string): Now {
  const turn = page.turn;
  const runs = Array.from({ length: page.runs_each }, (_, i) => i + 1);
  const over = runsOver(page);
  const missing = runs.find((run) => run <= over && !own.includes(run));
  const run = missing ?? runs.find((one) => !own.includes(one)) ?? page.runs_each;
  const others = turn?.with_seats.filter((seat) => seat !== page.seat) ?? [];
  const wait = turn?.standing === "ahead" ? words.waitMore(turn.before, turn.bench, timeOf(turn.begins_min)) : "";
  const say = (kind: NowKind, big: string, ...more: string[]): Now => ({ kind, big, more: more.filter(Boolean).join(" "), run });

  if (page.mark) return say("marked", words.marked);
  if (page.state === "over") return say("over", words.over, words.overMore);
  if (page.state === "prepared") return say("prepared", words.prepared, words.preparedMore);
  if (turn?.standing === "now") {
    return say("turn", words.turn(turn.bench), words.turnMore(others), missing === undefined ? "" : words.result(missing));
  }
  if (turn?.standing === "under_way") return say("heating", words.heating(turn.bench), words.heatingMore(timeOf(turn.ends_min)));
  if (missing !== undefined) return say("result", words.result(missing), wait);
  if (runs.every((one) => own.includes(one))) {
    if (page.identified) return say("done", words.done, page.agreement.agreed === false ? words.notAgreed : "", words.doneMore);
    if (page.agreement.agreed === false) return say("disagree", words.disagree, words.disagreeMore, words.identify);
    return say("identify", words.identify, words.identifyMore);
  }
  if (turn?.standing === "ahead") return say("wait", words.waitRun(turn.run), wait);
  return say("no_turn", words.noTurn, words.noTurnMore);
}
