/** What an answer does to the phone: verdicts, rows, epochs, and messages that come late, twice or never. */
import { expect, test } from 'vitest';
import type { Answer } from '../src/records/exchange';
import { agree, begin, START } from './machine/agreement';
import { writtenIn } from './machine/household';
import { ANNA, nextPush, restart, type Phone } from './machine/world';

async function held(phone: Phone) {
  return JSON.parse(await (await phone.store.exportAll()).text());
}

test('what is taken leaves the queue, and the record comes down with its revision', async () => {
  const { world, server, phone } = await begin();
  const look = await phone.store.add('look', { mouth: 'full' });
  await agree(world, server, phone);
  expect(await phone.store.waiting()).toBe(0);
  expect(await phone.store.get(look.id)).toMatchObject({ revision: 1, waiting: false });
  expect((await phone.store.sync.agreement()).agreed_at).toBe(new Date(START).toISOString());
});

test('an answer taken twice, or after a restart, changes nothing more', async () => {
  const { world, server, phone } = await begin();
  await phone.store.add('look', { mouth: 'full' });
  const batch = await nextPush(world, phone);
  const answer = server.answer(batch.request);
  await phone.store.sync.take(batch, answer);
  const before = await held(phone);
  await phone.store.sync.take(batch, answer);
  await restart(world, phone);
  await phone.store.sync.take(batch, answer);
  expect({ ...(await held(phone)), exported_at: '' }).toEqual({ ...before, exported_at: '' });
});

test('an answer that never came is asked for again with the very same changes', async () => {
  const { world, server, phone } = await begin();
  await phone.store.add('look', { mouth: 'full' });
  const lost = await nextPush(world, phone);
  server.answer(lost.request);
  await restart(world, phone);
  world.nowMs += 60_000;
  const again = await nextPush(world, phone);
  expect(again.request.changes).toEqual(lost.request.changes);
  await phone.store.sync.take(again, server.answer(again.request));
  expect(server.rows.size).toBe(1);
  expect(await phone.store.waiting()).toBe(0);
});

test('what is written while the answer is under way waits for the next push', async () => {
  const { world, server, phone } = await begin();
  const look = await phone.store.add('look', { mouth: 'full' });
  const batch = await nextPush(world, phone);
  await phone.store.edit(look.id, { mouth: 'normal' });
  const taken = await phone.store.sync.take(batch, server.answer(batch.request));
  expect(taken.left).toBe(1);
  expect(await phone.store.get(look.id)).toMatchObject({ waiting: true, fields: { mouth: 'normal' } });
  await agree(world, server, phone);
  expect(server.rows.get(look.id)?.fields['mouth']?.value).toBe('normal');
});

test('fields that the server does not know yet wait until its schema number rises', async () => {
  const { world, server, phone } = await begin();
  const look = await phone.store.add('look', { mouth: 'full', gills: 'fast' });
  server.judge = (change) => (server.schema < 2 && 'gills' in writtenIn(change) ? { verdict: 'later', fields: ['gills'] } : undefined);
  await agree(world, server, phone);
  expect(Object.keys(server.rows.get(look.id)?.fields ?? {})).not.toContain('gills');
  expect(await phone.store.waiting()).toBe(1);
  expect((await nextPush(world, phone)).request.changes).toEqual([]);
  server.schema = 2;
  await agree(world, server, phone);
  await agree(world, server, phone);
  expect(server.rows.get(look.id)?.fields['gills']?.value).toBe('fast');
  expect(await phone.store.waiting()).toBe(0);
});

test('a server that reads it is told the stamp of a writing once, an older one with each field', async () => {
  const { world, server, phone } = await begin();
  const look = await phone.store.add('look', { mouth: 'full', tails: 'none' });
  await agree(world, server, phone);
  expect(server.pushes.flatMap((push) => push.changes)).toMatchObject([{ fields: { mouth: { value: 'full', was: null } } }]);
  const stamp = server.rows.get(look.id)?.fields['mouth']?.stamp;
  server.schema = 2;
  await agree(world, server, phone);
  await phone.store.edit(look.id, { mouth: 'smaller', food: 'ate' });
  await agree(world, server, phone);
  const told = server.pushes.flatMap((push) => push.changes).at(-1);
  expect(told).toMatchObject({ values: { mouth: 'smaller', food: 'ate' }, was: { mouth: stamp } });
  expect(told).not.toHaveProperty('fields');
  expect(server.rows.get(look.id)?.fields['food']?.stamp).toBe(told?.stamp);
});

