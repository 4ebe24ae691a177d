import { describe, expect, it } from "vitest";
import type { Moments } from "../../api/types";
import { completed, decision, differs, emptyDraft, fault, needsReason, seenTube } from "./draft";

const times = Array.from({ length: 100 }, (_, i) => i * 2);
const read: Moments = {
  outcome: "melted",
  first_liquid: { time_s: 40.7, temperature_c: 113.4, standard_uncertainty_c: 0.04 },
  last_crystal: { time_s: 120.2, temperature_c: 114.7, standard_uncertainty_c: 0.02 },
};

describe("a tube that a person reads", () => {
  it("needs both ends, or that they were not seen", () => {
    expect(fault(emptyDraft())).not.toBeNull();
    expect(fault({ first: { frame: 3 }, last: null, outcome: null })).not.toBeNull();
    expect(fault({ first: { frame: 3 }, last: "not_seen", outcome: null })).toBeNull();
    expect(fault({ first: "not_seen", last: "not_seen", outcome: null })).toBeNull();
  });

  it("has its first liquid no later than its last crystal", () => {
    expect(fault({ first: { frame: 9 }, last: { frame: 8 }, outcome: null })).not.toBeNull();
    expect(fault({ first: { frame: 9 }, last: { frame: 9 }, outcome: null })).toBeNull();
    expect(fault({ first: "not_seen", last: { frame: 8 }, outcome: null })).not.toBeNull();
  });

  it("goes out by picture, and leaves the outcome to what was seen", () => {
    expect(seenTube(2, { first: { frame: 9 }, last: "not_seen", outcome: null })).toEqual({
      place: 2,
      first_liquid: { at: "frame", frame: 9 },
      last_crystal: { at: "not_seen" },
    });
  });
});

describe("a reason", () => {
  it("is not asked for when the same picture is marked", () => {
    expect(differs({ frame: 20 }, read.first_liquid, times)).toBe(false);
    expect(needsReason({ first: { frame: 20 }, last: { frame: 60 }, outcome: null }, read, times)).toBe(false);
    expect(needsReason(emptyDraft(), read, times)).toBe(false);
  });

  it("is asked for when an end or the outcome differs", () => {
    expect(needsReason({ first: { frame: 21 }, last: null, outcome: null }, read, times)).toBe(true);
    expect(needsReason({ first: null, last: "not_seen", outcome: null }, read, times)).toBe(true);
    expect(needsReason({ first: null, last: null, outcome: "decomposed" }, read, times)).toBe(true);
    const unseen: Moments = { outcome: "partly_melted", first_liquid: read.first_liquid, last_crystal: null };
    expect(needsReason({ first: null, last: "not_seen", outcome: null }, unseen, times)).toBe(false);
    expect(needsReason({ first: null, last: { frame: 4 }, outcome: null }, unseen, times)).toBe(true);
  });
});

describe("a decision", () => {
  it("keeps the reading's exact time for an end that was not marked", () => {
    expect(decision(1, { first: { frame: 25 }, last: null, outcome: null }, read, times, " seen later ")).toEqual({
      place: 1,
      says: "set",
      first_liquid: { at: "frame", frame: 25 },
      last_crystal: { at: "time", time_s: 120.2 },
      outcome: "melted",
      reason: "seen later",
    });
  });

  it("says nothing new when the reading's own pictures are marked", () => {
    const same = decision(1, { first: { frame: 20 }, last: { frame: 60 }, outcome: null }, read, times, "");
    expect(same).toMatchObject({
      first_liquid: { at: "time", time_s: 40.7 },
      last_crystal: { at: "time", time_s: 120.2 },
      outcome: "melted",
    });
    expect(same).not.toHaveProperty("reason");
  });

  it("leaves the outcome open when an end is seen no more", () => {
    expect(decision(1, { first: null, last: "not_seen", outcome: null }, read, times, "x")).not.toHaveProperty("outcome");
  });

  it("is checked against the reading's other end", () => {
    expect(fault(completed({ first: { frame: 80 }, last: null, outcome: null }, read, times))).not.toBeNull();
    expect(fault(completed({ first: { frame: 25 }, last: null, outcome: null }, read, times))).toBeNull();
  });
});
