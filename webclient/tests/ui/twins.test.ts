/** One event that two people logged, as a brood's page shows it: names, findings, and the way apart and together. */
import { expect, it } from 'vitest';
import { events, once } from '../../src/domain/twice';
import { entriesOf, inEvents } from '../../src/pages/happening';
import { isSaidApart, namesOf, onceWords, putTogether, saidTogether, takeApart } from '../../src/pages/twins';
import type { Fields, Rec, Store } from '../../src/store';
import { maleThatHolds, nowOf, phoneOf } from './phone';

const PEOPLE = { household: { id: 'house', name: 'Tern Quay 4' }, people: ['mira', 'jonas', 'tove'].map((id) => ({ id, name: id.charAt(0).toUpperCase() + id.slice(1), role: 'keeper' as const, gone: false })) };
const at = (minute: number): string => new Date(Date.UTC(2026, 10, 25, 19, minute)).toISOString();

/** The phone on which Tove and then Mira log. */
async function sharedPhone(): Promise<{ store: Store; brood: string }> {
  const store = await phoneOf('keeper');
  const brood = await maleThatHolds(store);
  await store.sync.enter({ person: 'mira', name: 'Mira', role: 'owner', household: 'Tern Quay 4', householdId: 'house' });
  return { store, brood };
}

async function log(store: Store, who: string, kind: string, fields: Fields): Promise<Rec> {
  await store.choose(who);
  return store.add(kind, fields);
}

it('names each who logged it once, and says that it counts once', async () => {
  const { store, brood } = await sharedPhone();
  const tove = await log(store, 'tove', 'look', { about: brood, at: at(0), mouth: 'full' });
  const mira = await log(store, 'mira', 'look', { about: brood, at: at(9), mouth: 'full', eggs: 'silver' });
  expect(namesOf([tove, mira, tove], PEOPLE)).toEqual(['Tove', 'Mira']);
  expect(onceWords([tove, mira], PEOPLE)).toBe('Tove and Mira logged this. It counts once.');
  expect(onceWords([tove, { ...tove, id: 'again' }], PEOPLE)).toBe('Tove logged this twice. It counts once.');
  expect(onceWords([tove, mira, { ...tove, author: 'jonas' }], PEOPLE)).toBe('Tove, Mira and Jonas logged this. It counts once.');
  expect(onceWords([tove, mira], undefined)).toContain('logged this');
});

it('says together what each of them said, also where one cleared a part', async () => {
  const { store, brood } = await sharedPhone();
  const tove = await log(store, 'tove', 'look', { about: brood, at: at(0), mouth: 'full', eggs: null });
  const mira = await log(store, 'mira', 'look', { about: brood, at: at(9), mouth: 'full', eggs: 'silver' });
  expect(saidTogether([tove, mira])).toMatchObject({ at: at(0), mouth: 'full', eggs: 'silver' });
});

it('is taken apart by one act, taken back, and put together again', async () => {
  const { store, brood } = await sharedPhone();
  for (const [who, minute] of [['tove', 0], ['mira', 9]] as const) await log(store, who, 'look', { about: brood, at: at(minute), mouth: 'full' });
  // Without the look with which his watch began.
  const looks = async (): Promise<readonly Rec[]> => (await nowOf(store, brood)).looks.filter((look) => [at(0), at(9)].includes(String(look.fields['at'])));
  const sizes = async (): Promise<number[]> => events(await looks()).map((event) => event.length);
  expect(await sizes()).toEqual([2]);
  const back = await takeApart(store, await looks());
  expect(await sizes()).toEqual([1, 1]);
  const [first, second] = (await looks()) as [Rec, Rec];
  expect([isSaidApart(first, await looks()), isSaidApart(second, await looks())]).toEqual([false, true]);
  await back();
  expect(await sizes()).toEqual([2]);
  await takeApart(store, await looks());
  await putTogether(store, (await looks())[1] as Rec);
  expect(await sizes()).toEqual([2]);
  // Nothing of either was touched.
  expect((await looks()).map((look) => [look.author, look.fields['mouth']])).toEqual([['tove', 'full'], ['mira', 'full']]);
});

it('shows a correction to either: what differs is two again', async () => {
  const { store, brood } = await sharedPhone();
  const tove = await log(store, 'tove', 'look', { about: brood, at: at(0), mouth: 'full' });
  const mira = await log(store, 'mira', 'look', { about: brood, at: at(9), mouth: 'full' });
  expect(events([tove, mira])).toHaveLength(1);
  expect(events([tove, await store.edit(mira.id, { mouth: 'smaller' })])).toHaveLength(2);
});

it('has what happened by events, in the order of the page', async () => {
  const { store, brood } = await sharedPhone();
  await log(store, 'tove', 'mark', { about: brood, at: at(0), what: 'courtship' });
  await log(store, 'mira', 'mark', { about: brood, at: at(20), what: 'spawning' });
  await log(store, 'tove', 'mark', { about: brood, at: at(40), what: 'spawning' });
  await log(store, 'mira', 'mark', { about: brood, at: at(30), what: 'done', duty: 'look:1' });
  await log(store, 'tove', 'mark', { about: brood, at: at(31), what: 'done', duty: 'look:1' });
  const grouped = inEvents(entriesOf(await nowOf(store, brood)));
  expect(grouped.map((event) => event.map((entry) => entry.what))).toEqual([['spawning', 'spawning'], ['done'], ['done'], ['courtship']]);
});

it('counts a catch that two counted alike as one', async () => {
  const { store, brood } = await sharedPhone();
  for (const who of ['tove', 'mira']) await log(store, who, 'mark', { about: brood, at: at(0), what: 'caught', free: 31 });
  expect(once((await nowOf(store, brood)).marks)).toHaveLength(1);
});
