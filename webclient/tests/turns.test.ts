/** Whose turn it is to send, where several people of a household log on one phone, or one on several. */
import { expect, test, vi } from 'vitest';
import { openApi } from '../src/sync/doors';
import { BEN, CLEO, START, meOf, names, says, shared, start } from './machine/sharing';
import { newServer } from './machine/household';
import { ANNA, newPhone, nextPush } from './machine/world';

test('what each wrote goes up in his own name, without anybody signing in again', async () => {
  const scene = await shared(ANNA, BEN);
  await scene.store.add('look', { mouth: 'full' });
  await scene.store.choose('p-anna');
  await scene.store.add('look', { mouth: 'normal' });
  start(scene);
  await says(scene, { state: 'agreed', waiting: 0 });
  expect([...scene.server.rows.values()].map((row) => row.author).sort()).toEqual(['p-anna', 'p-ben']);
  expect(await scene.store.attention()).toEqual([]);
  expect(scene.asked.filter((one) => !one.endsWith('sync 0')).sort()).toEqual(['p-anna me', 'p-anna sync 1', 'p-ben me', 'p-ben sync 1']);
});

test('a person with nothing waiting has no turn', async () => {
  const scene = await shared(ANNA, BEN);
  start(scene);
  await says(scene, { state: 'agreed' });
  expect(new Set(scene.asked.map((one) => one.split(' ')[0]))).toEqual(new Set(['p-ben']));
});

test('an edit of what another wrote here and nobody else knows waits for it, back and forth', async () => {
  const scene = await shared(ANNA, BEN);
  const look = await scene.store.add('look', { mouth: 'full' });
  await scene.store.choose('p-anna');
  await scene.store.edit(look.id, { mouth: 'smaller' });
  const other = await scene.store.add('look', { note: 'hers' });
  await scene.store.choose('p-ben');
  await scene.store.edit(look.id, { mouth: 'normal' });
  await scene.store.edit(other.id, { note: 'his' });
  start(scene);
  await says(scene, { state: 'agreed', waiting: 0 });
  expect(await scene.store.attention()).toEqual([]);
  expect(scene.server.rows.get(look.id)).toMatchObject({ author: 'p-ben', fields: { mouth: { value: 'normal' } } });
  expect(scene.server.rows.get(other.id)).toMatchObject({ author: 'p-anna', fields: { note: { value: 'his' } } });
});

test('while its author cannot send it, an edit of it waits as well and is not refused', async () => {
  const scene = await shared(ANNA, BEN);
  const look = await scene.store.add('look', { mouth: 'full' });
  await scene.store.choose('p-anna');
  await scene.store.edit(look.id, { mouth: 'smaller' });
  scene.signedIn.delete('p-ben');
  const sync = start(scene);
  await says(scene, { state: 'agreed', waiting: 2 });
  expect(await scene.store.members()).toMatchObject([{ name: 'Anna', isOut: false }, { name: 'Ben', isOut: true }]);
  scene.signedIn.add('p-ben');
  await sync.entered(meOf(BEN));
  await says(scene, { state: 'agreed', waiting: 0 });
  expect(scene.server.rows.get(look.id)).toMatchObject({ author: 'p-ben', fields: { mouth: { value: 'smaller' } } });
});

test('however many entries wait for another\'s turn, those behind them go', async () => {
  const scene = await shared(ANNA, BEN);
  const look = await scene.store.add('look', { mouth: 'full' });
  await scene.store.choose('p-anna');
  for (const mouth of ['smaller', 'normal', 'full']) await scene.store.edit(look.id, { mouth });
  const [own, last] = [await scene.store.add('look', { note: 'hers' }), await scene.store.add('look', { note: 'hers too' })];
  const going = async (limit: number) => (await nextPush(scene.world, scene.phone, false, limit)).entries.map((entry) => entry.record);
  expect(await going(1)).toEqual([own.id]);
  expect(await going(2)).toEqual([own.id, last.id]);
  expect(await going(500)).toEqual([own.id, last.id]);
});

