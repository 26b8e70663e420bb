/** Who logs on a phone that several people share: whom it offers, when it asks, and how somebody signs out of it. */
import type { Member, Store } from '../store';
import { Refused, type Api, type Sync } from '../sync';
import type { People } from './derived';

/** So long after the last entry it is likely that somebody else holds the phone (common practice, no source). */
export const UNSURE_AFTER_MS = 10 * 60_000;
/** As many names as stand side by side on a phone, in letters that are read in the dark. */
export const SIDE_BY_SIDE = 3;

const NAME = 'who_logs';

export interface Logging {
  /** Who may log here, in the order in which they came. */
  readonly members: readonly Member[];
  readonly self: string | null;
  /** When somebody last logged here or said that he does; nothing after who logged has signed out. */
  readonly sureAt: Date | null;
  /** Who logged lately, the last one first. */
  readonly lately: readonly string[];
}
interface Kept {
  readonly [name: string]: string | null | string[];
  sure_at: string | null;
  lately: string[];
}
/** The parts that signing out needs. */
interface Doors {
  readonly store: Store;
  readonly door: Api;
  readonly sync: Sync;
}

/** Read it. Who has left the household is not offered any more. */
export async function loggingOf(store: Store): Promise<Logging> {
  const [members, self, people, kept] = await Promise.all([store.members(), store.self(), store.derived<People>('people', null), store.setting<Kept>(NAME)]);
  const gone = new Set(people?.people.filter((person) => person.gone).map((person) => person.id));
  const here = members.filter((member) => !gone.has(member.person) || member.person === self?.person);
  return { members: here, self: self?.person ?? null, sureAt: kept?.sure_at ? new Date(kept.sure_at) : null, lately: kept?.lately ?? [] };
}

/** Whether it is worth asking who logs: nobody has logged or said so for a while, and another may hold the phone. */
export function isUnsure({ members, sureAt }: Logging, now: Date): boolean {
  return members.length > 1 && (sureAt === null || Math.abs(now.getTime() - sureAt.getTime()) >= UNSURE_AFTER_MS);
}

/** Those who stand side by side, and whether there are others: who logs now, and who logged last before. */
export function atHand({ members, self, lately }: Logging): { shown: readonly Member[]; hasMore: boolean } {
  if (members.length <= SIDE_BY_SIDE) return { shown: members, hasMore: false };
  const order = [self, ...lately.filter((id) => id !== self), ...members.map((member) => member.person)];
  const first = new Set([...new Set(order)].filter((id) => members.some((member) => member.person === id)).slice(0, SIDE_BY_SIDE - 1));
  return { shown: members.filter((member) => first.has(member.person)), hasMore: true };
}

/** Somebody says who logs. */
export async function letLog(store: Store, person: string, now: Date): Promise<void> {
  await store.choose(person);
  await noteSure(store, now);
}

/** Somebody logged, so that it is clear who holds the phone for a while. */
export async function noteSure(store: Store, now: Date): Promise<void> {
  const [self, kept] = await Promise.all([store.self(), store.setting<Kept>(NAME)]);
  if (!self?.isShared) return;
  const lately = [self.person, ...(kept?.lately ?? []).filter((id) => id !== self.person)];
  await store.jot(NAME, { sure_at: now.toISOString(), lately } satisfies Kept);
}

/** Sign somebody out on this phone; what he logged stays on it. Who logs now is asked again, if it was he. */
export async function signOutHere({ store, door, sync }: Doors, person: string): Promise<void> {
  try {
    await door.signOut(person);
  } catch (error) {
    // The server has forgotten him already.
    if (!(error instanceof Refused && error.status === 401)) throw error;
  }
  if ((await store.self())?.person === person) await store.jot(NAME, { sure_at: null, lately: [] } satisfies Kept);
  await store.sync.leave(person);
  sync.now();
}

/** How many entries of each wait on this phone, by who wrote them. */
export async function waitingOf(store: Store, members: readonly Member[]): Promise<Readonly<Record<string, number>>> {
  const counts = await Promise.all(members.map((member) => store.waiting(member.person)));
  return Object.fromEntries(members.map((member, i) => [member.person, counts[i] ?? 0]));
}
