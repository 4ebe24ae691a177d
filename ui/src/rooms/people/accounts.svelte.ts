import * as account from "../../api/account";
import { wordsOf } from "../../api/problem";
import { to } from "../../router.svelte";
import { accounts as words, moment } from "../../words/account";

/** How somebody's account stands, in words. */
export function standing(row: account.PersonAccount): { text: string; kind: "good" | "warn" | "bad" | "" } {
  if (row.locked) return { text: words.locked, kind: "bad" };
  if (row.invited_until) return { text: words.invitedUntil(moment(row.invited_until)), kind: "warn" };
  if (row.must_change) return { text: words.mustChange, kind: "warn" };
  if (row.has_passphrase) return { text: row.last ? words.last(moment(row.last)) : words.ready, kind: "good" };
  if (row.signs_in) return { text: row.last ? words.last(moment(row.last)) : words.readyElsewhere, kind: "good" };
  return { text: words.none, kind: "" };
}

/** Everybody's accounts, as a supervisor sees them. */
export class Accounts {
  rows = $state.raw<account.PersonAccount[]>([]);
  problem = $state("");
  busy = $state(false);
  /** The invitation that was made last; it is shown once. */
  made = $state.raw<{ name: string; code: string; address: string } | undefined>(undefined);

  async refresh(): Promise<void> {
    await this.#after(async () => {});
  }

  invite(row: account.PersonAccount): Promise<void> {
    return this.#after(async () => {
      const { code } = await account.invite(row.person.id);
      const address = `${location.origin}${location.pathname}${to.invitationWith(code)}`;
      this.made = { name: row.person.name, code, address };
    });
  }

  lock(row: account.PersonAccount): Promise<void> {
    return this.#after(() => account.lock(row.person.id));
  }

  unlock(row: account.PersonAccount): Promise<void> {
    return this.#after(() => account.unlock(row.person.id));
  }

  async #after(what: () => Promise<unknown>): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    this.problem = "";
    this.made = undefined;
    try {
      await what();
      this.rows = await account.accounts();
    } catch (error) {
      this.problem = wordsOf(error);
    }
    this.busy = false;
  }
}
