/** One phone that several people of a household share: who logs, and who comes and goes. */
import { expect, test } from 'vitest';
import { openStore } from '../src/store';
import { BEN, CLEO, names, shared } from './machine/sharing';
import { ANNA } from './machine/world';

test('whoever signs in logs from then on, and the others stay in the order in which they came', async () => {
  const { store } = await shared(ANNA, BEN, CLEO);
  expect(await names(store)).toEqual(['Anna', 'Ben', 'Cleo']);
  expect(await store.self()).toMatchObject({ name: 'Cleo' });
  await store.choose('p-anna');
  expect(await names(store)).toEqual(['Anna', 'Ben', 'Cleo']);
  expect(await store.self()).toMatchObject({ name: 'Anna', role: 'owner' });
  expect(await store.self()).not.toHaveProperty('isOut');
});

test('each record keeps its author, also when another corrects it, and a phone that was closed knows who logs', async () => {
  const { world, phone, store } = await shared(ANNA, BEN);
  const look = await store.add('look', { mouth: 'full' });
  await store.choose('p-anna');
  expect(await store.edit(look.id, { mouth: 'smaller' })).toMatchObject({ author: 'p-ben' });
  expect(await store.add('look', { mouth: 'full' })).toMatchObject({ author: 'p-anna' });
  await store.close();
  const again = await openStore({ name: phone.name, now: () => world.nowMs, elapsed: () => 0, random: phone.random });
  expect(await again.self()).toMatchObject({ name: 'Anna' });
  expect(await names(again)).toEqual(['Anna', 'Ben']);
  await again.close();
});

test('nobody who has not signed in here can be chosen', async () => {
  const { store } = await shared(ANNA, BEN);
  await expect(store.choose('p-cleo')).rejects.toMatchObject({ name: 'unknown' });
  expect(await store.self()).toMatchObject({ name: 'Ben' });
});

test('a phone of one person keeps no list, so that it is stored as ever', async () => {
  const { phone, store } = await shared(ANNA);
  await store.sync.meet({ ...ANNA, role: 'keeper' });
  expect(await store.self()).toMatchObject({ role: 'keeper' });
  await store.sync.enter(BEN);
  await store.sync.leave('p-ben');
  expect(await names(store)).toEqual(['Anna']);
  const db = await new Promise<IDBDatabase>((resolve) => { const asked = indexedDB.open(phone.name); asked.onsuccess = () => resolve(asked.result); });
  const keys = await new Promise((resolve) => { const asked = db.transaction('meta').objectStore('meta').getAllKeys(); asked.onsuccess = () => resolve(asked.result); });
  db.close();
  expect(keys).toEqual(['device', 'self']);
});

test('whoever signs out leaves the phone to another; the last one stays the one who logs', async () => {
  const { store } = await shared(ANNA, BEN);
  await store.sync.leave('p-ben');
  expect(await store.self()).toMatchObject({ name: 'Anna' });
  await store.sync.leave('p-anna');
  expect(await names(store)).toEqual([]);
  expect(await store.add('look', { mouth: 'full' })).toMatchObject({ author: 'p-anna' });
  // She signed herself out before he came: he alone may log here.
  await store.sync.enter(BEN);
  expect(await names(store)).toEqual(['Ben']);
});

test('an answer about somebody who signed out meanwhile does not bring him back', async () => {
  const { store } = await shared(ANNA, BEN);
  await store.sync.leave('p-ben');
  await store.sync.meet(BEN);
  expect(await names(store)).toEqual(['Anna']);
});

test('two tabs, of which one lets another person log: the other is told, and writes in that name', async () => {
  const { world, phone, store } = await shared(ANNA, BEN);
  const tab = await openStore({ name: phone.name, now: () => world.nowMs, elapsed: () => 0, random: phone.random });
  const heard = new Promise<Set<string>>((resolve) => tab.onChange(({ kinds }) => resolve(kinds)));
  await store.choose('p-anna');
  expect(await heard).toEqual(new Set(['self']));
  const [one, other] = await Promise.all([store.add('look', { mouth: 'full' }), tab.add('look', { mouth: 'full' })]);
  expect([one.author, other.author]).toEqual(['p-anna', 'p-anna']);
  expect(one.id).not.toBe(other.id);
  await tab.close();
});

test('what another wrote into a record on the same phone outlives that its author takes it back', async () => {
  const { store } = await shared(ANNA, BEN);
  await store.choose('p-anna');
  const look = await store.add('look', { mouth: 'full' });
  await store.choose('p-ben');
  await store.edit(look.id, { note: 'by the left urchin' });
  await store.choose('p-anna');
  await store.undo(look.id);
  expect((await store.get(look.id))?.fields).toMatchObject({ gone: true, note: 'by the left urchin' });
  expect(await store.waiting()).toBe(3);
});
