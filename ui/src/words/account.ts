import type { AccessEvent } from "../api/account";

export const login = {
  title: "Log in",
  intro: "This lab book is open to people with an account.",
  name: "Name",
  nameHint: "as the book has it",
  passphrase: "Passphrase",
  show: "Show what is typed",
  go: "Log in",
  going: "Looking…",
  invitation: "I have an invitation",
  noAccount: "No account yet, or the passphrase is forgotten? A supervisor of the book invites you.",
} as const;

export const invitation = {
  title: "Accept an invitation",
  intro: "With the code from a supervisor you choose a passphrase that nobody else knows.",
  code: "Code",
  codeHint: "six groups of four; large or small letters, with or without dashes",
  passphrase: "New passphrase",
  go: "Choose this passphrase",
  going: "Looking…",
  back: "Log in instead",
} as const;

/** What makes a passphrase; the length comes from the server. */
export const passphraseHint = (chars: number) =>
  `At least ${chars} characters: four or five words that have nothing to do with each other, or what a password manager makes. Nothing else is asked of it.`;

export const me = {
  title: "My account",
  as: (name: string, role: string) => `Logged in as ${name}, ${role}.`,
  passphrase: "Passphrase",
  mustChange: "Your passphrase was given to you. Choose one of your own before anything else.",
  current: "Passphrase until now",
  fresh: "New passphrase",
  change: "Change the passphrase",
  changing: "Changing…",
  changed: "The passphrase is changed. All other sessions have ended.",
  sessions: "Where I am logged in",
  browser: "Browser",
  from: "From",
  since: "Since",
  seen: "Last used",
  thisOne: "this one",
  unknown: "not known",
  end: "Log out there",
  everywhere: "Log out everywhere",
  logOut: "Log out",
  tokens: "Tokens",
  tokensIntro: "A token lets a program of yours in, with all that you may do but change accounts. Give each program its own, and take it back when it is not needed any more.",
  noTokens: "There is no token.",
  token: "Token",
  made: "Made",
  expires: "Good until",
  used: "Last used",
  never: "never",
  tokenName: "What it is for",
  days: "Good for",
  daysOf: { 7: "a week", 30: "30 days", 90: "90 days", 366: "a year" } as Record<number, string>,
  make: "Make a token",
  making: "Making…",
  secret: "The new token. It is shown this once and kept nowhere: copy it now.",
  revoke: "Take back",
} as const;

export const accounts = {
  account: "Account",
  intro: "Whoever is to come in needs an account. An invitation is a code, good once and for a week; hand it over in person or by a way that only this person reads.",
  none: "none",
  ready: "has a passphrase",
  mustChange: "has to choose another passphrase",
  locked: "locked",
  invitedUntil: (day: string) => `invited until ${day}`,
  last: (when: string) => `last in ${when}`,
  invite: "Invite",
  inviteAnew: "Invite anew",
  lock: "Lock",
  unlock: "Unlock",
  code: (name: string) => `The code for ${name}. It is shown this once and kept nowhere.`,
  address: (name: string) => `Or the whole address for ${name}, with the code in it`,
  log: "Who came in, was refused, or changed accounts",
  changes: "What to do",
} as const;

export const access = {
  title: "Access log",
  intro: "Kept with the accounts, and only added to. Addresses are those that the program sees.",
  when: "When",
  what: "What",
  who: "Who",
  about: "Whose account",
  from: "From",
  older: "Older entries",
  none: "Nothing yet.",
  nobody: "–",
  events: {
    logged_in: "logged in",
    refused: "refused",
    waits: "refused, has to wait",
    logged_out: "logged out",
    logged_out_everywhere: "logged out everywhere",
    invited: "invited",
    invitation_accepted: "accepted an invitation",
    invitation_refused: "a code that is none",
    passphrase_changed: "changed the passphrase",
    passphrase_set: "was given a passphrase",
    token_made: "made a token",
    token_revoked: "took a token back",
    locked: "locked",
    unlocked: "unlocked",
  } satisfies Record<AccessEvent, string>,
} as const;

/** A moment as this machine's clock has it. */
export function moment(text: string | null): string {
  if (!text) return "";
  const when = new Date(text);
  return Number.isNaN(when.getTime()) ? text : when.toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}
