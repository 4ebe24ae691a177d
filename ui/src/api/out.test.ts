import { afterEach, describe, expect, it, vi } from "vitest";
import { writeAs } from "./client";
import { fileOut, nameIn, paths } from "./out";

afterEach(() => {
  vi.unstubAllGlobals();
  writeAs("");
});

describe("the name of a file", () => {
  it("is the one that the answer gives", () => {
    // RFC 6266, section 5: both spellings, the extended one first in worth.
    expect(nameIn('inline; filename="U-1.pdf"', "x")).toBe("U-1.pdf");
    expect(nameIn("attachment; filename=U-1.zip", "x")).toBe("U-1.zip");
    expect(nameIn("attachment; filename=\"rates.txt\"; filename*=UTF-8''%e2%82%ac%20rates", "x")).toBe("€ rates");
    expect(nameIn("attachment; filename=\"a.csv\"; filename*=UTF-8''%E2%82", "x")).toBe("a.csv");
    expect([nameIn(null, "x"), nameIn("inline", "x"), nameIn('inline; filename=""', "x")]).toEqual(["x", "x", "x"]);
    // A name is no path.
    expect(nameIn('attachment; filename="../../a\\b.zip"', "x")).toBe("b.zip");
  });
});

it("asks with the person's name, and escapes what it asks for", async () => {
  let asked: { path: string; person: string | null } | undefined;
  vi.stubGlobal("fetch", async (path: string, init: RequestInit) => {
    asked = { path, person: new Headers(init.headers).get("x-person") };
    return new Response("%PDF", { headers: { "content-disposition": 'inline; filename="U-1.pdf"' } });
  });
  writeAs("p1");
  const file = await fileOut(paths.report("s 1", "pdf", { language: "de", paper: "a4" }), "x.pdf");
  expect(asked).toEqual({ path: "/api/samples/s%201/report.pdf?language=de&paper=a4", person: "p1" });
  expect([file.name, file.content.size]).toEqual(["U-1.pdf", 4]);
  expect(paths.reports(["a", "b"], { language: "en", paper: "letter" })).toBe("report.pdf?samples=a,b&language=en&paper=letter");
  // A plus sign in an address would be read as a space.
  expect(paths.calendar("Evening 3", "2026-11-26T18:00:00+01:00")).toBe("sessions/Evening%203/calendar.ics?start=2026-11-26T18%3A00%3A00%2B01%3A00");
});
