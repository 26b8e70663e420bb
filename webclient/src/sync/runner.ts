/** When sync runs: on each occasion, soon after a write, again after a failure; never twice at once. */
import { shared } from '../texts/shared';
import { askFor, hasLeft, isSignedOut, Refused, type Me } from './api';
import { backoffMs } from './backoff';
import { agree, type Parts, type Turned } from './rounds';
import { standingOf, type Board } from './status';
import type { Occasion, Stop, SyncSurroundings } from './surroundings';

export { serverClock } from './clock';

const RECOMPUTED_MS = 1_500;
const RECOMPUTED_TRIES = 6;

export class Runner {
  private running = false;
  private asked = false;
  private failures = 0;
  private computing = 0;
  private readonly met = new Set<string | undefined>();
  private cancel: Stop = () => undefined;

  constructor(
    private readonly parts: Parts & { readonly around: SyncSurroundings },
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

  /** The server's clock less the phone's, as the last round trip said. */
  offsetMs(): number {
    return this.parts.clock.offsetMs();
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
    const recomputing = await this.inTurn();
    this.failures = 0;
    this.computing = recomputing ? this.computing + 1 : 0;
    if (recomputing && this.computing <= RECOMPUTED_TRIES) this.soon(RECOMPUTED_MS);
    // The connection may have gone while the last answer was taken in.
    const state = this.board.status().state === 'offline' ? 'offline' : 'agreed';
    await this.board.say({ state, trouble: null, coming: undefined });
    // The bytes of photos come after all records, and wait again as soon as somebody writes.
    await (await import('./photos')).sendPhotos(this.parts, () => this.asked);
  }

  /** A turn for each person who has something waiting on this phone, and again while one waits for another's. */
  private async inTurn(): Promise<boolean> {
    const { turns } = this.parts.store.sync;
    for (;;) {
      const people = await turns();
      const self = people.pop();
      const done: Turned[] = [];
      for (const other of people) {
        try {
          done.push(await this.turn(other));
        } catch (error) {
          if (!isSignedOut(error)) throw error;
          await this.without(other, error);
        }
      }
      done.push(await this.turn(self));
      const isOver = people.length === 0 || done.every((one) => one.settled === 0);
      if (isOver) return done.some((one) => one.recomputing);
    }
  }

  /** Another cannot send: what he wrote waits until he signs in, and is anybody's to send once he has left; the others' goes on. */
  private async without(person: string, error: unknown): Promise<void> {
    const { sync, members } = this.parts.store;
    if (!hasLeft(error)) return sync.noteOut(person);
    const name = (await members()).find((member) => member.person === person)?.name ?? '';
    await sync.strand(person, shared.left(name));
  }

  private async turn(person: string | undefined): Promise<Turned> {
    try {
      if (!this.met.has(person)) await this.meet(person);
      return await agree(this.parts, person, (coming) => this.board.say({ coming }));
    } catch (error) {
      if (isSignedOut(error)) this.met.delete(person);
      throw error;
    }
  }

  /** Learn once a page session what the server says of that person: the role may have changed, or the name. */
  private async meet(person: string | undefined): Promise<void> {
    const { enter, meet } = this.parts.store.sync;
    const found = personOf(await askFor<Me>(this.parts.fetchJson, 'me', { person }));
    if (person === undefined) await enter(found);
    // A server that knows of one person a phone answers for that one, whoever is named.
    else if (found.person !== person) throw new Refused(401, 'signed_out', '', null);
    else await meet(found);
    this.met.add(found.person);
  }

  private async fail(error: unknown): Promise<void> {
    const standing = standingOf(error);
    this.failures += 1;
    if (standing.state !== 'signed_out') this.soon(backoffMs(this.failures, this.parts.around.random()));
    await this.board.say({ ...standing, coming: undefined });
  }
}

/** Who is signed in, as the store keeps it. */
export function personOf({ person, household }: Me) {
  const { id, name, role } = person;
  return { person: id, name, role, household: household.name, householdId: household.id };
}
