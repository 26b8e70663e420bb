/** A question to the server from a form: busy while it is asked, and what went wrong in words. */
import { StoreTrouble } from '../store';
import { Refused } from '../sync';
import { Offline } from '../sync/http';
import { later } from '../texts/later';

/** The state of one form. */
export class Asking {
  busy = $state(false);
  wrong = $state<string | null>(null);
  /** Messages by the field they are about. */
  where = $state.raw<Readonly<Record<string, readonly string[]>>>({});

  /** Ask; the answer, or nothing where it was refused and `wrong` says why. */
  async ask<T>(question: () => Promise<T>): Promise<T | undefined> {
    this.busy = true;
    this.wrong = null;
    this.where = {};
    try {
      return await question();
    } catch (error) {
      this.wrong = this.wordsOf(error);
      return undefined;
    } finally {
      this.busy = false;
    }
  }

  private wordsOf(error: unknown): string {
    if (error instanceof Offline) return later.access.trouble.offline;
    if (error instanceof StoreTrouble && error.name === 'other_household') return later.access.trouble.otherHousehold;
    if (!(error instanceof Refused)) throw error;
    this.where = error.where ?? {};
    return error.where ? later.access.trouble.marked : error.message;
  }
}
