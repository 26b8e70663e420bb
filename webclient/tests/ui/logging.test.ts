/** Who logs on a shared phone: whom it offers, when it asks, and how somebody signs out of it. */
import { expect, it } from 'vitest';
import type { Person } from '../../src/store';
import { Refused, type Api, type Sync } from '../../src/sync';
import { UNSURE_AFTER_MS, atHand, isUnsure, letLog, loggingOf, noteSure, signOutHere, waitingOf, type Logging } from '../../src/pages/logging';
import { phoneOf } from './phone';

const NOW = new Date('2026-11-25T20:10:00Z');
const HOUSE = { household: 'Tern Quay 4', householdId: 'house' };
const MIRA: Person = { person: 'mira', name: 'Mira', role: 'owner', ...HOUSE };

const later = (ms: number): Date => new Date(NOW.getTime() + ms);
const member = (person: string): Logging['members'][number] => ({ person, name: person, role: 'helper', ...HOUSE, isOut: false });

async function sharedPhone() {
  const store = await phoneOf('helper');
  await store.sync.enter(MIRA);
  return store;
}

/** The door through which that many people may sign out; after them the server knows nobody. */
function doors(store: Awaited<ReturnType<typeof sharedPhone>>, sessions: number) {
  const out: (string | undefined)[] = [];
  const signOut = async (person?: string): Promise<void> => {
    out.push(person);
    if (out.length > sessions) throw new Refused(401, 'signed_out', 'Sign in.', null);
  };
  return { out, parts: { store, door: { signOut } as Api, sync: { now: () => undefined } as Sync } };
}

it('asks who logs once ten minutes have passed since somebody logged or said that he does', async () => {
  const store = await sharedPhone();
  expect(isUnsure(await loggingOf(store), NOW)).toBe(true);
  await letLog(store, 'tove', NOW);
  const logging = await loggingOf(store);
  expect(logging).toMatchObject({ self: 'tove', sureAt: NOW, lately: ['tove'] });
  expect([0, UNSURE_AFTER_MS - 1, UNSURE_AFTER_MS, -UNSURE_AFTER_MS].map((ms) => isUnsure(logging, later(ms)))).toEqual([false, false, true, true]);
  await noteSure(store, later(UNSURE_AFTER_MS));
  expect(isUnsure(await loggingOf(store), later(UNSURE_AFTER_MS))).toBe(false);
});

it('asks nothing on a phone of one person, and keeps nothing of it', async () => {
  const store = await phoneOf('helper');
  await noteSure(store, NOW);
  expect(await store.setting('who_logs')).toBeUndefined();
  expect(isUnsure(await loggingOf(store), NOW)).toBe(false);
});

it('offers nobody who has left the household, but says still who logs', async () => {
  const store = await sharedPhone();
  const batch = await store.sync.nextBatch(null);
  const people = [{ id: 'tove', name: 'Tove', role: 'helper', gone: true }, { id: 'mira', name: 'Mira', role: 'owner', gone: false }];
  const body = { household: { id: 'house', name: 'Tern Quay 4' }, people };
  await store.sync.take(batch, { now: NOW.toISOString(), database: 'd', epoch: 'e', schema: 2, verdicts: [], rows: [], derived: [{ kind: 'people', about: null, revision: 1, body }], cursor: 1, more: false, recomputing: false });
  expect((await loggingOf(store)).members.map((one) => one.name)).toEqual(['Mira']);
  await store.choose('tove');
  expect((await loggingOf(store)).members.map((one) => one.name)).toEqual(['Tove', 'Mira']);
});

it('has three names side by side, in their order; of more those who logged last, and a way to the others', () => {
  const three = ['a', 'b', 'c'].map(member);
  expect(atHand({ members: three, self: 'a', sureAt: null, lately: ['c'] })).toEqual({ shown: three, hasMore: false });
  const five = ['a', 'b', 'c', 'd', 'e'].map(member);
  const ids = (logging: Logging) => atHand(logging).shown.map((one) => one.person);
  expect(ids({ members: five, self: 'd', sureAt: null, lately: ['d', 'b', 'a'] })).toEqual(['b', 'd']);
  expect(ids({ members: five, self: 'e', sureAt: null, lately: ['gone', 'e'] })).toEqual(['a', 'e']);
  expect(atHand({ members: five, self: 'd', sureAt: null, lately: [] })).toMatchObject({ hasMore: true });
});

it('lets somebody sign out in his own name, and then asks who logs', async () => {
  const store = await sharedPhone();
  await letLog(store, 'mira', NOW);
  const { out, parts } = doors(store, 1);
  await signOutHere(parts, 'mira');
  expect(out).toEqual(['mira']);
  expect(await loggingOf(store)).toMatchObject({ self: 'tove', sureAt: null });
  expect(await store.self()).toMatchObject({ name: 'Tove', isShared: false });
});

it('lets go of somebody whom the server has forgotten already, and of nobody while it cannot be asked', async () => {
  const store = await sharedPhone();
  await signOutHere(doors(store, 0).parts, 'tove');
  expect((await store.members()).map((one) => one.name)).toEqual(['Mira']);
  await store.sync.enter({ ...MIRA, person: 'jonas', name: 'Jonas' });
  const away = { ...doors(store, 0).parts, door: { signOut: async () => Promise.reject(new Error('no connection')) } as unknown as Api };
  await expect(signOutHere(away, 'jonas')).rejects.toThrow('no connection');
  expect((await store.members()).map((one) => one.name)).toEqual(['Mira', 'Jonas']);
});

it('counts what waits of each', async () => {
  const store = await sharedPhone();
  await store.add('look', { mouth: 'full' });
  await store.add('look', { mouth: 'full' });
  await store.choose('tove');
  await store.add('look', { mouth: 'normal' });
  expect(await waitingOf(store, await store.members())).toEqual({ tove: 1, mira: 2 });
});
