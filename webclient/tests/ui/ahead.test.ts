/** Reading ahead gives what the store gives, and asks the database for the tree of records no more than once. */
import { expect, test } from 'vitest';
import { readAhead } from '../../src/pages/ahead';
import { eveningOf } from '../../src/pages/evening';
import { holdings } from '../../src/pages/holding';
import type { Store } from '../../src/store';
import { phoneOf } from './phone';

async function household(): Promise<Store> {
  const store = await phoneOf('owner');
  const tank = await store.add('tank', { name: 'Hall tank', zone: 'Europe/Copenhagen', lamps_out: '21:30', lamps_on: '08:30' });
  const males = [];
  for (const name of ['Quill', 'Comma']) males.push(await store.add('fish', { about: tank.id, name, spot: `of ${name}` }));
  for (const male of males) await store.add('brood', { about: male.id, ended: null });
  await store.edit(males[1]?.id ?? '', { gone: true });
  return store;
}

test('it hands out the same records, also one that was taken away where it is named', async () => {
  const store = await household();
  const ahead = await readAhead(store);
  for (const kind of ['tank', 'fish', 'brood', 'look']) {
    expect(await ahead.ofKind(kind)).toEqual(await store.ofKind(kind));
    expect(await ahead.ofKind(kind, { gone: true })).toEqual(await store.ofKind(kind, { gone: true }));
  }
  expect(await holdings(ahead)).toEqual(await holdings(store));
});

test('the evening is read without asking for males and tanks one by one', async () => {
  const store = await household();
  const asked: string[] = [];
  const watched: Store = { ...store, get: async (id) => (asked.push(id), store.get(id)) };
  expect((await eveningOf(watched)).holding.map((one) => one.fish?.fields['name'])).toEqual(['Comma', 'Quill']);
  expect(asked).toEqual([]);
});
