import { LANGUAGES, PAPERS, type Language, type Look, type Paper } from "../../api/out";

const KEY = "meltrange.report-look";

const one = <T extends string>(of: readonly T[], found: unknown): T | undefined => of.find((each) => each === found);

/** What was chosen last in this browser; else by its language, on the paper of where that is spoken. */
export function lookFrom(kept: string | null, browser: string): Look {
  let last: { language?: unknown; paper?: unknown } = {};
  try {
    last = (JSON.parse(kept ?? "{}") as typeof last | null) ?? {};
  } catch {
    // Written by something else: as if nothing was kept.
  }
  return {
    language: one(LANGUAGES, last.language) ?? one(LANGUAGES, browser.slice(0, 2).toLowerCase()) ?? "en",
    paper: one(PAPERS, last.paper) ?? (/^en-(US|CA)$|^es-MX$/i.test(browser) ? "letter" : "a4"),
  };
}

/** How reports look that are made in this browser. */
class ReportLook implements Look {
  #look = $state.raw<Look>(
    typeof localStorage === "undefined" ? { language: "en", paper: "a4" } : lookFrom(localStorage.getItem(KEY), navigator.language),
  );

  get language(): Language {
    return this.#look.language;
  }
  set language(language: Language) {
    this.#keep({ ...this.#look, language });
  }
  get paper(): Paper {
    return this.#look.paper;
  }
  set paper(paper: Paper) {
    this.#keep({ ...this.#look, paper });
  }

  #keep(look: Look): void {
    this.#look = look;
    localStorage.setItem(KEY, JSON.stringify(look));
  }
}

export const look = new ReportLook();
