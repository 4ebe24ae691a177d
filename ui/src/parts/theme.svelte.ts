import { flushSync } from "svelte";

/** Light or dark: what the system asks for, unless the person chose. */
export type ThemeChoice = "system" | "light" | "dark";

const KEY = "meltrange.theme";

class Theme {
  choice = $state<ThemeChoice>("system");
  shown = $state<"light" | "dark">("light");
  #system: MediaQueryList | undefined;
  #onPaper = false;

  /** Reads the choice and follows the system from now on. */
  start(): void {
    const kept = localStorage.getItem(KEY);
    if (kept === "light" || kept === "dark") this.choice = kept;
    this.#system = window.matchMedia("(prefers-color-scheme: dark)");
    this.#system.addEventListener("change", () => this.#apply());
    // Drawings take their colours when they are drawn: for paper they are drawn anew before it is laid out.
    window.addEventListener("beforeprint", () => this.#paper(true));
    window.addEventListener("afterprint", () => this.#paper(false));
    this.#apply();
  }

  /** Takes the choice and keeps it on this machine. */
  choose(choice: ThemeChoice): void {
    this.choice = choice;
    if (choice === "system") localStorage.removeItem(KEY);
    else localStorage.setItem(KEY, choice);
    this.#apply();
  }

  /** The other one of the two. */
  turn(): void {
    this.choose(this.shown === "dark" ? "light" : "dark");
  }

  #paper(on: boolean): void {
    this.#onPaper = on;
    flushSync(() => this.#apply());
  }

  #apply(): void {
    const system = this.#system?.matches ? "dark" : "light";
    this.shown = this.#onPaper ? "light" : this.choice === "system" ? system : this.choice;
    document.documentElement.dataset["theme"] = this.shown;
  }
}

export const theme = new Theme();
