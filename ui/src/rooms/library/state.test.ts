import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { LibraryState, OwnListState } from "./state.svelte";

let asked: string[];
let sent: Record<string, unknown>[];
let answer: (path: string, method: string) => Response;

const one = (name: string, cas: string) => ({ name, cas, melting_c: [], hazards: [], synonyms: [], remarks: [] });

beforeEach(() => {
  vi.useFakeTimers();
  asked = [];
  sent = [];
  answer = () => Response.json({ substances: [one("benzil", "134-81-6"), one("benzilic acid", "76-93-7")], found: 2, library_size: 8429 });
  vi.stubGlobal("fetch", async (path: string, init?: RequestInit) => {
    asked.push(path);
    if (init?.body) sent.push(JSON.parse(String(init.body)) as Record<string, unknown>);
    return answer(path, init?.method ?? "GET");
  });
});
afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

describe("looking up", () => {
  it("opens the one that is named in full, and leaves the choice among others to the person", async () => {
    const room = new LibraryState("134-81-6");
    room.change();
    await vi.advanceTimersByTimeAsync(500);
    expect(asked).toEqual(["/api/library?find=134-81-6&most=50"]);
    expect(room.chosen?.name).toBe("benzil");
    room.text = "benzi";
    room.change();
    await vi.advanceTimersByTimeAsync(500);
    expect(room.chosen).toBeNull();
    expect(room.found?.found).toBe(2);
  });

  it("looks by temperature", async () => {
    const room = new LibraryState("");
    room.by = "temperature";
    room.change();
    expect(room.ready).toBe(false);
    room.near_c = 95;
    room.within_c = 1.5;
    room.change();
    await vi.advanceTimersByTimeAsync(500);
    expect(asked).toEqual(["/api/library?near_c=95&within_c=1.5&most=50"]);
  });
});

describe("the own list", () => {
  it("is saved with the revision it was read with; a refusal with its line leaves the text alone", async () => {
    answer = (_, method) =>
      method === "PUT"
        ? Response.json({ detail: "own-substances.csv: line 3, cas: 1-2-3; expected a CAS number" }, { status: 422 })
        : Response.json({ csv: "name\nbenzil\n", substances: 1, revision: "r1" });
    const room = new OwnListState();
    await room.read();
    expect(room.changed).toBe(false);
    room.csv = "name,cas\nbenzil,\nx,1-2-3\n";
    expect(await room.save()).toBe(false);
    expect(sent).toEqual([{ csv: "name,cas\nbenzil,\nx,1-2-3\n", revision: "r1" }]);
    expect(room.problem).toContain("line 3, cas: 1-2-3");
    expect(room.csv).toContain("1-2-3");
    expect(room.stale).toBe(false);
    answer = () => Response.json({ csv: "name\nurea\n", substances: 1, revision: "r2" });
    room.csv = "name\nurea\n";
    expect(await room.save()).toBe(true);
    expect(room.problem).toBe("");
    expect(room.changed).toBe(false);
  });

  it("shows what somebody else saved, keeps the text that was typed, and can then be saved", async () => {
    let theirs = { csv: "name\nbenzil\n", substances: 1, revision: "r1" };
    answer = () => Response.json(theirs);
    const room = new OwnListState();
    await room.read();
    room.csv = "name\nurea\n";
    theirs = { csv: "name\nvanillin\n", substances: 1, revision: "r2" };
    answer = (_, method) => (method === "PUT" ? Response.json({ detail: "changed since" }, { status: 409 }) : Response.json(theirs));
    expect(await room.save()).toBe(false);
    expect(room.stale).toBe(true);
    await room.catchUp();
    expect(room.theirs).toContain("vanillin");
    expect(room.csv).toBe("name\nurea\n");
    answer = () => Response.json({ csv: "name\nurea\n", substances: 1, revision: "r3" });
    expect(await room.save()).toBe(true);
    expect(sent.at(-1)).toEqual({ csv: "name\nurea\n", revision: "r2" });
    expect(room.theirs).toBe("");
  });

  it("reads a file into the field, and not one that is no list", async () => {
    answer = () => Response.json({ csv: "", substances: 0, revision: "r0" });
    const room = new OwnListState();
    await room.read();
    await room.load({ name: "stock.csv", size: 12, text: async () => "name\nurea\n" } as File);
    expect(room.csv).toBe("name\nurea\n");
    expect(room.note).toContain("stock.csv");
    await room.load({ name: "film.mp4", size: 50_000_000, text: async () => "x" } as File);
    expect(room.csv).toBe("name\nurea\n");
    expect(room.problem).toContain("film.mp4");
    room.undo();
    expect(room.csv).toBe("");
  });
});