test('a person whom the server does not know any more holds nobody else up, and is asked no more', async () => {
  const scene = await shared(BEN, ANNA);
  await scene.store.choose('p-ben');
  await scene.store.add('look', { mouth: 'full' });
  await scene.store.choose('p-anna');
  await scene.store.add('look', { mouth: 'normal' });
  scene.signedIn.delete('p-ben');
  const sync = start(scene);
  await says(scene, { state: 'agreed', waiting: 1 });
  expect([...scene.server.rows.values()].map((row) => row.author)).toEqual(['p-anna']);
  scene.asked.length = 0;
  sync.now();
  await vi.waitFor(() => expect(scene.asked).toEqual(['p-anna sync 0']));
});

test('what somebody who has left wrote needs attention, and goes up in another name by a person\'s word', async () => {
  const scene = await shared(BEN, ANNA);
  await scene.store.choose('p-ben');
  const look = await scene.store.add('look', { mouth: 'full' });
  await scene.store.choose('p-anna');
  scene.left.add('p-ben');
  const sync = start(scene);
  await says(scene, { state: 'agreed', waiting: 0 });
  expect(await names(scene.store)).toEqual(['Anna']);
  const [stranded] = await scene.store.attention();
  expect(stranded).toMatchObject({ by: 'p-ben', isNew: true, fields: { mouth: 'full' }, reason: expect.stringContaining('Ben is no longer in the household') });
  await scene.store.mend(stranded?.id ?? 0, {});
  sync.now();
  await vi.waitFor(() => expect(scene.server.rows.get(look.id)).toMatchObject({ author: 'p-anna' }));
});

test('where the one who logs is signed out, the others still send', async () => {
  const scene = await shared(BEN, ANNA);
  await scene.store.add('look', { mouth: 'normal' });
  await scene.store.choose('p-ben');
  await scene.store.add('look', { mouth: 'full' });
  scene.signedIn.delete('p-ben');
  const sync = start(scene);
  await says(scene, { state: 'signed_out', waiting: 1 });
  expect([...scene.server.rows.values()].map((row) => row.author)).toEqual(['p-anna']);
  await scene.store.choose('p-anna');
  sync.now();
  await says(scene, { state: 'agreed', waiting: 1 });
});

test('an older server, which answers for one person whoever is named, is sent nothing of the others', async () => {
  const scene = await shared(ANNA, BEN);
  await scene.store.add('look', { mouth: 'full' });
  await scene.store.choose('p-anna');
  await scene.store.add('look', { mouth: 'normal' });
  scene.onlyKnows = ANNA;
  start(scene);
  await says(scene, { state: 'agreed', waiting: 1 });
  expect([...scene.server.rows.values()].map((row) => row.author)).toEqual(['p-anna']);
  expect(await scene.store.attention()).toEqual([]);
});

test('what was refused needs the attention of the one who wrote it', async () => {
  const scene = await shared(ANNA, BEN);
  await scene.store.add('look', { mouth: 'full' });
  await scene.store.choose('p-anna');
  scene.server.judge = () => ({ verdict: 'refused', reason: 'no' });
  start(scene);
  await says(scene, { state: 'agreed', waiting: 0 });
  expect(await scene.store.attention()).toMatchObject([{ by: 'p-ben', reason: 'no' }]);
});

test('a clock that was wrong is put right in the order of the writing, whoever wrote', async () => {
  const { world, phone, store } = await shared(ANNA, BEN);
  phone.aheadMs = 3 * 3_600_000;
  await store.choose('p-anna');
  const look = await store.add('look', { mouth: 'full' });
  await store.choose('p-ben');
  await store.edit(look.id, { mouth: 'smaller' });
  await store.choose('p-anna');
  await store.edit(look.id, { mouth: 'normal' });
  await nextPush(world, phone);
  expect((await store.get(look.id))?.fields).toMatchObject({ mouth: 'normal', at: new Date(START).toISOString() });
  await store.choose('p-ben');
  await nextPush(world, phone);
  expect((await store.get(look.id))?.fields).toMatchObject({ mouth: 'normal' });
});

