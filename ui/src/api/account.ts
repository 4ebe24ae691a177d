/** Coming in and going, one's own account, and what supervisors do with others'. */
import { get, id, post, send } from "./client";
import type { components } from "./schema";

type Schemas = components["schemas"];

export type Me = Schemas["Me"];
export type MySession = Schemas["MySession"];
export type MyToken = Schemas["MyToken"];
export type TokenMade = Schemas["TokenMade"];
export type InvitationMade = Schemas["InvitationMade"];
export type PersonGroup = Schemas["PersonGroup"];
export type PersonAccount = Schemas["PersonAccount"];
export type AccessLogEntry = Schemas["AccessLogEntry"];
export type AccessEvent = Schemas["AccessEvent"];

export const me = () => get<Me>("me");
export const logIn = (name: string, passphrase: string) => post<Me>("login", { name, passphrase });
export const logOut = () => send("logout", { method: "POST" });
export const acceptInvitation = (code: string, passphrase: string) => post<Me>("invitations/accept", { code, passphrase });
/** Begins to sign in with an account of one's organisation; the answer is where the browser is to go. */
export const beginSignIn = async (request: Schemas["SignInRequest"]) => (await post<Schemas["SignInBegun"]>("sign-in", request)).address;
export const changePassphrase = (current: string, passphrase: string) =>
  post<undefined>("me/passphrase", { current, passphrase });

export const sessions = async () => (await get<Schemas["MySessions"]>("me/sessions")).sessions;
export const endSession = (session: string) => send(`me/sessions/${id(session)}`, { method: "DELETE" });
export const logOutEverywhere = () => send("me/sessions", { method: "DELETE" });

export const tokens = async () => (await get<Schemas["MyTokens"]>("me/tokens")).tokens;
export const makeToken = (name: string, days: number) => post<TokenMade>("me/tokens", { name, days });
export const revokeToken = (token: string) => send(`me/tokens/${id(token)}`, { method: "DELETE" });

export const accounts = async () => (await get<Schemas["PersonAccounts"]>("accounts")).accounts;
export const invite = (person: string) => post<InvitationMade>(`people/${id(person)}/invitation`, {});
export const lock = (person: string) => send(`people/${id(person)}/lock`, { method: "POST" });
export const unlock = (person: string) => send(`people/${id(person)}/unlock`, { method: "POST" });
export const groups = async () => (await get<Schemas["PersonGroups"]>("groups")).groups;
export const makeGroup = (name: string) => post<PersonGroup>("groups", { name });
export const dissolveGroup = (group: string) => send(`groups/${id(group)}`, { method: "DELETE" });
export const enterGroup = (group: string, person: string) => send(`groups/${id(group)}/members/${id(person)}`, { method: "PUT" });
export const takeOutOfGroup = (group: string, person: string) =>
  send(`groups/${id(group)}/members/${id(person)}`, { method: "DELETE" });
export const lockGroup = (group: string) => post<Schemas["GroupLocked"]>(`groups/${id(group)}/lock`, {});
export const unlockGroup = (group: string) => post<Schemas["GroupUnlocked"]>(`groups/${id(group)}/unlock`, {});
/** Entries before the one named, or the newest. */
export const accessLog = async (before?: string) =>
  (await get<Schemas["AccessLog"]>(`access-log?limit=100${before ? `&before=${id(before)}` : ""}`)).entries;
