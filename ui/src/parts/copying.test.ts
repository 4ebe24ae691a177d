import { afterEach, describe, expect, it, vi } from "vitest";
import { copyText } from "./copying";

afterEach(() => {
  vi.unstubAllGlobals();
  document.body.replaceChildren();
});

function shown(text: string): HTMLElement {
  const place = document.createElement("p");
  place.textContent = text;
  document.body.append(place);
  return place;
}

describe("copying words", () => {
  it("writes them to the clipboard", async () => {
    const writeText = vi.fn(async () => {});
    vi.stubGlobal("navigator", { clipboard: { writeText } });
    expect(await copyText("Mp 113.1–114.6 °C", undefined)).toBe("copied");
    expect(writeText).toHaveBeenCalledWith("Mp 113.1–114.6 °C");
  });

  it("marks them where the clipboard is closed or not there", async () => {
    const place = shown("Mp 113.1–114.6 °C");
    for (const clipboard of [undefined, { writeText: () => Promise.reject(new Error("not allowed")) }]) {
      getSelection()?.removeAllRanges();
      vi.stubGlobal("navigator", { clipboard });
      expect(await copyText("x", place)).toBe("marked");
      expect(getSelection()?.toString()).toBe("Mp 113.1–114.6 °C");
    }
  });
});