test('two phones of one person write at once and agree, and of what both changed the later writing stands on both', async () => {
  const world = { nowMs: START };
  const [server, phones] = [newServer(world), [await newPhone(world, 11), await newPhone(world, 12)] as const];
  const [one, other] = [phones[0].store, phones[1].store];
  const agree = async (): Promise<void> => {
    for (const phone of [phones[0], phones[1], phones[0]]) {
      const batch = await nextPush(world, phone);
      await phone.store.sync.take(batch, server.answer(structuredClone(batch.request)));
    }
  };
  const broods = [await one.add('brood', {}), await one.add('brood', {})] as const;
  const look = await one.add('look', { mouth: 'full' });
  await agree();
  const [mine, theirs] = await Promise.all([one.add('look', { mouth: 'full' }), other.add('look', { mouth: 'full' })]);
  expect([mine.author, theirs.author]).toEqual(['p-anna', 'p-anna']);
  expect(mine.device).not.toBe(theirs.device);
  // Whose look it was is settled on each of them, without a connection, and differently.
  await one.edit(look.id, { about: broods[0].id });
  world.nowMs += 1000;
  await other.edit(look.id, { about: broods[1].id });
  await agree();
  for (const store of [one, other]) {
    expect(await store.ofKind('look')).toHaveLength(3);
    expect((await store.get(look.id))?.fields['about']).toBe(broods[1].id);
    expect(await store.waiting()).toBe(0);
    await store.close();
  }
});

test('somebody of another household who comes in is shown out in his own name', async () => {
  const scene = await shared(ANNA, BEN);
  const { store } = scene;
  await store.add('look', { mouth: 'full' });
  const sync = start(scene);
  await says(scene, { state: 'agreed' });
  const asked: (string | undefined)[] = [];
  const other = meOf({ ...CLEO, householdId: 'h-2' });
  const door = openApi(sync.entered, store.sync.device, async (path, ask) => {
    asked.push(path, ask?.person);
    return { status: 200, body: other };
  });
  await expect(door.signIn('cleo', 'secret')).rejects.toMatchObject({ name: 'other_household' });
  expect(asked).toEqual(['/api/v1/sign-in', undefined, '/api/v1/sign-out', 'p-cleo']);
  expect(await names(store)).toEqual(['Anna', 'Ben']);
});

test('whoever takes over a refused record leaves an edit of it to the one who wrote it', async () => {
  const scene = await shared(BEN, CLEO, ANNA);
  const { store, server } = scene;
  await store.choose('p-ben');
  const look = await store.add('look', { mouth: 'full' });
  await store.choose('p-cleo');
  await store.edit(look.id, { note: 'hers' });
  await store.choose('p-anna');
  scene.left.add('p-ben');
  scene.signedIn.delete('p-cleo');
  const sync = start(scene);
  await says(scene, { state: 'agreed', waiting: 1 });
  const [stranded] = await store.attention();
  await store.mend(stranded?.id ?? 0, {});
  sync.now();
  await vi.waitFor(() => expect(server.rows.get(look.id)).toMatchObject({ author: 'p-anna' }));
  await says(scene, { state: 'agreed', waiting: 1 });
  expect(server.rows.get(look.id)?.fields).not.toHaveProperty('note');
  scene.signedIn.add('p-cleo');
  await sync.entered(meOf(CLEO));
  await says(scene, { state: 'agreed', waiting: 0 });
  expect(server.rows.get(look.id)?.fields).toMatchObject({ note: { value: 'hers' } });
  expect(scene.asked.filter((one) => one.endsWith('sync 1'))).toEqual(['p-anna sync 1', 'p-cleo sync 1']);
  expect(await store.attention()).toEqual([]);
});

test('what waits for a newer server is not forgotten with the one who has left', async () => {
  const scene = await shared(BEN, ANNA);
  await scene.store.choose('p-ben');
  await scene.store.add('look', { mouth: 'full' });
  await scene.store.choose('p-anna');
  const judge = scene.server.judge;
  scene.server.judge = (change) => judge?.(change) ?? { verdict: 'later', fields: ['mouth'] };
  const sync = start(scene);
  await says(scene, { state: 'agreed' });
  scene.server.judge = judge;
  scene.left.add('p-ben');
  await scene.store.choose('p-ben');
  await scene.store.add('look', { mouth: 'normal' });
  await scene.store.choose('p-anna');
  sync.now();
  await vi.waitFor(async () => expect(await names(scene.store)).toEqual(['Anna']));
  expect((await scene.store.attention()).map((entry) => entry.fields['mouth'])).toEqual(['full', 'normal']);
});
