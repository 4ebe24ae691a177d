import { afterEach, beforeEach, expect, it, vi } from "vitest";
import type { Me } from "../../api/account";
import { people as peopleOf } from "../../api/client";
import { people } from "../people/state.svelte";
import { myself } from "./state.svelte";

const person = { id: "p-1", name: "R. Amsel", role: "supervisor" as const };
const nobody: Me = { guarded: true, person: null, how: null, since: null, must_change: false, passphrase_chars: 15, organisation: null, has_passphrase: false, signs_until: null };
const somebody: Me = { ...nobody, person, how: "session", since: "2027-01-31T10:00:00Z" };

/** Answers by path; what was asked with which headers. */
let answers: Record<string, [number, unknown]> = {};
let asked: { path: string; method: string; headers: Headers }[] = [];

beforeEach(() => {
  asked = [];
  answers = {};
  localStorage.clear();
  vi.stubGlobal("fetch", (path: string, init: RequestInit) => {
    asked.push({ path, method: init.method ?? "GET", headers: new Headers(init.headers) });
    const [status, body] = answers[path] ?? [404, {}];
    return Promise.resolve(new Response(status === 204 ? null : JSON.stringify(body), { status }));
  });
});
afterEach(() => vi.unstubAllGlobals());

it("asks nobody to log in where the book is open on this machine", async () => {
  answers["/api/me"] = [200, { ...nobody, guarded: false }];
  await myself.refresh();
  expect([myself.guarded, myself.mustLogIn, myself.isIn]).toEqual([false, false, true]);
  // A session cannot be over that there never was.
  myself.forget();
  expect(myself.isIn).toBe(true);
});

it("writes as whoever logged in, whatever was chosen on this machine before", async () => {
  localStorage.setItem("meltrange.person", "p-2");
  answers["/api/me"] = [200, nobody];
  answers["/api/people"] = [200, { people: [{ ...person, record: "r" }, { ...person, id: "p-2", name: "S. Drossel", record: "r" }] }];
  await myself.refresh();
  expect([myself.mustLogIn, myself.isIn]).toEqual([true, false]);
  answers["/api/login"] = [200, somebody];
  await myself.logIn(" R. Amsel ", "three owls on a warm block");
  expect(asked.at(-1)?.headers.get("x-own-page")).toBe("1");
  expect(asked.at(-1)?.headers.get("x-person")).toBeNull();
  expect([myself.isIn, myself.supervises]).toEqual([true, true]);
  await people.refresh();
  expect(people.me?.name).toBe("R. Amsel");
  // Who was chosen where the book is open stays chosen there.
  expect(localStorage.getItem("meltrange.person")).toBe("p-2");
});

it("shows nothing any more once an answer says that nobody is logged in", async () => {
  answers["/api/me"] = [200, somebody];
  await myself.refresh();
  expect(myself.isIn).toBe(true);
  answers["/api/people"] = [401, { type: "/problems/log-in", detail: "Log in first" }];
  await expect(peopleOf()).rejects.toThrow("Log in first");
  expect([myself.isIn, myself.mustLogIn, people.meId]).toEqual([false, true, ""]);
});

it("asks for another passphrase before anything else where one was given", async () => {
  answers["/api/me"] = [200, { ...somebody, must_change: true }];
  await myself.refresh();
  expect([myself.isIn, myself.mustChange, myself.mustLogIn]).toEqual([false, true, false]);
  answers["/api/me/passphrase"] = [204, null];
  answers["/api/me"] = [200, somebody];
  await myself.changePassphrase("given to me by her", "three owls on a warm block");
  expect([myself.isIn, myself.mustChange]).toEqual([true, false]);
});

it("goes to the organisation and asks it for nothing else than a way back", async () => {
  const gone = vi.spyOn(myself, "go").mockImplementation(() => {});
  answers["/api/me"] = [200, { ...nobody, organisation: "Example College" }];
  await myself.refresh();
  expect(myself.organisation).toBe("Example College");
  answers["/api/sign-in"] = [200, { address: "https://login.example.edu/?x=1" }];
  await myself.signIn({ invitation: "0ABC" });
  expect(gone).toHaveBeenCalledWith("https://login.example.edu/?x=1");
  answers["/api/sign-in"] = [503, { type: "/problems/sign-in-away", detail: "Example College cannot be asked just now" }];
  await expect(myself.signIn()).rejects.toThrow("cannot be asked");
  expect(gone).toHaveBeenCalledTimes(1);
  gone.mockRestore();
});

it("knows when a signature asks again who signs", async () => {
  const from = (ms: number) => new Date(Date.now() + ms).toISOString();
  for (const [until, asks] of [[from(60_000), false], [from(-1000), true], [null, true]] as const) {
    answers["/api/me"] = [200, { ...somebody, has_passphrase: true, signs_until: until }];
    await myself.refresh();
    expect(myself.mustProve).toBe(asks);
  }
  answers["/api/me"] = [200, { ...nobody, guarded: false }];
  await myself.refresh();
  expect(myself.mustProve).toBe(false);
});

it("stays logged in where logging in or out fails", async () => {
  answers["/api/me"] = [200, somebody];
  await myself.refresh();
  answers["/api/logout"] = [500, { detail: "The program failed" }];
  await expect(myself.logOut()).rejects.toThrow("The program failed");
  expect(myself.isIn).toBe(true);
  answers["/api/logout"] = [204, null];
  await myself.logOut();
  expect(myself.mustLogIn).toBe(true);
  answers["/api/login"] = [403, { type: "/problems/refused-login", detail: "name and passphrase do not belong together" }];
  await expect(myself.logIn("R. Amsel", "no")).rejects.toThrow("do not belong together");
  expect(myself.mustLogIn).toBe(true);
});
