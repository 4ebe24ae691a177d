/** Draws a structure from its SMILES. The package that does it is fetched from the program when the first one is drawn. */
import type SmilesDrawer from "smiles-drawer";

export interface Colours {
  ink: string;
  sheet: string;
}

/** Elements that the package colours; here all are ink: letters tell them apart, and contrast is that of text. */
const ELEMENTS = ["C", "O", "N", "F", "CL", "BR", "I", "P", "S", "B", "SI", "H"];

let fetched: Promise<typeof SmilesDrawer> | undefined;

export async function drawStructure(canvas: HTMLCanvasElement, smiles: string, size: { width: number; height: number }, colours: Colours): Promise<void> {
  fetched ??= import("smiles-drawer").then((module) => module.default);
  const drawer = await fetched;
  const theme = {
    FOREGROUND: colours.ink,
    BACKGROUND: colours.sheet,
    ...Object.fromEntries(ELEMENTS.map((element) => [element, colours.ink])),
  };
  const options = { ...size, bondThickness: 1.4, fontSizeLarge: 11, fontSizeSmall: 7, padding: 16, explicitHydrogens: false, compactDrawing: false, themes: { own: theme } };
  await new Promise<void>((resolve, reject) => {
    drawer.parse(
      smiles,
      (tree: unknown) => {
        try {
          // Its canvas drawing: the one of SVG needs inline styles, which the policy of the pages does not allow.
          new drawer.SvgDrawer(options).preprocessor.draw(tree, canvas, "own", false);
          resolve();
        } catch (error) {
          reject(error instanceof Error ? error : new Error(String(error)));
        }
      },
      reject,
    );
  });
}
