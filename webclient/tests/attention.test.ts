/** What the household did not take: kept with its reason, mended by whoever may, or let go. */
import { expect, test } from 'vitest';
import { agree, begin } from './machine/agreement';
import { writtenIn } from './machine/household';
import { ANNA, newPhone, nextPush } from './machine/world';

test('a refused write needs attention and holds nobody up; mended it goes again under a new stamp', async () => {
  const { world, server, phone } = await begin();
  const bad = await phone.store.add('reading', { temperature_c: 99 });
  const good = await phone.store.add('look', { mouth: 'full' });
  server.judge = (change) => (writtenIn(change)['temperature_c']?.value === 99 ? { verdict: 'refused', reason: 'too hot' } : undefined);
  expect(await agree(world, server, phone)).toMatchObject({ refused: 1, settled: 2, left: 0 });
  expect(server.rows.has(good.id)).toBe(true);
  const [attention] = await phone.store.attention();
  expect(attention).toMatchObject({ record: bad.id, kind: 'reading', reason: 'too hot', fields: { temperature_c: 99 } });
  expect(await phone.store.waiting()).toBe(0);
  expect((await phone.store.get(bad.id))?.fields['temperature_c']).toBe(99);
  await phone.store.mend(attention?.id as number, { temperature_c: 26 });
  expect(await phone.store.attention()).toEqual([]);
  await agree(world, server, phone);
  expect(server.rows.get(bad.id)?.fields['temperature_c']?.value).toBe(26);
  expect(await phone.store.get(bad.id)).toMatchObject({ waiting: false });
});

test('whoever mends what another wrote takes over a record that the server never had, with all that waits of it', async () => {
  const { world, server, phone } = await begin();
  server.judge = (change) => (writtenIn(change)['temperature_c']?.value === 99 ? { verdict: 'refused', reason: 'too hot' } : undefined);
  const bad = await phone.store.add('reading', { temperature_c: 99 });
  await agree(world, server, phone);
  await phone.store.edit(bad.id, { note: 'by the heater' });
  await phone.store.sync.enter({ ...ANNA, person: 'p-ben', name: 'Ben' });
  // The server takes a new record from the person whom it names alone.
  server.judge = (change) => (change.author === 'p-ben' ? undefined : { verdict: 'refused', reason: 'not yours' });
  const [attention] = await phone.store.attention();
  expect(attention).toMatchObject({ by: ANNA.person, isNew: true });
  await phone.store.mend(attention?.id as number, { temperature_c: 26 });
  await agree(world, server, phone);
  expect(await phone.store.attention()).toEqual([]);
  expect(server.rows.get(bad.id)).toMatchObject({ author: 'p-ben', fields: { temperature_c: { value: 26 }, note: { value: 'by the heater' } } });
  expect(await phone.store.get(bad.id)).toMatchObject({ author: 'p-ben', waiting: false });
});

test('whoever mends another’s edit of a record that the server has leaves its author as he is', async () => {
  const { world, server, phone } = await begin();
  const tank = await phone.store.add('tank', { name: 'Bay', litres: 200 });
  await agree(world, server, phone);
  server.judge = (change) => (writtenIn(change)['litres']?.value === -5 ? { verdict: 'refused', reason: 'no' } : undefined);
  await phone.store.edit(tank.id, { litres: -5 });
  await agree(world, server, phone);
  await phone.store.sync.enter({ ...ANNA, person: 'p-ben', name: 'Ben' });
  const [attention] = await phone.store.attention();
  expect(attention).toMatchObject({ by: ANNA.person, isNew: false });
  await phone.store.mend(attention?.id as number, { litres: 210 });
  await agree(world, server, phone);
  expect(server.rows.get(tank.id)).toMatchObject({ author: ANNA.person, fields: { litres: { value: 210 } } });
});

test('to mend one value overrules no newer one of another field, which another has written since', async () => {
  const { world, server, phone } = await begin();
  const tank = await phone.store.add('tank', { name: 'Bay', litres: 200 });
  await agree(world, server, phone);
  const other = await newPhone(world, 2, { ...ANNA, person: 'p-ben' });
  await agree(world, server, other);
  server.judge = (change) => (writtenIn(change)['name']?.value === 'too long' ? { verdict: 'refused', reason: 'too long' } : undefined);
  await phone.store.edit(tank.id, { name: 'too long', litres: 100 });
  await agree(world, server, phone);
  world.nowMs += 60_000;
  await other.store.edit(tank.id, { litres: 240 });
  await agree(world, server, other);
  await agree(world, server, phone);
  const [attention] = await phone.store.attention();
  await phone.store.mend(attention?.id as number, { name: 'Cove' });
  await agree(world, server, phone);
  expect(server.rows.get(tank.id)?.fields).toMatchObject({ name: { value: 'Cove' }, litres: { value: 240 } });
  // With the stamp and what it replaced as they were: so the server sees that the two knew nothing of each other.
  const sent = server.pushes.flatMap((push) => push.changes).filter((change) => change.id === tank.id);
  const litres = sent.map((change) => writtenIn(change)['litres']).filter((field) => field?.value === 100);
  expect(new Set(litres.map((field) => JSON.stringify(field))).size).toBe(1);
  await Promise.all([phone, other].map((one) => one.store.close()));
});

