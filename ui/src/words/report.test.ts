import { describe, expect, it } from "vitest";
import type { SignOff } from "../api/reports";
import { standingOf } from "../rooms/sample/standing";
import { listed, standingText } from "./report";

const signed = (over: Partial<SignOff>): SignOff => ({
  id: "s1",
  record: "r1",
  who: "p2",
  when: "2026-11-26T18:00:00Z",
  meaning: "reviewed_and_approved",
  statement: null,
  range_text: "113.1–114.6 °C",
  withdrawn_because: null,
  changed_since: [],
  holds: true,
  ...over,
});
type Detail = Parameters<typeof standingOf>[0];
const of = (...sign_offs: SignOff[]) => standingOf({ determinations: [{}], sign_offs } as unknown as Detail);
const say = (standing: ReturnType<typeof standingOf>) => standingText(standing, (who) => (who === "p2" ? "M. Fink" : who));

describe("how a report stands", () => {
  it("is nothing without a result and a draft without a signature", () => {
    expect(standingOf({ determinations: [], sign_offs: [] }).kind).toBe("nothing");
    expect(of().kind).toBe("draft");
    expect(say(of())).toContain("draft");
  });

  it("says who signed, and what that means", () => {
    expect(say(of(signed({})))).toMatch(/^Reviewed and approved: M\. Fink, .*2026/);
    expect(say(of(signed({ meaning: "reviewed" })))).toMatch(/^Reviewed: /);
  });

  it("says what changed since, and why it was taken back", () => {
    const changed = of(signed({ holds: false, changed_since: ["readings", "result", "verdict"] }));
    expect(changed.kind).toBe("changed");
    expect(say(changed)).toMatch(/Signed off earlier by M\. Fink.*its readings, the result and the verdict\.$/);
    const back = of(signed({ holds: false, withdrawn_because: "wrong tube", changed_since: ["result"] }));
    expect(back.kind).toBe("taken_back");
    expect(say(back)).toContain("wrong tube");
    // Taken back without words is still taken back.
    expect(of(signed({ holds: false, withdrawn_because: "" })).kind).toBe("taken_back");
  });

  it("goes by the signature that holds, whatever was taken back after it", () => {
    const standing = of(signed({ id: "s2", holds: false, withdrawn_because: "by mistake" }), signed({ id: "s1" }));
    expect(standing).toMatchObject({ kind: "signed", by: { id: "s1" } });
  });
});

it("lists with an and", () => {
  expect([listed([]), listed(["a"]), listed(["a", "b"]), listed(["a", "b", "c"])]).toEqual(["", "a", "a and b", "a, b and c"]);
});
