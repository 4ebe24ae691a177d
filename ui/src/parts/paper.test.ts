import { expect, it } from "vitest";
import { startPaper } from "./paper";

it("frames drawings for the time of printing, and leaves those alone that have a frame", () => {
  document.body.innerHTML = '<main><svg id="a" width="900" height="80"></svg><svg id="b" width="9" height="9" viewBox="0 0 3 3"></svg></main>';
  const frames = () => ["a", "b"].map((id) => document.getElementById(id)?.getAttribute("viewBox"));
  startPaper();
  window.dispatchEvent(new Event("beforeprint"));
  expect(frames()).toEqual(["0 0 900 80", "0 0 3 3"]);
  window.dispatchEvent(new Event("afterprint"));
  expect(frames()).toEqual([null, "0 0 3 3"]);
});
