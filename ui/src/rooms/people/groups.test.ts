import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { Groups } from "./groups.svelte";

const group = { id: "g-1", name: "evening practical 2026", made: "2027-01-31T10:00:00Z", members: ["p-1"] };
let asked: string[] = [];
let answer: (path: string, method: string) => Response;

beforeEach(() => {
  asked = [];
  answer = () => Response.json({ groups: [group] });
  vi.stubGlobal("fetch", (path: string, init: RequestInit) => {
    asked.push(`${init.method ?? "GET"} ${path}`);
    return Promise.resolve(answer(path, init.method ?? "GET"));
  });
});
afterEach(() => vi.unstubAllGlobals());

it("says what locking did, and shows the groups anew", async () => {
  answer = (path) => (path.endsWith("/lock") ? Response.json({ locked: 1, left_out: true }) : Response.json({ groups: [group] }));
  const room = new Groups();
  expect(await room.lock(group)).toBe(true);
  expect(asked).toEqual(["POST /api/groups/g-1/lock", "GET /api/groups"]);
  expect(room.told).toBe("1 account is locked. Yours was left out.");
  expect(room.rows).toHaveLength(1);
});

it("keeps the groups that there are where something is refused", async () => {
  const room = new Groups();
  await room.refresh();
  answer = () => Response.json({ detail: "there is a group of this name already" }, { status: 409 });
  expect(await room.make(" evening practical 2026 ")).toBe(false);
  expect([room.problem, room.rows.length]).toEqual(["there is a group of this name already", 1]);
});
