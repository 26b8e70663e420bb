/** What was done last on this phone: said once, and taken back until the next action. */
import { texts } from '../texts';

export type TakeBack = () => Promise<unknown>;
export interface Act {
  readonly words: string;
  readonly takeBack: TakeBack | null;
}

/** The last act and the last trouble, shown by the frame. */
export class Acts {
  last = $state<Act | null>(null);
  trouble = $state<string | null>(null);

  /** Carry out a write; says it was saved only when it is, and what went wrong when it is not. */
  async carryOut(words: string, write: () => Promise<TakeBack | null>): Promise<boolean> {
    this.clear();
    return this.attempt(async () => {
      this.last = { words, takeBack: await write() };
    });
  }

  /** Carry out a write of which nothing is said unless it goes wrong. */
  async attempt(write: () => Promise<void>): Promise<boolean> {
    try {
      await write();
      return true;
    } catch (error) {
      this.trouble = troubleWords(error);
      // What is no trouble of the storage is a fault of ours and has to be seen as one.
      if (this.trouble === texts.frame.trouble.other) throw error;
      return false;
    }
  }

  /** Take the last act back. */
  async undo(): Promise<void> {
    const takeBack = this.last?.takeBack;
    if (takeBack) await this.carryOut(texts.frame.undone, async () => (await takeBack(), null));
  }

  clear(): void {
    this.last = null;
    this.trouble = null;
  }
}

function troubleWords(error: unknown): string {
  const name = error instanceof Error ? error.name : '';
  const known = texts.frame.trouble as Readonly<Record<string, string>>;
  return known[name] ?? texts.frame.trouble.other;
}
