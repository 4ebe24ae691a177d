import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { PastIn } from "./past.svelte";

let sent: { path: string; body: string }[];
let answer: (path: string) => Response | Promise<Response>;
const preview = (rows: { there_already: boolean }[]) => ({ separator: ",", columns: [], rows, faults: [], remarks: [], new_samples: 1 });

const text = (blob: Blob) =>
  new Promise<string>((done) => {
    const reader = new FileReader();
    reader.onload = () => done(String(reader.result));
    reader.readAsText(blob);
  });

beforeEach(() => {
  sent = [];
  answer = (path) =>
    path.includes("/preview")
      ? Response.json(preview([{ there_already: false }, { there_already: true }]))
      : Response.json({ past_results: 1, samples_added: 1, there_already: 1, left_out: 0 }, { status: 201 });
  vi.stubGlobal("fetch", async (path: string, init: RequestInit) => {
    sent.push({ path, body: await text(init.body as Blob) });
    return answer(path);
  });
});
afterEach(() => vi.unstubAllGlobals());

describe("earlier results from a table", () => {
  it("are recorded as they were looked through, and nothing before", async () => {
    const room = new PastIn();
    room.pasted = "label,mp\nU-1,113-114";
    room.pastedName = " index cards ";
    await room.lookPasted();
    expect(sent).toEqual([{ path: "/api/past-results/preview?name=index+cards", body: "label,mp\nU-1,113-114" }]);
    expect(room.fresh).toBe(1);
    // What is typed meanwhile was not looked through.
    room.pasted = "label,mp\nU-1,999";
    room.pastedName = "other";
    await room.record();
    expect(sent[1]).toEqual({ path: "/api/past-results?name=index+cards", body: "label,mp\nU-1,113-114" });
    expect([room.taken?.past_results, room.preview]).toEqual([1, null]);
    // Once is enough.
    await room.record();
    expect(sent).toHaveLength(2);
  });

  it("show a refusal and record nothing after it", async () => {
    const room = new PastIn();
    await room.look("a.csv", new Blob(["a"]));
    answer = () => Response.json({ detail: "no column of ranges was found" }, { status: 422 });
    await room.look("b.csv", new Blob(["b"]));
    expect([room.problem, room.preview, room.busy]).toEqual(["no column of ranges was found", null, ""]);
    await room.record();
    expect(sent.every((one) => one.path.includes("/preview"))).toBe(true);
  });

  it("keep the preview when recording is refused", async () => {
    const room = new PastIn();
    await room.look("a.csv", new Blob(["a"]));
    answer = () => Response.json({ detail: "no" }, { status: 403 });
    await room.record();
    expect([room.problem, room.fresh, room.taken]).toEqual(["no", 1, null]);
  });

  it("drop the answer to a table that was put away for another", async () => {
    const room = new PastIn();
    let first: (response: Response) => void = () => {};
    answer = () => new Promise((done) => (first = done));
    const slow = room.look("slow.csv", new Blob(["slow"]));
    await vi.waitFor(() => expect(sent).toHaveLength(1));
    answer = () => Response.json(preview([]));
    await room.look("b.csv", new Blob(["b"]));
    first(Response.json(preview([{ there_already: false }])));
    await slow;
    expect([room.name, room.fresh]).toEqual(["b.csv", 0]);
  });

  it("put long tables on the page part by part", async () => {
    answer = () => Response.json(preview(Array.from({ length: 700 }, () => ({ there_already: false }))));
    const room = new PastIn();
    await room.look("long.csv", new Blob(["x"]));
    expect([room.rows.length, room.hidden, room.fresh]).toEqual([300, 400, 700]);
    room.more();
    room.more();
    expect([room.rows.length, room.hidden]).toEqual([700, 0]);
  });
});
