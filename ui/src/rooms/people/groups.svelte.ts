import * as account from "../../api/account";
import { wordsOf } from "../../api/problem";
import { groups as words } from "../../words/account";

/** Groups of people, as a supervisor sees them. */
export class Groups {
  rows = $state.raw<account.PersonGroup[]>([]);
  problem = $state("");
  /** What was done last, in words. */
  told = $state("");
  busy = $state(false);
  loaded = $state(false);

  refresh(): Promise<boolean> {
    return this.#after(async () => {});
  }

  make(name: string): Promise<boolean> {
    return this.#after(() => account.makeGroup(name.trim()));
  }

  dissolve(group: account.PersonGroup): Promise<boolean> {
    return this.#after(() => account.dissolveGroup(group.id));
  }

  put(group: account.PersonGroup, person: string): Promise<boolean> {
    return this.#after(() => account.enterGroup(group.id, person));
  }

  takeOut(group: account.PersonGroup, person: string): Promise<boolean> {
    return this.#after(() => account.takeOutOfGroup(group.id, person));
  }

  lock(group: account.PersonGroup): Promise<boolean> {
    return this.#after(async () => {
      const done = await account.lockGroup(group.id);
      this.told = words.locked(done.locked, done.left_out);
    });
  }

  unlock(group: account.PersonGroup): Promise<boolean> {
    return this.#after(async () => {
      this.told = words.unlocked((await account.unlockGroup(group.id)).unlocked);
    });
  }

  async #after(what: () => Promise<unknown>): Promise<boolean> {
    if (this.busy) return false;
    this.busy = true;
    this.problem = this.told = "";
    try {
      await what();
      this.rows = await account.groups();
      this.loaded = true;
      return true;
    } catch (error) {
      this.problem = wordsOf(error);
      return false;
    } finally {
      this.busy = false;
    }
  }
}
