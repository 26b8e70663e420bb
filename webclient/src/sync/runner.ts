/** When sync runs: on each occasion, soon after a write, again after a failure; never twice at once. */
import { askFor, type Me } from './api';
import { backoffMs } from './backoff';
import { agree, type Parts } from './rounds';
import { standingOf, type Board } from './status';
import type { Occasion, Stop } from './surroundings';

const RECOMPUTED_MS = 1_500;
const RECOMPUTED_TRIES = 6;

export class Runner {
  private running = false;
  private asked = false;
  private failures = 0;
  private computing = 0;
  private met = false;
  private cancel: Stop = () => undefined;

  constructor(
    private readonly parts: Parts,
    private readonly board: Board,
  ) {}

  /** Run now, if that occasion is worth it. */
  occasion(why: Occasion): void {
    // Nobody is signed in: asking each minute would not change that.
    if (why === 'minute' && this.board.status().state === 'signed_out') return;
    if (why !== 'minute') [this.failures, this.computing] = [0, 0];
    void this.run();
  }

  /** Run in that many milliseconds. */
  soon(ms: number): void {
    this.cancel();
    this.cancel = this.parts.around.later(ms, () => void this.run());
  }

  stop(): void {
    this.cancel();
  }

  private async run(): Promise<void> {
    this.cancel();
    this.asked = true;
    if (this.running) return;
    this.running = true;
    try {
      await this.parts.around.alone(() => this.untilDone());
    } finally {
      this.running = false;
    }
  }

  private async untilDone(): Promise<void> {
    while (this.asked) {
      this.asked = false;
      try {
        await this.round();
      } catch (error) {
        await this.fail(error);
      }
    }
  }

  private async round(): Promise<void> {
    await this.board.say({ state: 'working', trouble: null });
    if (!this.met) await this.meet();
    const { recomputing } = await agree(this.parts);
    this.failures = 0;
    this.computing = recomputing ? this.computing + 1 : 0;
    if (recomputing && this.computing <= RECOMPUTED_TRIES) this.soon(RECOMPUTED_MS);
    await this.board.say({ state: 'agreed', trouble: null });
  }

  /** Learn who is signed in, once a page session: the role may have changed, or the household. */
  private async meet(): Promise<void> {
    await this.parts.store.sync.enter(personOf(await askFor<Me>(this.parts.fetchJson, 'me')));
    this.met = true;
  }

  private async fail(error: unknown): Promise<void> {
    const standing = standingOf(error);
    this.failures += 1;
    if (standing.state === 'signed_out') this.met = false;
    else this.soon(backoffMs(this.failures, this.parts.around.random()));
    await this.board.say(standing);
  }
}

/** Who is signed in, as the store keeps it. */
export function personOf({ person, household }: Me) {
  const { id, name, role } = person;
  return { person: id, name, role, household: household.name, householdId: household.id };
}
