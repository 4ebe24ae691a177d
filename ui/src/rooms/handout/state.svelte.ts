/** The pictures of the handout, fetched together so that the page can be printed as soon as all are there. */
import * as api from "../../api/handout";
import { wordsOf } from "../../api/problem";

export class HandoutState {
  /** Addresses of the pictures by name; empty for one that could not be fetched. */
  pictures = $state.raw<Record<string, string>>({});
  problem = $state("");
  ready = $state(false);
  #closed = false;

  constructor(private readonly address: (blob: Blob) => string = (blob) => URL.createObjectURL(blob)) {}

  async refresh(): Promise<void> {
    try {
      const all = await api.pictures();
      const found = await Promise.all(
        all.map(async (one) => [one.name, await api.picture(one).then(this.address, () => "")] as const),
      );
      if (this.#closed) return found.forEach(([, url]) => URL.revokeObjectURL(url));
      this.#drop();
      this.pictures = Object.fromEntries(found);
      this.problem = "";
    } catch (error) {
      this.problem = wordsOf(error);
    }
    this.ready = true;
  }

  close(): void {
    this.#closed = true;
    this.#drop();
  }

  #drop(): void {
    for (const url of Object.values(this.pictures)) if (url) URL.revokeObjectURL(url);
  }
}
