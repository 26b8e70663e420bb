/**
 * A phone of version 1 in the middle of everything is carried up, and comes to agree with a server of today. What lies
 * in copies/states-1.json was written by that version of the client: entries of every state, a server that was set back
 * a moment before, an answer that never came, and what another person wrote on the phone.
 */
import 'fake-indexeddb/auto';
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import type { Push, Row } from '../src/records/exchange';
import { SCHEMA_NUMBER } from '../src/records/kinds';
import { openStore } from '../src/store';
import { agree } from './machine/agreement';
import { lay, type Copy } from './machine/copies';
import { newServer } from './machine/household';
import { ANNA, seeded, type Phone, type World } from './machine/world';

interface States extends Copy {
  tank: string;
  theirs: string;
  lost: string;
  sent: string;
  /** What the server had then. */
  server: Row[];
}

const BEN = { ...ANNA, person: 'p-ben', name: 'Ben', role: 'keeper' };
const copy = JSON.parse(readFileSync(new URL('copies/states-1.json', import.meta.url), 'utf8')) as States;
let opened = 0;

async function carriedUp() {
  const world: World = { nowMs: Date.UTC(2026, 10, 26, 8) };
  const name = `carried-${(opened += 1)}`;
  await lay(name, copy);
  const phone: Phone = { store: undefined as never, aheadMs: 0, begunMs: world.nowMs, batches: [], random: seeded(3), name };
  phone.store = await openStore({ name, now: () => world.nowMs, elapsed: () => world.nowMs - phone.begunMs, random: phone.random });
  const server = newServer(world);
  const changes = copy.server.map(({ id, kind, author, device, fields }) => ({ id, kind, author, device, fields }));
  server.answer({ schema: 1, device: 'zz99zz99', cursor: 0, epoch: null, changes } as Push);
  server.epoch = 'epoch-2';
  return { world, server, phone };
}

test('the copy holds an entry of every state', () => {
  const states = (copy.stores['outbox'] ?? []).map(([, entry]) => (entry as { state: string }).state);
  expect([...new Set(states)].sort()).toEqual(['later', 'refused', 'waiting', 'whole']);
});

test('what waited goes up, what was lost is brought back, and what was refused can be mended', async () => {
  const { world, server, phone } = await carriedUp();
  const [refused] = await phone.store.attention();
  expect(refused).toMatchObject({ kind: 'feeding', reason: 'note: must be shorter.', fields: { note: 'too much' } });
  for (let round = 0; round < 3; round += 1) await agree(world, server, phone);
  expect(server.rows.get(copy.lost)?.fields['note']?.value).toBe('lost with the disk');
  expect(server.rows.get(copy.theirs)?.fields).toMatchObject({ note: { value: 'Ben corrected it' }, mouth: { value: 'smaller' } });
  expect(server.rows.get(copy.sent)?.fields['note']?.value).toBe('sent, and no answer came');
  expect([...server.rows.values()].filter((row) => row.fields['note']?.value === 'sent, and no answer came')).toHaveLength(1);
  await phone.store.mend(refused?.id as number, { note: 'shorter' });
  await agree(world, server, phone);
  expect(server.rows.get(refused?.record as string)?.fields['note']?.value).toBe('shorter');
  expect(await phone.store.attention()).toEqual([]);
  expect(await phone.store.sync.agreement()).toMatchObject({ epoch: 'epoch-2', bringing: null });
});

test('what the older server did not know is sent when a newer one is met', async () => {
  const { world, server, phone } = await carriedUp();
  await agree(world, server, phone);
  const gills = () => [...server.rows.values()].find((row) => row.fields['gills']);
  expect(gills()).toBeUndefined();
  server.schema = SCHEMA_NUMBER;
  for (let round = 0; round < 3; round += 1) await agree(world, server, phone);
  expect(gills()?.fields).toMatchObject({ gills: { value: 'fast' }, mouth: { value: 'smaller' } });
});

test('what another person wrote on it waits for him', async () => {
  const { world, server, phone } = await carriedUp();
  server.schema = SCHEMA_NUMBER;
  for (let round = 0; round < 3; round += 1) await agree(world, server, phone);
  const bens = () => [...server.rows.values()].filter((row) => row.fields['note']?.value === 'Ben on this phone');
  expect(bens()).toEqual([]);
  expect(await phone.store.waiting()).toBe(1);
  await phone.store.sync.enter(BEN);
  await agree(world, server, phone);
  expect(bens()).toMatchObject([{ author: 'p-ben' }]);
  expect(await phone.store.waiting()).toBe(0);
  expect(await phone.store.setting('units')).toEqual({ temperature: '°F' });
});

test('all of it can be exported before anything is sent', async () => {
  const { phone } = await carriedUp();
  const file = JSON.parse(await (await phone.store.exportUnsynced()).text());
  const notes = file.writes.map((entry: { fields: Record<string, { value: unknown }> }) => entry.fields['note']?.value);
  expect(notes).toEqual(expect.arrayContaining(['too much', 'lost with the disk', 'sent, and no answer came', 'Ben on this phone']));
});
