import { flushSync, mount, unmount } from "svelte";
import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { draft, order, Program, sitsAs } from "./book.testdata";
import Page from "./Page.svelte";

const bench = { name: "North", places: 3, room_c: 22, start_c: 22, heat_rate_c_per_min: 15, cool_time_constant_min: 12, max_c: 300 };
let program: Program;
let page: ReturnType<typeof mount>;
let root: HTMLElement;

const settle = async () => {
  await new Promise((done) => setTimeout(done, 30));
  flushSync();
};
const press = (name: string) => [...root.querySelectorAll("button")].find((one) => one.textContent?.trim() === name)?.click();
const fieldOf = (name: string) => [...root.querySelectorAll("label")].find((one) => one.textContent?.includes(name))?.querySelector("input");
const loads = () => [...root.querySelectorAll("[data-load]")].map((one) => one.getAttribute("aria-label") ?? "");

beforeEach(async () => {
  sitsAs("analyst");
  vi.stubGlobal("ResizeObserver", class { observe() {} unobserve() {} disconnect() {} });
  Element.prototype.scrollIntoView ??= () => {};
  program = new Program();
  vi.stubGlobal("fetch", program.fetch);
  const kept = structuredClone(draft.benches);
  const contradicts = kept.map((one) => ({ ...one, loads: one.loads.map((load, i) => (i ? load : { ...load, actual: { load_start_min: 35, end_min: 30 } })) }));
  const session = { order: { ...order, policy: { ...order.policy, independent_loads: false }, bench: [bench] }, draft: { benches: contradicts } };
  program.kept = { revision: 3, by: "S. Drossel", session };
  root = document.createElement("main");
  document.body.append(root);
  page = mount(Page, { target: root, props: { name: "Evening", sheet: false } });
  await settle();
});
afterEach(async () => {
  await unmount(page);
  root.remove();
  vi.unstubAllGlobals();
});

it("lets real times that contradict each other be taken back, and a refused one stands in no field", async () => {
  expect(root.textContent).toContain("This plan cannot be timed");
  expect(loads()).toEqual([]);
  press("Take back the real times of this load");
  await settle();
  expect(loads()).toHaveLength(2);
  press("Set in now");
  await settle();
  expect(loads()[0]).toContain("under way");
  const ended = fieldOf("Really ended");
  if (!ended) throw new Error("no field");
  ended.value = "-3";
  ended.dispatchEvent(new Event("change", { bubbles: true }));
  await settle();
  expect(ended.value).toBe("");
  expect(root.textContent).toContain("It cannot have ended at -3 min");
});

it("holds still for who only looks, and says so", async () => {
  press("Take back the real times of this load");
  await settle();
  sitsAs("viewer");
  await settle();
  const sets = [...root.querySelectorAll("fieldset")];
  expect(sets.length).toBeGreaterThan(2);
  expect(sets.every((one) => one.disabled)).toBe(true);
  root.querySelector("[data-load='0-1']")?.dispatchEvent(new KeyboardEvent("keydown", { key: "l", bubbles: true }));
  await settle();
  expect(loads().join()).not.toContain("locked");
  expect(root.textContent).toContain("You look on: nothing can be changed here.");
});
