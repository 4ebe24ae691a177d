import { expect, it } from "vitest";
import { lookFrom } from "./look.svelte";

it("looks as last time, else as the browser speaks", () => {
  expect(lookFrom('{"language":"fr","paper":"letter"}', "de-AT")).toEqual({ language: "fr", paper: "letter" });
  expect(lookFrom(null, "de-AT")).toEqual({ language: "de", paper: "a4" });
  expect(lookFrom(null, "en-US")).toEqual({ language: "en", paper: "letter" });
  expect(lookFrom(null, "nl")).toEqual({ language: "en", paper: "a4" });
  for (const odd of ["", "null", "{", '"de"', '{"language":"xx","paper":3}']) expect(lookFrom(odd, "es-ES")).toEqual({ language: "es", paper: "a4" });
});
