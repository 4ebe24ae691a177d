import * as api from "../../api/client";
import { wordsOf } from "../../api/problem";
import type { Person, Role } from "../../api/types";

const KEY = "meltrange.person";

/** The people of the book, and which of them sits before this screen. */
export class People {
  rows = $state.raw<Person[]>([]);
  /** Id of the person at this screen; empty when nobody was chosen. */
  meId = $state("");
  problem = $state("");
  loaded = $state(false);
  /** Who is logged in, where people have accounts: nobody chooses then. */
  #loggedIn: string | undefined;

  get me(): Person | undefined {
    return this.rows.find((row) => row.id === this.meId);
  }

  /** Students read before they see what the engine says; others may choose to. */
  get blindByDefault(): boolean {
    return this.me?.role === "student";
  }

  /** Viewers look; everything else needs a name. */
  get mayWrite(): boolean {
    return this.me !== undefined && this.me.role !== "viewer";
  }

  /** Calibrations, standards and what is withdrawn are for those who answer for temperatures. */
  get mayCalibrate(): boolean {
    return this.me?.role === "analyst" || this.me?.role === "supervisor";
  }

  nameOf(id: string): string {
    return this.rows.find((row) => row.id === id)?.name ?? id;
  }

  async refresh(): Promise<void> {
    try {
      this.rows = (await api.people()).people;
      this.problem = "";
      const kept = localStorage.getItem(KEY) ?? "";
      if (this.#loggedIn !== undefined) this.#write(this.#loggedIn);
      else if (this.rows.some((row) => row.id === kept)) this.choose(kept);
      else if (this.rows.length === 1 && this.rows[0]) this.choose(this.rows[0].id);
    } catch (error) {
      this.problem = wordsOf(error);
    }
    this.loaded = true;
  }

  choose(id: string): void {
    if (this.#loggedIn !== undefined) return;
    if (id) localStorage.setItem(KEY, id);
    else localStorage.removeItem(KEY);
    this.#write(id);
  }

  /** From now on this person writes and looks, and nobody else is chosen; nobody with an empty id. */
  isLoggedIn(id: string): void {
    this.#loggedIn = id;
    this.#write(id);
    if (!id) this.rows = [];
  }

  #write(id: string): void {
    this.meId = id;
    api.writeAs(id);
  }

  async add(name: string, role: Role): Promise<Person> {
    const row = await api.addPerson({ name: name.trim(), role });
    await this.refresh();
    if (!this.me) this.choose(row.id);
    return row;
  }
}

export const people = new People();
