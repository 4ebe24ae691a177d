import { Problem, wordsOf } from "../../api/problem";
import * as api from "../../api/reports";
import type { SignOffMeaning } from "../../api/reports";
import type { SampleDetail } from "../../api/types";
import { sameRecords, signedNow, type Signed } from "./standing";

/** A signature being given. What is signed is what the person saw when the form was opened, not what came meanwhile. */
export class Signing {
  /** What is signed; null while the form is closed. */
  seen = $state.raw<Signed | null>(null);
  meaning = $state<SignOffMeaning>("reviewed");
  statement = $state("");
  /** The signer's, where it is asked for. */
  passphrase = $state("");
  /** Whether the server asked for it, whatever this page thought. */
  asked = $state(false);
  problem = $state("");
  busy = $state(false);

  constructor(private readonly sample: string) {}

  /** Opens the form on what is there now, or shows that anew. */
  look(detail: SampleDetail): void {
    this.seen = signedNow(detail);
  }

  close(): void {
    this.seen = null;
    this.problem = this.statement = this.passphrase = "";
    this.asked = false;
    this.meaning = "reviewed";
  }

  /** Whether something came that the person has not looked at. */
  outrun(detail: SampleDetail): boolean {
    return this.seen !== null && !sameRecords(this.seen, signedNow(detail));
  }

  /** Signs. `refresh` fetches the sample when the server says that it is no longer what was looked at. */
  async sign(refresh: () => Promise<unknown>): Promise<boolean> {
    const { seen } = this;
    if (!seen || this.busy) return false;
    this.busy = true;
    this.problem = "";
    try {
      await api.signOff(this.sample, {
        sample_record: seen.sample_record,
        result_record: seen.result_record,
        verdict_record: seen.verdict_record,
        meaning: this.meaning,
        statement: this.statement.trim() || null,
        ...(this.passphrase ? { passphrase: this.passphrase } : {}),
      });
      this.close();
      return true;
    } catch (error) {
      this.problem = wordsOf(error);
      this.passphrase = "";
      if (error instanceof Problem && error.kind === "/problems/prove") this.asked = true;
      if (error instanceof Problem && (error.status === 409 || error.status === 422)) await refresh();
      return false;
    } finally {
      this.busy = false;
    }
  }
}
