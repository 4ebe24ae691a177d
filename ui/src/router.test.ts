import { describe, expect, it } from "vitest";
import { placeFrom, to } from "./router.svelte";

describe("addresses", () => {
  it("lead to the room they name", () => {
    expect(placeFrom("")).toMatchObject({ room: "today" });
    expect(placeFrom("#/samples")).toMatchObject({ room: "samples", id: "" });
    expect(placeFrom(to.sample("a b/c"))).toMatchObject({ room: "sample", id: "a b/c" });
    expect(placeFrom(to.reading("0192"))).toMatchObject({ room: "reading", id: "0192" });
    expect(placeFrom(to.compare(["a", "b"])).query.get("of")).toBe("a,b");
    expect(placeFrom(to.camera("North 2"))).toMatchObject({ room: "camera", id: "North 2" });
    expect(placeFrom(to.thermometers)).toMatchObject({ room: "thermometers", id: "" });
    expect(placeFrom(to.thermometer("0192"))).toMatchObject({ room: "thermometer", id: "0192" });
    const check = placeFrom(to.checkFrom("b 1", "r", 2));
    expect([check.room, check.id, check.query.get("reading"), check.query.get("place")]).toEqual(["thermometer", "b 1", "r", "2"]);
    expect(placeFrom(to.programme)).toMatchObject({ room: "programme" });
    expect(placeFrom(to.sessions)).toMatchObject({ room: "sessions", id: "" });
    expect(placeFrom(to.session("Evening practical 3"))).toMatchObject({ room: "session", id: "Evening practical 3" });
    expect(placeFrom(to.sessionSheet("a")).query.has("sheet")).toBe(true);
    // A plan goes to the bench as it was, whatever stands in it.
    const plan = '{"from":"50 % & more? #1","labels":["U+1"]}';
    expect(placeFrom(to.benchWith("North 2", plan)).query.get("plan")).toBe(plan);
    expect([placeFrom(to.practicals).room, placeFrom(to.practicalNew).room]).toEqual(["practicals", "practical-new"]);
    expect(placeFrom(to.practical("0192"))).toMatchObject({ room: "practical", id: "0192" });
    expect(placeFrom(to.practicalLabels("0192"))).toMatchObject({ room: "practical-labels", id: "0192" });
    expect(placeFrom(to.join("k4t 7"))).toMatchObject({ room: "join", id: "" });
    expect(placeFrom(to.join("k4t 7")).query.get("code")).toBe("k4t 7");
    expect([placeFrom(to.seat("0192")).room, placeFrom(to.seat("0192")).id, placeFrom("#/seat").room]).toEqual(["seat", "0192", "join"]);
    expect(placeFrom(to.standards)).toMatchObject({ room: "standards" });
    expect(placeFrom(to.practice({ of: "p 1" })).query.get("of")).toBe("p 1");
    expect(placeFrom(to.practice({ kind: "faint", seed: 3 }))).toMatchObject({ room: "practice", id: "" });
    expect([placeFrom(to.readers).room, placeFrom(to.handout).room]).toEqual(["readers", "handout"]);
    expect(placeFrom("#/toString")).toMatchObject({ room: "nowhere" });
    expect(placeFrom("#/samples/%E0%A4%A")).toMatchObject({ room: "sample", id: "%E0%A4%A" });
  });
});
