import * as account from "../../api/account";
import * as api from "../../api/client";
import { wordsOf } from "../../api/problem";
import { people } from "../people/state.svelte";

/** Who is logged in, where people have accounts; where they have none, nobody has to. */
export class Myself {
  me = $state.raw<account.Me | undefined>(undefined);
  problem = $state("");

  /** Whether people come in with accounts here. */
  get guarded(): boolean {
    return this.me?.guarded ?? false;
  }

  /** Whether somebody has to log in before anything can be shown. */
  get mustLogIn(): boolean {
    return this.me !== undefined && this.me.guarded && this.me.person === null;
  }

  /** Whether a passphrase that was given has to be changed before anything else. */
  get mustChange(): boolean {
    return this.guarded && (this.me?.must_change ?? false);
  }

  /** Whether the book can be shown. */
  get isIn(): boolean {
    return this.me !== undefined && !this.mustLogIn && !this.mustChange;
  }

  /** The organisation whose accounts let people in, too; empty where there is none. */
  get organisation(): string {
    return this.me?.organisation ?? "";
  }

  /** Whether a signature asks for proof of who signs: people have accounts, and the login is not from just now. */
  get mustProve(): boolean {
    return this.guarded && !(this.me?.signs_until && Date.parse(this.me.signs_until) > Date.now());
  }

  get supervises(): boolean {
    return this.me?.person?.role === "supervisor";
  }

  async refresh(): Promise<void> {
    try {
      this.#now(await account.me());
      this.problem = "";
    } catch (error) {
      this.problem = wordsOf(error);
    }
  }

  async logIn(name: string, passphrase: string): Promise<void> {
    this.#now(await account.logIn(name.trim(), passphrase));
  }

  async accept(code: string, passphrase: string): Promise<void> {
    this.#now(await account.acceptInvitation(code.trim(), passphrase));
  }

  /** Goes to the organisation; what it sends back is this program's page again. */
  async signIn(request: { invitation?: string; anew?: boolean; to?: string } = {}): Promise<void> {
    this.go(await account.beginSignIn({ invitation: null, anew: false, to: null, ...request }));
  }

  /** Leaves for another address. */
  go = (address: string): void => location.assign(address);

  async changePassphrase(current: string, passphrase: string): Promise<void> {
    await account.changePassphrase(current, passphrase);
    await this.refresh();
  }

  async logOut(): Promise<void> {
    await account.logOut();
    this.forget();
  }

  async logOutEverywhere(): Promise<void> {
    await account.logOutEverywhere();
    this.forget();
  }

  /** The session is over: nothing of the book stays on the screen. */
  forget(): void {
    if (!this.me?.guarded) return;
    this.#now({ ...this.me, person: null, how: null, since: null, must_change: false, has_passphrase: false, signs_until: null });
  }

  #now(me: account.Me): void {
    this.me = me;
    if (me.guarded) people.isLoggedIn(me.person?.id ?? "");
  }
}

export const myself = new Myself();
api.whenNobody(() => myself.forget());
