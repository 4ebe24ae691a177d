import { describe, expect, it } from "vitest";
import type { SampleRow } from "../../api/types";
import { ENOUGH, MOST_PAGES, PAGE_ROWS, waiting } from "./waiting";

/** A book of so many samples by label, the first of which are agreed. */
function bookOf(all: number, agreed: number) {
  const rows = Array.from({ length: all }, (_, i) => ({ id: `s${i}`, label: `U-${i}`, standing: i < agreed ? "agreed" : "unread" }) as unknown as SampleRow);
  const asked: number[] = [];
  const page = async (number: number) => {
    asked.push(number);
    return { rows: rows.slice((number - 1) * PAGE_ROWS, number * PAGE_ROWS), total: all };
  };
  return { page, asked };
}

describe("samples that wait", () => {
  it("are found behind pages of agreed ones", async () => {
    const book = bookOf(450, 430);
    const found = await waiting(book.page, ["U-440"]);
    expect(found.rows.map((row) => row.label)).toHaveLength(19);
    expect([found.looked, found.all]).toEqual([450, 450]);
    expect(book.asked).toEqual([1, 2, 3]);
  });

  it("are enough at some time, and a large book is not read to its end", async () => {
    const many = bookOf(5000, 0);
    const found = await waiting(many.page, []);
    expect(found.rows).toHaveLength(ENOUGH);
    expect([found.looked, found.all, many.asked.length]).toEqual([PAGE_ROWS, 5000, 1]);
    const agreed = bookOf(9000, 9000);
    expect(await waiting(agreed.page, [])).toEqual({ rows: [], looked: MOST_PAGES * PAGE_ROWS, all: 9000 });
    expect(await waiting(bookOf(0, 0).page, [])).toEqual({ rows: [], looked: 0, all: 0 });
  });
});