test('a record whose other writing may have been taken is not taken over, and whose it is the server says', async () => {
  const { world, server, phone } = await begin();
  server.judge = (change) => (writtenIn(change)['temperature_c']?.value === 99 ? { verdict: 'refused', reason: 'too hot' } : undefined);
  const bad = await phone.store.add('reading', { temperature_c: 99 });
  await agree(world, server, phone);
  await phone.store.edit(bad.id, { note: 'by the heater' });
  const lost = await nextPush(world, phone);
  server.answer(lost.request);
  await phone.store.sync.enter({ ...ANNA, person: 'p-ben', name: 'Ben' });
  const [attention] = await phone.store.attention();
  await phone.store.mend(attention?.id as number, { temperature_c: 26 });
  expect((await phone.store.get(bad.id))?.author).toBe(ANNA.person);
  for (const person of [ANNA, { ...ANNA, person: 'p-ben', name: 'Ben' }]) {
    await phone.store.sync.enter(person);
    await agree(world, server, phone);
  }
  expect(await phone.store.attention()).toEqual([]);
  expect(server.rows.get(bad.id)).toMatchObject({ author: ANNA.person, fields: { temperature_c: { value: 26 } } });
  expect(await phone.store.get(bad.id)).toMatchObject({ author: ANNA.person, waiting: false });
  await phone.store.close();
});

test('a refused edit that is let go shows again what the server has, also what came down meanwhile', async () => {
  const { world, server, phone } = await begin();
  const other = await newPhone(world, 2, { ...ANNA, person: 'p-ben' });
  const tank = await phone.store.add('tank', { name: 'Bay', litres: 200 });
  await agree(world, server, phone);
  await agree(world, server, other);
  await other.store.edit(tank.id, { name: 'Cove' });
  world.nowMs += 1000;
  await phone.store.edit(tank.id, { name: 'Reef', litres: -5 });
  server.judge = (change) => (writtenIn(change)['litres']?.value === -5 ? { verdict: 'refused', reason: 'no' } : undefined);
  await agree(world, server, phone);
  await agree(world, server, other);
  await agree(world, server, phone);
  expect((await phone.store.get(tank.id))?.fields).toMatchObject({ name: 'Reef', litres: -5 });
  const [attention] = await phone.store.attention();
  await phone.store.letGo(attention?.id as number);
  expect((await phone.store.get(tank.id))?.fields).toMatchObject({ name: 'Cove', litres: 200 });
  expect(await phone.store.get(tank.id)).toMatchObject({ waiting: false });
});

test('a refused record of which the server has nothing vanishes when it is let go', async () => {
  const { world, server, phone } = await begin();
  const look = await phone.store.add('look', { mouth: 'full' });
  server.judge = () => ({ verdict: 'refused', reason: 'no' });
  await agree(world, server, phone);
  const [attention] = await phone.store.attention();
  await phone.store.letGo(attention?.id as number);
  expect(await phone.store.get(look.id)).toBeUndefined();
});

test('what was let go can be taken back: it needs attention again, over what came down meanwhile', async () => {
  const { world, server, phone } = await begin();
  const tank = await phone.store.add('tank', { name: 'Bay', litres: 200 });
  await agree(world, server, phone);
  server.judge = (change) => (writtenIn(change)['litres']?.value === -5 ? { verdict: 'refused', reason: 'no' } : undefined);
  await phone.store.edit(tank.id, { litres: -5 });
  const look = await phone.store.add('reading', { litres: -5 });
  await agree(world, server, phone);
  const backs = [];
  for (const { id } of await phone.store.attention()) backs.push(await phone.store.letGo(id));
  expect(await phone.store.get(look.id)).toBeUndefined();
  const other = await newPhone(world, 2, { ...ANNA, person: 'p-ben' });
  await agree(world, server, other);
  await other.store.edit(tank.id, { name: 'Cove' });
  await agree(world, server, other);
  await agree(world, server, phone);
  for (const back of backs) await back();
  expect((await phone.store.attention()).map((one) => [one.kind, one.reason])).toEqual([['tank', 'no'], ['reading', 'no']]);
  expect((await phone.store.get(tank.id))?.fields).toMatchObject({ name: 'Cove', litres: -5 });
  expect((await phone.store.get(look.id))?.fields).toMatchObject({ litres: -5 });
  await Promise.all([phone, other].map((one) => one.store.close()));
});

test('a value of a refused write can be left out, and the rest goes up', async () => {
  const { world, server, phone } = await begin();
  server.judge = (change) => ('fins' in writtenIn(change) ? { verdict: 'refused', reason: 'A look has no field fins.' } : undefined);
  const look = await phone.store.add('look', { mouth: 'full', fins: 3 });
  await agree(world, server, phone);
  const [attention] = await phone.store.attention();
  await phone.store.mend(attention?.id as number, { mouth: 'smaller', fins: 3 }, ['fins']);
  await agree(world, server, phone);
  expect(server.rows.get(look.id)?.fields).toMatchObject({ mouth: { value: 'smaller' } });
  expect((await phone.store.get(look.id))?.fields).toEqual({ mouth: 'smaller', at: look.fields['at'] });
  expect(await phone.store.attention()).toEqual([]);
  await phone.store.close();
});
