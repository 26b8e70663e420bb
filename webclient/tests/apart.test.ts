/** What two people changed without knowing of each other: found on the phone, settled there, and told as far as it knows. */
import { expect, test } from 'vitest';
import type { Rec } from '../src/store';
import { agree, begin } from './machine/agreement';
import type { HouseholdServer } from './machine/household';
import { ANNA, restart, type Phone, type World } from './machine/world';

interface Scene {
  world: World;
  server: HouseholdServer;
  phone: Phone;
  tank: Rec;
}

/** A tank that Ben has given another name, with that field marked by the server. */
async function marked(names = ['name']): Promise<Scene> {
  const { world, server, phone } = await begin();
  const tank = await phone.store.add('tank', { name: 'Bay', litres: 200 });
  await agree(world, server, phone);
  mark(server, tank.id, names, { name: 'Cove' }, world.nowMs + 1000);
  await agree(world, server, phone);
  return { world, server, phone, tank: (await phone.store.get(tank.id)) as Rec };
}

/** Let Ben write these values, and the server find that he and the other knew nothing of each other. */
function mark(server: HouseholdServer, id: string, concurrent: string[], values: Record<string, string>, ms: number): void {
  const row = server.rows.get(id);
  if (row === undefined) throw new Error('the server has no such record');
  const stamp = `${ms}.0000.zz99zz99`;
  // What nobody asks for here: that he wrote anything at all gives the record a new revision.
  const fields = Object.fromEntries(Object.entries({ note: 'by Ben', ...values }).map(([name, value]) => [name, { value, stamp, was: null }]));
  const { kind, author, device } = row;
  server.answer({ schema: 2, device: 'zz99zz99', cursor: 0, epoch: server.epoch, changes: [{ id, kind, author, device, fields }] });
  server.rows.set(id, { ...(server.rows.get(id) as typeof row), concurrent });
}

test('a record with a mark is found without looking at the others, once, whatever the number of its fields', async () => {
  const { phone, tank, world } = await marked(['name', 'litres']);
  await phone.store.add('look', { mouth: 'full' });
  expect((await phone.store.apart()).map((one) => [one.id, one.concurrent])).toEqual([[tank.id, ['name', 'litres']]]);
  await restart(world, phone);
  expect(await phone.store.apart()).toHaveLength(1);
  await phone.store.close();
});

test('to write again what stands, having seen the mark, goes up with the revision that was seen and settles it', async () => {
  const { phone, tank, world, server } = await marked();
  await phone.store.edit(tank.id, { name: 'Cove' });
  expect(await phone.store.apart()).toEqual([]);
  expect(await phone.store.get(tank.id)).toMatchObject({ concurrent: [], waiting: true });
  await agree(world, server, phone);
  const [change] = server.pushes.flatMap((push) => push.changes).slice(-1);
  expect(change).toMatchObject({ seen: tank.revision, fields: { name: { value: 'Cove', was: `${world.nowMs + 1000}.0000.zz99zz99` } } });
  expect(await phone.store.apart()).toEqual([]);
  await phone.store.close();
});

test('what is the same already is not written again where nobody differs about it', async () => {
  const { phone, tank } = await marked();
  await phone.store.edit(tank.id, { litres: 200 });
  expect(await phone.store.waiting()).toBe(0);
  await phone.store.close();
});

test('the other value settles it too, and a later mark comes back', async () => {
  const { phone, tank, world, server } = await marked();
  await phone.store.edit(tank.id, { name: 'Bay' });
  expect((await phone.store.get(tank.id))?.concurrent).toEqual([]);
  await agree(world, server, phone);
  expect(server.rows.get(tank.id)?.fields['name']?.value).toBe('Bay');
  mark(server, tank.id, ['name'], { name: 'Reef' }, world.nowMs + 60_000);
  await agree(world, server, phone);
  expect(await phone.store.apart()).toMatchObject([{ id: tank.id, fields: { name: 'Reef' } }]);
  await phone.store.close();
});

test('a helper is not asked about what he may not write, and nobody about what was taken away', async () => {
  const { phone, tank, world, server } = await marked();
  await phone.store.sync.enter({ ...ANNA, role: 'helper' });
  expect(await phone.store.apart()).toEqual([]);
  await phone.store.sync.enter(ANNA);
  expect(await phone.store.apart()).toHaveLength(1);
  await phone.store.edit(tank.id, { gone: true });
  expect(await phone.store.apart()).toEqual([]);
  await agree(world, server, phone);
  mark(server, tank.id, ['gone'], {}, world.nowMs + 120_000);
  await agree(world, server, phone);
  expect(await phone.store.apart()).toHaveLength(1);
  await phone.store.close();
});

test('the phone tells what stands by the server’s word, and what of its own waits to replace it', async () => {
  const { phone, tank } = await marked();
  await phone.store.edit(tank.id, { litres: 210 });
  const litres = (await phone.store.writings(tank.id)).filter((one) => one.field === 'litres');
  expect(litres.map(({ value, by, waiting }) => [value, by, waiting])).toEqual([[200, null, false], [210, 'p-anna', true]]);
  expect(litres[1]?.was).toBe(litres[0]?.stamp);
  expect(await phone.store.writings('nothing')).toEqual([]);
  await phone.store.close();
});

test('a value that was overruled on this phone while it waited is still told', async () => {
  const { phone, tank, world, server } = await marked();
  await phone.store.edit(tank.id, { name: 'Shoal' });
  mark(server, tank.id, ['name'], { name: 'Reef' }, world.nowMs + 60_000);
  const asking = await phone.store.sync.nextBatch(null);
  await phone.store.sync.take(asking, server.answer(asking.request));
  expect((await phone.store.get(tank.id))?.fields['name']).toBe('Reef');
  const names = (await phone.store.writings(tank.id)).filter((one) => one.field === 'name');
  expect(names.map(({ value, by, waiting }) => [value, by, waiting])).toEqual([['Reef', null, false], ['Shoal', 'p-anna', true]]);
  expect((await phone.store.apart()).map((one) => one.concurrent)).toEqual([['name']]);
  await phone.store.close();
});