test('kinds and fields that this client does not know are kept and exported as they came, and not edited', async () => {
  const { world, server, phone } = await begin();
  const fields = { about: { value: null, stamp: '1764061800000.0000.zz99zz99' }, depth: { value: { m: [1, 2] }, stamp: '1764061800000.0000.zz99zz99' } };
  server.rows.set('x', { id: 'x', kind: 'pond', author: 'p-ben', device: 'zz99zz99', revision: 1, fields, concurrent: ['depth'] });
  await agree(world, server, phone);
  expect(await phone.store.ofKind('pond')).toMatchObject([{ id: 'x', fields: { depth: { m: [1, 2] } }, concurrent: ['depth'] }]);
  await expect(phone.store.edit('x', { depth: 1 })).rejects.toMatchObject({ name: 'unknown' });
  expect((await held(phone)).records[0].fields).toEqual(fields);
});

test('what another person wrote on this phone waits until they sign in again', async () => {
  const { world, server, phone } = await begin();
  await phone.store.add('look', { mouth: 'full' });
  await phone.store.sync.enter({ ...ANNA, person: 'p-ben', name: 'Ben' });
  await phone.store.add('look', { mouth: 'normal' });
  await agree(world, server, phone);
  expect([...server.rows.values()].map((row) => row.author)).toEqual(['p-ben']);
  expect(await phone.store.waiting()).toBe(1);
  await phone.store.sync.enter(ANNA);
  await agree(world, server, phone);
  expect(server.rows.size).toBe(2);
});

test('a push holds at most 500 changes and 512 KiB', async () => {
  const { world, phone } = await begin();
  for (let i = 0; i < 260; i += 1) await phone.store.add('look', { note: 'ä'.repeat(1500) });
  const { request } = await nextPush(world, phone);
  const bytes = new TextEncoder().encode(JSON.stringify(request)).length;
  expect(bytes).toBeLessThanOrEqual(512 * 1024);
  expect(bytes).toBeGreaterThan(500 * 1024);
  expect((await nextPush(world, phone, false, 7)).request.changes).toHaveLength(7);
});

test('a page that was asked for from further on never moves the cursor over what lies between', async () => {
  const { world, server, phone } = await begin();
  const batch = await nextPush(world, phone, true);
  const answer: Answer = { ...server.answer(batch.request), cursor: 7 };
  await phone.store.sync.take({ ...batch, request: { ...batch.request, cursor: 5 } }, answer);
  expect((await phone.store.sync.agreement()).cursor).toBe(0);
});

test('an older page does not undo what a newer one said', async () => {
  const { world, server, phone } = await begin();
  const old = await nextPush(world, phone, true);
  server.derived = [{ kind: 'forecast', about: 'b', revision: 1, body: { day: 1 } }];
  const oldAnswer = server.answer(old.request);
  server.derived = [{ kind: 'forecast', about: 'b', revision: 2, body: { day: 2 } }];
  await agree(world, server, phone);
  await phone.store.sync.take(old, oldAnswer);
  expect(await phone.store.derived('forecast', 'b')).toEqual({ day: 2 });
  expect(await phone.store.derivedOf('forecast')).toEqual([{ about: 'b', body: { day: 2 } }]);
  expect((await phone.store.sync.agreement()).cursor).toBe(2);
});

test('an export holds what is not on the server yet, refused writes included', async () => {
  const { world, server, phone } = await begin();
  await phone.store.add('tank', { name: 'Bay' });
  await agree(world, server, phone);
  const look = await phone.store.add('look', { mouth: 'full' });
  const file = JSON.parse(await (await phone.store.exportUnsynced()).text());
  expect(file.writes).toHaveLength(1);
  expect(file.records.map((record: { id: string }) => record.id)).toEqual([look.id]);
  expect(file.self).toMatchObject({ person: 'p-anna' });
});
