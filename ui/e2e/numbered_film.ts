/** A film in which every picture bears its number, and what arrives held against it. */
import { execFile } from "node:child_process";
import { closeSync, openSync, writeSync } from "node:fs";
import { join } from "node:path";
import { promisify } from "node:util";
import { expect } from "@playwright/test";

const WIDTH = 320;
const HEIGHT = 240;
const BITS = 10;
/** Pictures a second of the film, and how many: long enough not to begin again within a test. */
export const RATE = 5;
const PICTURES = 900;

/** A film in YUV4MPEG2: BITS upright bars, bright where the number of the picture has a one, and one above them
 * that is bright where their sum is odd. */
export function film(path: string): void {
  const file = openSync(path, "w");
  writeSync(file, `YUV4MPEG2 W${WIDTH} H${HEIGHT} F${RATE}:1 Ip A1:1 C420jpeg\n`);
  const chroma = Buffer.alloc((WIDTH * HEIGHT) / 2, 128);
  for (let n = 0; n < PICTURES; n++) {
    const luma = Buffer.alloc(WIDTH * HEIGHT);
    const odd = [...n.toString(2)].filter((bit) => bit === "1").length % 2;
    for (let y = 0; y < HEIGHT; y++) {
      for (let x = 0; x < WIDTH; x++) {
        const bit = y < 40 ? odd : (n >> Math.floor((x * BITS) / WIDTH)) & 1;
        luma[y * WIDTH + x] = bit ? 225 : 30;
      }
    }
    writeSync(file, "FRAME\n");
    writeSync(file, luma);
    writeSync(file, chroma);
  }
  closeSync(file);
}

/** The numbers of all pictures that arrived, read off them. */
export async function numbers(out: string): Promise<number[]> {
  const decode = promisify(execFile);
  const { stdout } = await decode(
    "ffmpeg",
    ["-nostdin", "-v", "error", "-f", "image2", "-i", join(out, "%06d.jpg"), "-vf", "scale=320:240,format=gray", "-f", "rawvideo", "-"],
    { encoding: "buffer", maxBuffer: 1 << 30 },
  );
  const found: number[] = [];
  for (let at = 0; at + WIDTH * HEIGHT <= stdout.length; at += WIDTH * HEIGHT) {
    let n = 0;
    for (let bit = 0; bit < BITS; bit++) {
      const x = Math.floor(((bit + 0.5) * WIDTH) / BITS);
      if ((stdout[at + 150 * WIDTH + x] ?? 0) > 128) n |= 1 << bit;
    }
    const odd = [...n.toString(2)].filter((bit) => bit === "1").length % 2;
    expect((stdout[at + 20 * WIDTH + WIDTH / 2] ?? 0) > 128, `the bar above number ${n}`).toBe(odd === 1);
    found.push(n);
  }
  return found;
}

/** Holds times against numbers: a straight line of 1/RATE seconds a picture; the largest distance from it [s]. */
export function scatter(found: number[], times_s: number[]): { spacing_s: number; most_s: number; rms_s: number } {
  expect(times_s.length).toBe(found.length);
  const n = found.length;
  const x = found.map((number) => number / RATE);
  const y = times_s;
  const mean = (all: number[]) => all.reduce((sum, one) => sum + one, 0) / n;
  const [mx, my] = [mean(x), mean(y)];
  const slope = x.reduce((sum, one, i) => sum + (one - mx) * ((y[i] ?? 0) - my), 0) / x.reduce((sum, one) => sum + (one - mx) ** 2, 0);
  const off = x.map((one, i) => (y[i] ?? 0) - my - slope * (one - mx));
  return {
    spacing_s: slope / RATE,
    most_s: Math.max(...off.map(Math.abs)),
    rms_s: Math.sqrt(mean(off.map((one) => one * one))),
  };
}

/** Numbers follow each other: with `missing` at most left out, none twice. */
export function following(found: number[], missing: number): void {
  const steps = found.slice(1).map((n, i) => n - (found[i] ?? 0));
  expect(Math.min(...steps), "none twice, none out of order").toBeGreaterThan(0);
  const left = steps.reduce((sum, step) => sum + step - 1, 0);
  expect(left, `left out: ${JSON.stringify(steps)}`).toBeLessThanOrEqual(missing);
}
