/** A seat as it is once the steps that are still on their way have arrived: what was pressed shows at once, network or not. */
import type { SeatPage, SeatResult, SeatStep } from "../../api/practicals";
import type { KeptStep } from "../../api/outbox.svelte";

/** A seat as it is shown. */
export interface ShownSeat extends SeatPage {
  /** Ids of what is not sent yet. */
  unsent: string[];
}

function after(page: SeatPage, kept: KeptStep): SeatPage {
  const step = kept.step as SeatStep;
  switch (step.what) {
    case "set_in":
      return page.turn?.load === step.load && page.turn.standing !== "over" ? { ...page, turn: { ...page.turn, standing: "under_way" } } : page;
    case "ended":
      return page.turn?.load === step.load && page.turn.standing === "under_way" ? { ...page, turn: { ...page.turn, standing: "over" } } : page;
    case "result": {
      const { what: _, ...values } = step;
      const { heating_rate_c_per_min = null, note = "" } = values;
      const result: SeatResult = { ...values, heating_rate_c_per_min, note, id: kept.id, when: kept.done, by: page.pseudonym, bench: page.turn?.bench ?? null };
      const others = page.results.filter((one) => one.id !== kept.id && !(one.run === step.run && isOwn(page, one, kept.person)));
      return { ...page, results: [...others, result].sort((a, b) => a.run - b.run) };
    }
    case "identify":
      return { ...page, identified: step.name, identified_why: step.why };
    case "note":
      return { ...page, notes: [...page.notes, { text: step.text, when: kept.done }] };
    case "ask_help":
      return { ...page, help: { id: kept.id, text: step.text, asked: kept.done } };
    case "help_done":
      return { ...page, help: null };
  }
}

/** Whether a result is of whoever looks, not of the partner. */
export function isOwn(page: Pick<SeatPage, "pseudonym" | "partners">, result: SeatResult, person: string): boolean {
  return page.partners.length === 0 || result.by === page.pseudonym || (person !== "" && result.by === person);
}

export function shownSeat(page: SeatPage, waiting: readonly KeptStep[]): ShownSeat {
  return { ...waiting.reduce(after, page), unsent: waiting.map((kept) => kept.id) };
}
