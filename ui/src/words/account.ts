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

/** Coming in with an account of one's organisation. */
export const signIn = {
  with: (organisation: string) => `Sign in with ${organisation}`,
  going: "Going there…",
  or: "or",
  title: "Not signed in",
  retry: "Back to the first page",
} as const;

/** Why somebody who came back from their organisation is not let in; the names come from the server. */
const refusals: Record<string, string> = {
  "not-begun": "This sign-in was not begun in this browser, took too long, or was finished already. Begin it again.",
  denied: "The organisation did not let you through, or you said no there. Begin again, or log in with name and passphrase.",
  away: "The organisation does not answer just now. Try again in a while, or log in with name and passphrase if you have one.",
  "not-good": "What the organisation sent back could not be trusted. Begin again; if it stays so, tell a supervisor of the book.",
  unknown: "Your account there is nobody’s in this book yet. Ask a supervisor of the book for an invitation.",
  "name-taken": "Somebody in this book has your name already. If that is you, ask a supervisor of the book for an invitation.",
  "name-unfit": "The organisation gave no name that the book can take. Ask a supervisor of the book for an invitation.",
  locked: "Your account here is locked. Ask a supervisor of the book.",
  invitation: "This invitation was accepted already, is older than a week, or was never made. Ask a supervisor for a new one.",
  "another-person": "This account lets somebody else of the book in already. Sign in with your own, or ask a supervisor of the book.",
};
export const refusalWords = (trouble: string) =>
  refusals[trouble] ?? "The program failed while you came back. Try again; the program’s log says more.";

export const invitation = {
  title: "Accept an invitation",
  intro: "With the code from a supervisor you choose a passphrase that nobody else knows.",
  code: "Code",
  codeHint: "six groups of four; large or small letters, with or without dashes",
  passphrase: "New passphrase",
  go: "Choose this passphrase",
  going: "Looking…",
  elsewhere: "Choose a passphrase, or use your account there instead; it lets you in from now on.",
  codeFirst: "Type the code first.",
  back: "Log in instead",
} as const;

/** What makes a passphrase; the length comes from the server. */
export const passphraseHint = (chars: number) =>
  `At least ${chars} characters: four or five words that have nothing to do with each other, or what a password manager makes. Nothing else is asked of it.`;

export const me = {
  title: "My account",
  as: (name: string, role: string) => `Logged in as ${name}, ${role}.`,
  elsewhere: (organisation: string) =>
    `You sign in with ${organisation} and have no passphrase here. With an invitation by a supervisor you could choose one instead.`,
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
  readyElsewhere: "signs in with the organisation",
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

export const groups = {
  title: "Groups",
  intro: "Who belongs together, for instance in one practical. A group changes nothing of what people may do; all of it can be locked or unlocked at once.",
  none: "There is no group.",
  name: "Name of a new group",
  nameHint: "for instance: evening practical 2026",
  make: "Make the group",
  members: (count: number) => (count === 1 ? "1 person" : `${count} people`),
  nobody: "Nobody is in it.",
  add: "Who joins",
  choose: "choose somebody",
  put: "Put in",
  takeOut: "Take out",
  lock: "Lock all",
  unlock: "Unlock all",
  dissolve: "Dissolve the group",
  dissolveAsk: (name: string) => `Dissolve “${name}”? Its people and their accounts stay as they are.`,
  lockAsk: (name: string) => `Lock the accounts of all in “${name}”? They are logged out at once; your own is left out.`,
  yes: "Yes",
  no: "No",
  locked: (count: number, leftOut: boolean) =>
    `${count === 1 ? "1 account is" : `${count} accounts are`} locked.${leftOut ? " Yours was left out." : ""}`,
  unlocked: (count: number) => `${count === 1 ? "1 account is" : `${count} accounts are`} unlocked.`,
} as const;

export const access = {
  title: "Access log",
  intro: "Kept with the accounts, and only added to. Addresses are those that the program sees.",
  when: "When",
  what: "What",
  who: "Who",
  about: "Whose account",
  from: "From",
  more: "More",
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
    signed_in: "signed in with the organisation",
    sign_in_refused: "came back from the organisation, refused",
    bound: "comes in with the organisation’s account from now on",
    joined: "added because of a group there",
    group_made: "made a group",
    group_dissolved: "dissolved a group",
    group_entered: "put into a group",
    group_left: "taken out of a group",
  } satisfies Record<AccessEvent, string>,
} as const;

/** A moment as this machine's clock has it. */
export function moment(text: string | null): string {
  if (!text) return "";
  const when = new Date(text);
  return Number.isNaN(when.getTime()) ? text : when.toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}
