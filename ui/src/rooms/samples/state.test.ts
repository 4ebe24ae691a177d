import { afterEach, describe, expect, it, vi } from "vitest";
import { SamplesState } from "./state.svelte";

afterEach(() => vi.unstubAllGlobals());

/** A book of so many samples; answers page by page. */
function book(total: number): string[] {
  const asked: string[] = [];
  vi.stubGlobal("fetch", async (path: string) => {
    asked.push(path);
    const query = new URL(path, "http://here").searchParams;
    const per = Number(query.get("per_page") ?? 50);
    const first = (Number(query.get("page")) - 1) * per;
    const rows = Array.from({ length: Math.max(0, Math.min(per, total - first)) }, (_, i) => ({ id: `s${first + i}` }));
    return Response.json({ rows, total, page: 1, per_page: per });
  });
  return asked;
}

describe("the samples of a report", () => {
  it("are all that the search finds, over its pages", async () => {
    const asked = book(150);
    const room = new SamplesState();
    room.text = " urea ";
    room.standing = "agreed";
    room.order = "label";
    const { ids, total } = await room.idsForReport();
    expect([ids.length, new Set(ids).size, total]).toEqual([150, 150, 150]);
    expect([ids[0], ids[149]]).toEqual(["s0", "s149"]);
    expect(asked).toHaveLength(2);
    for (const path of asked) expect(path).toMatch(/text=urea&standing=agreed&order=label/);
  });

  it("end at what one report takes, and at nothing", async () => {
    const asked = book(640);
    const found = await new SamplesState().idsForReport();
    expect([found.ids.length, found.total, asked.length]).toEqual([200, 640, 2]);
    book(0);
    expect(await new SamplesState().idsForReport()).toEqual({ ids: [], total: 0 });
  });

  it("end where pages run out before the number that was said", async () => {
    vi.stubGlobal("fetch", async (path: string) =>
      Response.json({ rows: /[?&]page=1&/.test(path) ? [{ id: "a" }] : [], total: 5 }),
    );
    expect((await new SamplesState().idsForReport()).ids).toEqual(["a"]);
  });
});
