/** After the server was set back to a copy: phones pull all, and push what it lacks. */
import { expect, test } from 'vitest';
import { agree, begin } from './machine/agreement';
import { newServer, writtenIn } from './machine/household';
import { begin as beginSyncing, fireTimer, says } from './machine/scene';
import { ANNA, newPhone, nextPush, type Phone } from './machine/world';

async function held(phone: Phone) {
  return JSON.parse(await (await phone.store.exportAll()).text());
}

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
  const brought = server.pushes.flatMap((push) => push.changes.map((change) => [push.epoch, change.id, Object.keys(writtenIn(change))] as const));
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

test('the phone counts the records that it has brought back, once each, and anew after another restore', async () => {
  const { world, server, phone } = await begin();
  const looks = [];
  for (let i = 0; i < 5; i += 1) looks.push(await phone.store.add('look', { note: String(i) }));
  await agree(world, server, phone);
  await phone.store.edit(looks[1]?.id as string, { gone: true });
  await agree(world, server, phone);
  expect((await phone.store.sync.agreement()).set_back).toBeUndefined();
  for (const epoch of ['epoch-2', 'epoch-3']) {
    server.rows = new Map([...server.rows].slice(0, 1));
    server.epoch = epoch;
    await agree(world, server, phone);
    await agree(world, server, phone);
    expect((await phone.store.sync.agreement()).set_back).toEqual({ epoch, brought: 4 });
    expect(await phone.store.get(looks[1]?.id as string)).toMatchObject({ fields: { gone: true }, waiting: false });
  }
  expect(await phone.store.waiting()).toBe(0);
});

test('a phone that held nothing the server lacks has brought back nothing', async () => {
  const { world, server, phone } = await begin();
  await phone.store.add('look', { mouth: 'full' });
  await agree(world, server, phone);
  server.epoch = 'epoch-2';
  await agree(world, server, phone);
  expect((await phone.store.sync.agreement())).toMatchObject({ epoch: 'epoch-2', set_back: { epoch: 'epoch-2', brought: 0 } });
});

test('what a helper must not say, that something was taken away, does not hold back the rest of it', async () => {
  const { world, server, phone } = await begin();
  const helper = await newPhone(world, 2, { ...ANNA, person: 'p-ben', role: 'helper' });
  const look = await helper.store.add('look', { mouth: 'full' });
  await agree(world, server, helper);
  await agree(world, server, phone);
  world.nowMs += 1000;
  await phone.store.edit(look.id, { mouth: 'normal', gone: true });
  await agree(world, server, phone);
  await agree(world, server, helper);
  server.rows = new Map();
  server.epoch = 'epoch-2';
  server.judge = (change) => ('gone' in writtenIn(change) ? { verdict: 'refused', reason: 'a helper may not' } : undefined);
  await agree(world, server, helper);
  await agree(world, server, helper);
  expect(await helper.store.attention()).toEqual([]);
  expect(await helper.store.waiting()).toBe(0);
  expect(server.rows.get(look.id)?.fields).toMatchObject({ mouth: { value: 'normal' } });
  expect((await helper.store.get(look.id))?.fields['gone']).toBeUndefined();
  expect((await helper.store.sync.agreement()).bringing).toBeNull();
  server.judge = () => undefined;
  await agree(world, server, phone);
  await agree(world, server, phone);
  await agree(world, server, helper);
  expect((await helper.store.get(look.id))?.fields['gone']).toBe(true);
});

test('who brought a record back is known wherever it comes down', async () => {
  const { world, server, phone } = await begin();
  const look = await phone.store.add('look', { mouth: 'full' });
  await agree(world, server, phone);
  const row = server.rows.get(look.id);
  if (row) server.rows.set(look.id, { ...row, revision: 2, brought_by: 'p-ben' });
  await agree(world, server, phone);
  expect(await phone.store.get(look.id)).toMatchObject({ author: 'p-anna', broughtBy: 'p-ben' });
  const other = await newPhone(world, 2, { ...ANNA, person: 'p-ben' });
  await agree(world, server, other);
  expect(await other.store.ofKind('look')).toMatchObject([{ author: 'p-anna', broughtBy: 'p-ben' }]);
});

test('a server that was set back and brought up to date at once is sent what an older one did not know', async () => {
  const { world, server, phone } = await begin();
  const look = await phone.store.add('look', { mouth: 'full', gills: 'fast' });
  server.judge = (change) => (server.schema < 2 && 'gills' in writtenIn(change) ? { verdict: 'later', fields: ['gills'] } : undefined);
  await agree(world, server, phone);
  server.rows = new Map();
  server.epoch = 'epoch-2';
  server.schema = 2;
  for (let round = 0; round < 3; round += 1) await agree(world, server, phone);
  expect(server.rows.get(look.id)?.fields).toMatchObject({ mouth: { value: 'full' }, gills: { value: 'fast' } });
  expect(await phone.store.waiting()).toBe(0);
});

test('a great household is laid out and brought back whole', async () => {
  const { world, server, phone } = await begin();
  const fields = { note: { value: 'x', stamp: '1764061800000.0000.zz99zz99' } };
  const row = (n: number) => ({ id: `look-${String(n).padStart(5, '0')}`, kind: 'look', author: 'p-ben', device: 'zz99zz99', revision: n, fields, concurrent: [] });
  for (let n = 1; n <= 1300; n += 1) server.rows.set(row(n).id, row(n));
  await agree(world, server, phone);
  const again = newServer(world);
  again.epoch = 'epoch-2';
  await agree(world, again, phone);
  await agree(world, again, phone);
  expect([...again.rows.keys()].sort()).toEqual([...server.rows.keys()]);
  expect(await phone.store.waiting()).toBe(0);
});

test('all that is to be brought back goes up in the round in which it became known, without another occasion', async () => {
  const scene = await beginSyncing();
  await says(scene, 'agreed');
  for (let i = 0; i < 3; i += 1) await scene.phone.store.add('look', { note: String(i) });
  fireTimer(scene);
  await expect.poll(() => scene.server.rows.size).toBe(3);
  await says(scene, 'agreed');
  scene.server.rows = new Map();
  scene.server.epoch = 'epoch-2';
  scene.happen('seen');
  await expect.poll(() => scene.server.rows.size).toBe(3);
  await expect.poll(async () => (await scene.phone.store.sync.agreement()).set_back).toEqual({ epoch: 'epoch-2', brought: 3 });
  expect((await scene.phone.store.sync.agreement()).bringing).toBeNull();
});
