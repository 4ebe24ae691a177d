import { afterEach, expect, it, vi } from "vitest";
import type { PersonAccount } from "../../api/account";
import { Accounts, standing } from "./accounts.svelte";

const row: PersonAccount = {
  person: { id: "p-1", record: "r-1", name: "S. Drossel", role: "student" },
  has_passphrase: false,
  signs_in: false,
  must_change: false,
  locked: false,
  last: null,
  invited_until: null,
};

afterEach(() => vi.unstubAllGlobals());

it("says what matters most of an account", () => {
  expect(standing(row).kind).toBe("");
  expect(standing({ ...row, invited_until: "2027-01-31T10:00:00Z" }).text).toMatch(/^invited until .*2027/);
  expect(standing({ ...row, has_passphrase: true }).kind).toBe("good");
  expect(standing({ ...row, signs_in: true }).text).toContain("organisation");
  expect(standing({ ...row, has_passphrase: true, must_change: true }).kind).toBe("warn");
  expect(standing({ ...row, has_passphrase: true, locked: true, invited_until: "2027-01-31T10:00:00Z" }).kind).toBe("bad");
});

it("shows an invitation once, and puts the code where servers do not see it", async () => {
  vi.stubGlobal("fetch", (path: string) => {
    const body = path.endsWith("invitation") ? { code: "0ABC-DEFG", expires: "2027-01-31T10:00:00Z" } : { accounts: [row] };
    return Promise.resolve(new Response(JSON.stringify(body), { status: path.endsWith("invitation") ? 201 : 200 }));
  });
  const room = new Accounts();
  await room.invite(row);
  expect(room.made?.code).toBe("0ABC-DEFG");
  const address = new URL(room.made?.address ?? "");
  expect([address.search, address.hash]).toEqual(["", "#/invitation?code=0ABC-DEFG"]);
  await room.refresh();
  expect(room.made).toBeUndefined();
});
