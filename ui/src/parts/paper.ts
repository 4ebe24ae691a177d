/** Drawings on paper. */

/**
 * Lets drawings shrink to the paper: they are drawn as wide as the window and learn of another width only after it has been
 * printed, so that what is too wide would be cut off. With a frame of their own size they shrink as a whole.
 */
export function startPaper(): void {
  window.addEventListener("beforeprint", () => {
    for (const svg of document.querySelectorAll<SVGSVGElement>("main svg[width][height]:not([viewBox])")) {
      svg.setAttribute("viewBox", `0 0 ${svg.getAttribute("width")} ${svg.getAttribute("height")}`);
      svg.dataset["paper"] = "";
    }
  });
  window.addEventListener("afterprint", () => {
    for (const svg of document.querySelectorAll<SVGSVGElement>("svg[data-paper]")) {
      svg.removeAttribute("viewBox");
      delete svg.dataset["paper"];
    }
  });
}
