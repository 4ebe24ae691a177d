import { fileOut } from "../../api/out";
import { wordsOf } from "../../api/problem";
import { saveFile } from "../../parts/saving";
import { takeAway as words } from "../../words/report";

/** Where a file is fetched, or how that is found out. */
export type Where = string | (() => Promise<string | null>);

/** Files on their way out of the book, one at a time. */
export class TakingOut {
  busy = $state(false);
  problem = $state("");
  /** What was done last. */
  told = $state("");

  /** Fetches a file and saves it under the name that it comes with. */
  save(where: Where, otherwise: string): Promise<void> {
    return this.#fetch(where, otherwise, ({ name, content }) => {
      saveFile(name, content);
      this.told = words.saved(name);
    });
  }

  /** Fetches a file and shows it in a new tab; where the browser opens none, saves it. */
  async open(where: Where, otherwise: string): Promise<void> {
    if (this.busy) return;
    // At once, within the press: later the browser takes it for something unasked.
    const tab = window.open("about:blank", "_blank");
    if (tab) {
      tab.opener = null;
      tab.document.title = words.busy;
    }
    await this.#fetch(where, otherwise, ({ name, content }) => {
      if (tab && !tab.closed) {
        const address = URL.createObjectURL(content);
        tab.location.replace(address);
        setTimeout(() => URL.revokeObjectURL(address), 60_000);
      } else {
        saveFile(name, content);
        this.told = words.blocked;
      }
    });
    if (this.problem) tab?.close();
  }

  async #fetch(where: Where, otherwise: string, got: (file: { name: string; content: Blob }) => void): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    this.problem = this.told = "";
    try {
      const path = typeof where === "string" ? where : await where();
      if (path !== null) got(await fileOut(path, otherwise));
    } catch (error) {
      this.problem = wordsOf(error);
    }
    this.busy = false;
  }
}
