/** Every upgrade of the store carries up what an older client stored; each version has a stored copy here. */
import 'fake-indexeddb/auto';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { deleteDB, openDB } from 'idb';
import { expect, test } from 'vitest';
import { openStore } from '../src/store';
import { LADDER, STORE_VERSION } from '../src/store/ladder';
import type { Schema } from '../src/store/schema';
import { copyOf, lay, type Copy } from './machine/copies';
import { seeded } from './machine/world';

const copyUrl = (version: number) => new URL(`copies/store-${version}.json`, import.meta.url);

/** A store as this version of the client leaves it: run with HOLDWATCH_COPY=1 when a rung is added. */
async function makeCopy(): Promise<Copy> {
  let nowMs = Date.UTC(2026, 10, 25, 20);
  const store = await openStore({ name: 'copy', now: () => (nowMs += 1000), elapsed: () => 1000, random: seeded(4) });
  await store.sync.enter({ person: 'p-anna', name: 'Anna', role: 'owner', household: 'Reef Street', householdId: 'h-1' });
  const tank = await store.add('tank', { name: 'Bay', zone: 'Europe/Berlin', lamps_out: '21:30', lamps_on: '09:00' });
  const look = await store.add('look', { about: tank.id, mouth: 'full' });
  await store.edit(look.id, { mouth: 'smaller' });
  await store.keep('units', { temperature: '°C' });
  const bytes = (...values: number[]) => Uint8Array.from(values).buffer;
  await (await store.photos()).add({ about: look.id }, { sha256: 'a'.repeat(64), full: bytes(1, 2, 3), small: bytes(4, 5), width: 4, height: 3 });
  const batch = await store.sync.nextBatch({ offsetMs: 0, wallMs: nowMs, session: store.sync.session, elapsedMs: 1000 }, 1);
  const row = { id: 'pond-1', kind: 'pond', author: 'p-ben', device: 'zz99zz99', revision: 7, concurrent: [], fields: { depth: { value: 3, stamp: '1764061800000.0000.zz99zz99' } } };
  await store.sync.take(batch, {
    now: new Date(nowMs).toISOString(), database: 'd-1', epoch: 'e-1', schema: 1, cursor: 9, more: false, recomputing: false, rows: [row],
    verdicts: [{ id: tank.id, verdict: 'refused', reason: 'a helper may not', fields: [] }],
    derived: [{ kind: 'forecast', about: 'b-1', revision: 9, body: { day_of_hold: 9 } }],
  });
  await store.close();
  const db = await openDB<Schema>('copy', STORE_VERSION);
  const copy = await copyOf(db, STORE_VERSION);
  db.close();
  await deleteDB('copy');
  return copy;
}

test('there is a stored copy of every version, and the newest is what this client stores', async () => {
  const made = `${JSON.stringify(await makeCopy(), null, 1)}\n`;
  if (process.env['HOLDWATCH_COPY']) writeFileSync(copyUrl(STORE_VERSION), made);
  for (let version = 1; version <= STORE_VERSION; version += 1) expect(existsSync(copyUrl(version))).toBe(true);
  expect(JSON.parse(made)).toEqual(JSON.parse(readFileSync(copyUrl(STORE_VERSION), 'utf8')));
});

test.each(LADDER.map((_climb, rung) => rung + 1))('a store of version %i is carried up with all that is in it', async (version) => {
  const name = `old-${version}`;
  await lay(name, JSON.parse(readFileSync(copyUrl(version), 'utf8')) as Copy);
  const store = await openStore({ name, now: () => Date.UTC(2026, 10, 26), elapsed: () => 5, random: seeded(5) });
  expect(await store.self()).toMatchObject({ name: 'Anna', household: 'Reef Street', device: expect.stringMatching(/^[0-9a-z]{8}$/) });
  const [tank] = await store.ofKind('tank');
  expect(await store.about(tank?.id as string, 'look')).toMatchObject([{ waiting: true, fields: { mouth: 'smaller' } }]);
  expect(await store.ofKind('pond')).toMatchObject([{ revision: 7, fields: { depth: 3 } }]);
  expect(await store.attention()).toMatchObject([{ kind: 'tank', reason: 'a helper may not' }]);
  const waiting = version < 3 ? 2 : 3;
  expect(await store.waiting()).toBe(waiting);
  expect(await store.derived('forecast', 'b-1')).toEqual({ day_of_hold: 9 });
  expect(await store.setting('units')).toEqual({ temperature: '°C' });
  expect(await store.sync.agreement()).toMatchObject({ cursor: 9, epoch: 'e-1' });
  await store.edit(tank?.id as string, { name: 'Cove' });
  expect(await store.waiting()).toBe(waiting + 1);
  const photos = await store.photos();
  expect((await photos.pending()).map((photo) => photo.bytes)).toEqual(version < 3 ? [] : [3]);
  expect(new Uint8Array((await photos.picture('a'.repeat(64), 'small')) ?? new ArrayBuffer(0))).toEqual(Uint8Array.from(version < 3 ? [] : [4, 5]));
  await store.close();
});

test('a store that a newer client has upgraded is not opened, and that is said by name', async () => {
  const newer = await openDB('newer', STORE_VERSION + 1);
  newer.close();
  const opening = openStore({ name: 'newer', now: () => 0, elapsed: () => 0, random: seeded(6) });
  await expect(opening).rejects.toMatchObject({ name: 'newer' });
});

test('a newer client in another tab is not held up by this one, which then says so', async () => {
  const store = await openStore({ name: 'shared', now: () => 0, elapsed: () => 0, random: seeded(7) });
  const newer = await openDB('shared', STORE_VERSION + 1);
  await expect(store.waiting()).rejects.toMatchObject({ name: 'newer' });
  newer.close();
  await store.close();
});
