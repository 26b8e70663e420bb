/** What an answer does to the phone: verdicts, rows, epochs, and messages that come late, twice or never. */
import { expect, test } from 'vitest';
import type { Answer } from '../src/records/exchange';
import { agree, begin, START } from './machine/agreement';
import { ANNA, newPhone, nextPush, restart, type Phone } from './machine/world';

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
  server.judge = (change) => (server.schema < 2 && 'gills' in change.fields ? { verdict: 'later', fields: ['gills'] } : undefined);
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

test('after a restore of the server the phone pulls all and brings back what the server lacks', async () => {
  const { world, server, phone } = await begin();
  const tank = await phone.store.add('tank', { name: 'Bay' });
  await agree(world, server, phone);
  const backup = structuredClone(server.rows);
  world.nowMs += 1000;
  await phone.store.edit(tank.id, { name: 'Cove' });
  const look = await phone.store.add('look', { mouth: 'full' });
  await agree(world, server, phone);
  server.rows = backup;
  server.epoch = 'epoch-2';
  server.pushes = [];
  const unsent = await phone.store.add('look', { mouth: 'normal' });
  await agree(world, server, phone);
  await agree(world, server, phone);
  expect(server.rows.get(tank.id)?.fields['name']?.value).toBe('Cove');
  expect([...server.rows.keys()].sort()).toEqual([tank.id, look.id, unsent.id].sort());
  const brought = server.pushes.flatMap((push) => push.changes.map((change) => [push.epoch, change.id, Object.keys(change.fields)] as const));
  // Only what the server lacks goes up, and under the old epoch, by which the server knows that it is brought back.
  expect(brought.find(([, id]) => id === tank.id)).toEqual(['epoch-1', tank.id, ['name']]);
  expect(await phone.store.waiting()).toBe(0);
  expect((await phone.store.sync.agreement())).toMatchObject({ epoch: 'epoch-2', bringing: null });
});

test('the phone brings another person\'s records back, and takes the server\'s word where that is refused', async () => {
  const { world, server, phone } = await begin();
  const other = await newPhone(world, 2, { ...ANNA, person: 'p-ben' });
  const kept = await other.store.add('tank', { name: 'Bay' });
  const lost = await other.store.add('tank', { name: 'Cove' });
  await agree(world, server, other);
  const backup = structuredClone(server.rows);
  backup.delete(lost.id);
  world.nowMs += 1000;
  await other.store.edit(kept.id, { gone: true });
  await agree(world, server, other);
  await agree(world, server, phone);
  server.rows = backup;
  server.epoch = 'epoch-2';
  server.judge = (change) => (change.kind === 'tank' ? { verdict: 'refused', reason: 'a helper may not' } : undefined);
  await agree(world, server, phone);
  await agree(world, server, phone);
  expect(await phone.store.attention()).toEqual([]);
  expect(await phone.store.get(kept.id)).toMatchObject({ fields: { name: 'Bay' }, waiting: false });
  expect((await phone.store.get(kept.id))?.fields['gone']).toBeUndefined();
  expect((await phone.store.get(lost.id))?.fields['name']).toBe('Cove');
});

test('a second restore before all was brought back loses nothing', async () => {
  const { world, server, phone } = await begin();
  const looks = [];
  for (let i = 0; i < 5; i += 1) looks.push(await phone.store.add('look', { note: String(i) }));
  await agree(world, server, phone);
  for (const epoch of ['epoch-2', 'epoch-3']) {
    server.rows = new Map([...server.rows].slice(0, 1));
    server.epoch = epoch;
    const batch = await nextPush(world, phone, true);
    await phone.store.sync.take(batch, server.answer(batch.request));
  }
  await agree(world, server, phone);
  await agree(world, server, phone);
  expect([...server.rows.keys()].sort()).toEqual(looks.map((look) => look.id).sort());
  expect(await phone.store.waiting()).toBe(0);
});

test('an answer of the time before the restore changes nothing', async () => {
  const { world, server, phone } = await begin();
  await agree(world, server, phone);
  await phone.store.add('look', { mouth: 'full' });
  const early = await nextPush(world, phone);
  const earlyAnswer = server.answer(early.request);
  server.rows = new Map();
  server.epoch = 'epoch-2';
  await agree(world, server, phone);
  const before = await held(phone);
  await phone.store.sync.take(early, earlyAnswer);
  expect({ ...(await held(phone)), exported_at: '' }).toEqual({ ...before, exported_at: '' });
  expect((await phone.store.sync.agreement()).epoch).toBe('epoch-2');
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
