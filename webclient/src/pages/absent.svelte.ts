/** What a page cannot do without and what has not come: the frame says so, and tries again when it is told to. */
import { NotHere, reloadIfServed } from '../late';

type Again = () => Promise<unknown>;

class Absent {
  /** What is to be tried again. */
  waiting = $state.raw<readonly Again[]>([]);

  /** Say that something has not come; any other fault is thrown on. */
  say(error: unknown, again: Again): void {
    if (!(error instanceof NotHere)) throw error;
    this.came(again);
    this.waiting = [...this.waiting, again];
  }

  /** It has come after all. */
  came(again: Again): void {
    if (this.waiting.includes(again)) this.waiting = this.waiting.filter((one) => one !== again);
  }

  async tryAgain(): Promise<void> {
    await Promise.all(this.waiting.map((again) => again()));
    if (this.waiting.length > 0) await reloadIfServed();
  }
}

export const absent = new Absent();
