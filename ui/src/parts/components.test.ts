import { flushSync, mount, unmount, type Component } from "svelte";
import { afterEach, describe, expect, it, vi } from "vitest";
import type { Bar } from "./bar";
import RangeBars from "./RangeBars.svelte";
import SampleForm from "./SampleForm.svelte";
import Trouble from "./Trouble.svelte";
import WorkLine from "./WorkLine.svelte";

// jsdom lays nothing out; parts that follow their width keep the one they begin with.
vi.stubGlobal(
  "ResizeObserver",
  class {
    observe(): void {}
    unobserve(): void {}
    disconnect(): void {}
  },
);

let mounted: ReturnType<typeof mount> | undefined;

function show<P extends Record<string, unknown>>(part: Component<P>, props: P): HTMLElement {
  const target = document.createElement("div");
  document.body.append(target);
  mounted = mount(part, { target, props });
  flushSync();
  return target;
}

afterEach(async () => {
  if (mounted) await unmount(mounted);
  mounted = undefined;
  document.body.replaceChildren();
});

function type(target: HTMLElement, label: string, value: string): void {
  const field = [...target.querySelectorAll("label")].find((one) => one.textContent?.trim().startsWith(label));
  const input = field?.querySelector<HTMLInputElement>("input, select, textarea");
  if (!input) throw new Error(`no field ${label}`);
  input.value = value;
  input.dispatchEvent(new Event(input.tagName === "SELECT" ? "change" : "input", { bubbles: true }));
  flushSync();
}

const settle = () => new Promise((done) => setTimeout(done));

describe("the form of a sample", () => {
  it("says nothing of what was not noted, and keeps false apart from it", async () => {
    const save = vi.fn(async () => {});
    const target = show(SampleForm, { action: "Add", save });
    type(target, "Label", "  U-7 ");
    type(target, "ground fine", "no");
    target.querySelector("form")?.requestSubmit();
    await settle();
    expect(save).toHaveBeenCalledWith(
      {
        label: "U-7",
        origin: null,
        expected_substance: null,
        hazards: null,
        preparation: { dried: null, ground: false, column_height_mm: null, solvent: null },
        remarks: null,
      },
      "",
    );
  });

  it("shows a refusal and keeps what was typed", async () => {
    const save = vi.fn(async () => {
      throw new Error("the label U-7 is taken");
    });
    const target = show(SampleForm, { action: "Add", save });
    type(target, "Label", "U-7");
    target.querySelector("form")?.requestSubmit();
    await settle();
    flushSync();
    expect(target.querySelector("[role=alert]")?.textContent).toContain("the label U-7 is taken");
    expect(target.querySelector("input")?.value).toBe("U-7");
  });
});

describe("ranges of runs", () => {
  it("are there in words, too, and HTML in a label is text", () => {
    const bars: Bar[] = [
      { key: "a", label: "<b>run 1</b>", first: { c: 113.45, u: 0.04 }, last: { c: 114.72, u: 0.02 }, tone: "agrees" },
      { key: "b", label: "run 2", first: { c: 113.4, u: 0.2 }, last: null, tone: "outside" },
    ];
    const target = show(RangeBars, { bars, title: "as logged" });
    const rows = [...target.querySelectorAll("tr")].map((row) => row.textContent);
    expect(rows[0]).toContain("<b>run 1</b>");
    expect(rows[0]).toContain("113.45 ± 0.04 °C");
    expect(rows[1]).toContain("113.4 ± 0.2 °C");
    expect(rows[1]).toContain("–");
    expect(target.querySelector("b")).toBeNull();
  });
});

describe("what is told", () => {
  it("is an alert that is there before there is anything to tell", () => {
    const target = show(Trouble, { text: "" });
    expect(target.querySelector("[role=alert]")?.textContent?.trim()).toBe("");
  });

  it("says why an import failed", () => {
    const target = show(WorkLine, {
      work: {
        id: "w",
        kind: "import",
        state: "failed",
        done_fraction: 0.4,
        who: "p",
        recording: null,
        reading: null,
        problem: { type: "/problems/media", title: "Not a video", status: 422, detail: "a.mp4 holds no pictures" },
      },
    });
    expect(target.textContent).toContain("a.mp4 holds no pictures");
    expect(target.querySelector("progress")).toBeNull();
  });
});
