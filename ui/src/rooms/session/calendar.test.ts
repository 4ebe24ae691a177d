import { describe, expect, it } from "vitest";
import { fieldOf, usualStart, withOffset } from "./calendar";

describe("the start of a session", () => {
  it("goes out with the offset of the clock here, and means the same moment", () => {
    for (const field of ["2026-11-26T18:00", "2026-07-01T09:30"]) {
      const start = withOffset(field);
      expect(start).toMatch(/^\d{4}-\d\d-\d\dT\d\d:\d\d:00[+-]\d\d:\d\d$/);
      expect(start?.startsWith(field)).toBe(true);
      expect(new Date(start ?? "").getTime()).toBe(new Date(field).getTime());
    }
  });

  it("is nothing where there is none", () => {
    for (const odd of ["", "2026-11-26", "2026-02-30T10:00", "26.11.2026 18:00"]) expect(withOffset(odd)).toBeNull();
  });

  it("is offered as it was, else the next full hour", () => {
    const now = new Date(2026, 10, 26, 23, 40);
    expect(usualStart("", now)).toBe("2026-11-27T00:00");
    expect(usualStart(new Date(2026, 10, 26, 18, 5, 30).toISOString(), now)).toBe("2026-11-26T18:05");
    expect(usualStart("odd", now)).toBe("2026-11-27T00:00");
    expect(fieldOf(new Date(2026, 0, 2, 3, 4))).toBe("2026-01-02T03:04");
  });
});
