import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { CalibrationTried, CheckRow } from "../../api/types";
import { Making } from "./making.svelte";
import { checkFrom, emptyCheck, newestFirst, newestOfEach } from "./state.svelte";

const check = (id: string, standard: string, made_on: string, isVoid = false): CheckRow => ({
  id,
  record: `r-${id}`,
  who: "p",
  when: `${made_on}T12:00:00Z`,
  reason: null,
  standard,
  substance: standard,
  reference_c: 122.35,
  expired: false,
  made_on,
  indicated_c: 122,
  standard_uncertainty_c: null,
  heating_rate_c_per_min: null,
  thermometer: null,
  from: null,
  remarks: null,
  void: isVoid,
  correction_c: 0,
  off_c: -0.35,
  own: false,
});
const checks = [
  check("1", "benzoic acid", "2026-05-01"),
  check("2", "naphthalene", "2026-05-01"),
  check("3", "benzoic acid", "2026-08-01"),
  check("4", "benzoic acid", "2026-09-01", true),
];

describe("checks", () => {
  it("are ordered by their day, then by their record", () => {
    expect(newestFirst(checks).map((row) => row.id)).toEqual(["4", "3", "2", "1"]);
  });

  it("of a new calibration are the newest of each standard that count", () => {
    expect(newestOfEach(checks)).toEqual(["3", "2"]);
  });

  it("are sent only when standard, temperature and day are there", () => {
    const form = emptyCheck();
    expect(checkFrom(form)).toBeNull();
    expect(checkFrom({ ...form, standard: "s", indicated_c: 0 })).toMatchObject({
      standard: "s",
      indicated_c: 0,
      standard_uncertainty_c: null,
      remarks: null,
    });
    expect(checkFrom({ ...form, standard: "s", indicated_c: 121.9, made_on: "" })).toBeNull();
  });
});

describe("a calibration that is being made", () => {
  const asked: { url: string; body: unknown }[] = [];
  let answer: (body: unknown) => Promise<Response>;

  beforeEach(() => {
    vi.useFakeTimers();
    asked.length = 0;
    answer = async () => Response.json({ degree_because: "first" });
    vi.stubGlobal("fetch", (url: string, init: RequestInit) => {
      const body: unknown = JSON.parse(String(init.body));
      asked.push({ url, body });
      return answer(body);
    });
  });
  afterEach(() => {
    vi.useRealTimers();
    vi.unstubAllGlobals();
  });

  it("asks for what is used and names what is left out", () => {
    const making = new Making("b", checks);
    expect(making.request).toMatchObject({ checks: ["3", "2"], left_out: [], degree: null });
    making.turn("2");
    expect(making.request).toMatchObject({ checks: ["3"], left_out: ["2"] });
    making.turn("3");
    expect(making.request).toBeNull();
    making.turn("3");
    making.toggle("2");
    // What was taken out altogether is not kept as left out.
    expect(making.request).toMatchObject({ checks: ["3"], left_out: [] });
    making.toggle("2");
    expect(making.request).toMatchObject({ checks: ["3", "2"], left_out: [] });
    making.stop();
  });

  it("tries changes that come together once", async () => {
    const making = new Making("b 1", checks);
    making.shape(1);
    making.shape(2);
    making.inForceFrom("2026-11-01");
    await vi.runAllTimersAsync();
    expect(asked).toEqual([
      {
        url: "/api/thermometers/b%201/calibrations/try",
        body: { checks: ["3", "2"], left_out: [], degree: 2, in_force_from: "2026-11-01" },
      },
    ]);
    expect(making.tried?.degree_because).toBe("first");
  });

  it("drops an answer that a later question overtook", async () => {
    const making = new Making("b", checks);
    const said: ((tried: Partial<CalibrationTried>) => void)[] = [];
    answer = () => new Promise((resolve) => said.push((tried) => resolve(Response.json(tried))));
    const one = making.try();
    const two = making.try();
    said[1]?.({ degree_because: "second" });
    await two;
    said[0]?.({ degree_because: "first" });
    await one;
    expect(making.tried?.degree_because).toBe("second");
  });

  it("shows a refusal in place of what was drawn, and keeps the choices", async () => {
    const making = new Making("b", checks);
    await making.try();
    answer = async () => Response.json({ detail: "the standards follow different conventions" }, { status: 422 });
    await making.try();
    expect(making.tried).toBeNull();
    expect(making.trouble).toBe("the standards follow different conventions");
    expect(await making.keep()).toBeNull();
    expect(making.request?.checks).toEqual(["3", "2"]);
  });
});
