/** Draws a structure from its SMILES. The package that does it is fetched from the program when the first one is drawn. */
import type SmilesDrawer from "smiles-drawer";

const SVG = "http://www.w3.org/2000/svg";

/** Elements that the package colours. Here all are ink: letters tell them apart, and the contrast is that of text in
 * either theme. */
const ELEMENTS = ["FOREGROUND", "BACKGROUND", "C", "O", "N", "F", "CL", "BR", "I", "P", "S", "B", "SI", "H"];
/** As in the page's style of `.element`: labels are measured before they are drawn. */
const OPTIONS = {
  bondThickness: 1.3,
  padding: 14,
  fontFamily: "Arial, Helvetica, sans-serif",
  fontSizeLarge: 11,
  explicitHydrogens: false,
  compactDrawing: false,
  themes: { ink: Object.fromEntries(ELEMENTS.map((element) => [element, "currentColor"])) },
};

let fetched: Promise<typeof SmilesDrawer> | undefined;

/** Rejects where the text is no SMILES, or none that the package can draw. */
export async function structureOf(smiles: string, width: number, height: number): Promise<SVGSVGElement> {
  fetched ??= import("smiles-drawer").then((module) => module.default);
  const package_ = await fetched;
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("width", String(width));
  svg.setAttribute("height", String(height));
  svg.setAttribute("aria-hidden", "true");
  let failed: unknown = null;
  withoutInlineStyles(() =>
    package_.parse(
      smiles,
      (tree: unknown) => new package_.SvgDrawer({ ...OPTIONS, width, height }).draw(tree, svg, "ink"),
      (error: unknown) => (failed = error ?? new Error(smiles)),
    ),
  );
  if (failed) throw failed;
  for (const style of svg.querySelectorAll("style")) style.remove();
  return svg;
}

/** The package places labels by inline styles, which the policy of the pages forbids: while it draws, what it says of a group
 * becomes the attribute that means the same. */
function withoutInlineStyles(draw: () => void): void {
  const groups = SVGGElement.prototype;
  const set = Element.prototype.setAttributeNS;
  groups.setAttributeNS = function (space, name, value) {
    const moved = name === "style" ? /^transform: translateX\((.+?)px\) translateY\((.+?)px\)$/.exec(value) : null;
    if (moved) set.call(this, null, "transform", `translate(${moved[1]} ${moved[2]})`);
    else set.call(this, space, name, value);
  };
  try {
    draw();
  } finally {
    Reflect.deleteProperty(groups, "setAttributeNS");
  }
}
