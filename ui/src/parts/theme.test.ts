import { expect, it, vi } from "vitest";
import { theme } from "./theme.svelte";

it("is light on paper, and afterwards as it was chosen", () => {
  vi.stubGlobal("matchMedia", () => ({ matches: true, addEventListener: () => {} }));
  theme.start();
  expect(theme.shown).toBe("dark");
  window.dispatchEvent(new Event("beforeprint"));
  expect([theme.shown, document.documentElement.dataset["theme"]]).toEqual(["light", "light"]);
  // Choosing while the dialog is open does not reach the paper.
  theme.choose("dark");
  expect(theme.shown).toBe("light");
  window.dispatchEvent(new Event("afterprint"));
  expect([theme.shown, document.documentElement.dataset["theme"]]).toEqual(["dark", "dark"]);
  vi.unstubAllGlobals();
});
