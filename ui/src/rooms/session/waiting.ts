/** Samples of the book that are not agreed yet, page by page. */
import type { SampleRow } from "../../api/types";

/** Rows a page. */
export const PAGE_ROWS = 200;
/** So many to choose from are enough. */
export const ENOUGH = 200;
/** More pages are not looked at in one go. */
export const MOST_PAGES = 25;

export interface Waiting {
  rows: SampleRow[];
  /** How many samples of the book were looked at, and how many there are. */
  looked: number;
  all: number;
}

/** Looks at page after page of the book until there are enough that wait and are not known yet. */
export async function waiting(page: (page: number) => Promise<{ rows: SampleRow[]; total: number }>, known: readonly string[]): Promise<Waiting> {
  const found: Waiting = { rows: [], looked: 0, all: 0 };
  for (let number = 1; number <= MOST_PAGES; number += 1) {
    const { rows, total } = await page(number);
    found.rows.push(...rows.filter((row) => row.standing !== "agreed" && !known.includes(row.label)));
    found.looked += rows.length;
    found.all = total;
    if (rows.length === 0 || found.looked >= total || found.rows.length >= ENOUGH) break;
  }
  return found;
}
