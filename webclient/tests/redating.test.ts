/** A wrong clock is put right on the phone, before anything is sent. */
import { expect, test } from 'vitest';
import { ANNA, newPhone, nextPush, restart, type Phone, type World } from './machine/world';
import { newServer, writtenIn } from './machine/household';

const START = Date.UTC(2026, 10, 25, 20, 10);
const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const YEAR = 365 * 24 * HOUR;

async function begin(aheadMs: number): Promise<{ world: World; phone: Phone }> {
  const world = { nowMs: START };
  const phone = await newPhone(world, 1, ANNA);
  phone.aheadMs = aheadMs;
  return { world, phone };
}

async function fields(phone: Phone, id: string) {
  return (await phone.store.get(id))?.fields;
}

const iso = (ms: number) => new Date(ms).toISOString();

test.each([['two minutes ahead', 2 * MINUTE], ['two minutes behind', -2 * MINUTE]])('a clock %s is let be', async (_name, ahead) => {
  const { world, phone } = await begin(ahead);
  const look = await phone.store.add('look', { mouth: 'full' });
  world.nowMs += HOUR;
  const { request } = await nextPush(world, phone);
  expect(writtenIn(request.changes[0])['at']).toMatchObject({ value: iso(START + ahead), stamp: `${START + ahead}.0000.${look.device}` });
  expect(writtenIn(request.changes[0])['at_phone']).toBeUndefined();
});

test.each([['a year ahead', YEAR], ['a year behind', -YEAR], ['three minutes ahead', 3 * MINUTE]])(
  'what was written in this page session under a clock %s is dated by the time since, and the phone\'s word kept',
  async (_name, ahead) => {
    const { world, phone } = await begin(ahead);
    const look = await phone.store.add('look', { mouth: 'full' });
    world.nowMs += 3 * HOUR;
    const { request } = await nextPush(world, phone);
    expect(await fields(phone, look.id)).toEqual({ mouth: 'full', at: iso(START), at_phone: iso(START + ahead) });
    expect(writtenIn(request.changes[0])['at']?.value).toBe(iso(START));
    expect(writtenIn(request.changes[0])['mouth']?.stamp).toBe(`${START}.0000.${look.device}`);
  },
);

test('in the same session elapsed time counts, even where the clock was moved between writing and sending', async () => {
  const { world, phone } = await begin(5 * HOUR);
  const look = await phone.store.add('look', { mouth: 'full' });
  phone.aheadMs = -YEAR;
  world.nowMs += HOUR;
  await nextPush(world, phone);
  expect((await fields(phone, look.id))?.['at']).toBe(iso(START));
});

test('what an earlier session wrote is shifted by the offset and marked doubtful', async () => {
  const { world, phone } = await begin(5 * HOUR);
  const look = await phone.store.add('look', { mouth: 'full' });
  world.nowMs += HOUR;
  await restart(world, phone);
  await nextPush(world, phone);
  expect(await fields(phone, look.id)).toEqual({ mouth: 'full', at: iso(START), at_phone: iso(START + 5 * HOUR), clock_doubtful: true });
});

test('an earlier session under a clock that has been set right since is not later than now, and doubtful', async () => {
  const { world, phone } = await begin(YEAR);
  const look = await phone.store.add('look', { mouth: 'full' });
  phone.aheadMs = 0;
  world.nowMs += HOUR;
  await restart(world, phone);
  await nextPush(world, phone);
  expect(await fields(phone, look.id)).toMatchObject({ at: iso(START + HOUR), at_phone: iso(START + YEAR), clock_doubtful: true });
});

test('what a person dated by hand stays, and its stamp alone is made anew', async () => {
  const { world, phone } = await begin(YEAR);
  const look = await phone.store.add('look', { mouth: 'full', at: '2026-11-24T20:00:00.000Z' });
  const { request } = await nextPush(world, phone);
  expect(await fields(phone, look.id)).toEqual({ mouth: 'full', at: '2026-11-24T20:00:00.000Z' });
  expect(writtenIn(request.changes[0])['at']?.stamp).toBe(`${START}.0000.${look.device}`);
  expect(await fields(phone, look.id)).not.toHaveProperty('at_phone');
});

test('other instants that were read from the clock are dated anew as well', async () => {
  const { world, phone } = await begin(0);
  const brood = await phone.store.add('brood', { not_before: '2026-11-20T08:00:00.000Z' });
  phone.aheadMs = YEAR;
  await phone.store.edit(brood.id, { ended: 'released', ended_at: iso(START + YEAR) });
  await nextPush(world, phone);
  expect(await fields(phone, brood.id)).toMatchObject({ ended_at: iso(START), at_phone: iso(START + YEAR), not_before: '2026-11-20T08:00:00.000Z' });
});

test('until when somebody put a duty off is reckoned from now, and put right with it', async () => {
  const { world, phone } = await begin(YEAR);
  const until = new Date(world.nowMs + YEAR + 30 * MINUTE).toISOString();
  await phone.store.add('mark', { what: 'later', duty: 'catch:b1', until });
  const { request } = await nextPush(world, phone);
  expect(writtenIn(request.changes[0] as Parameters<typeof writtenIn>[0])['until']?.value).toBe(new Date(world.nowMs + 30 * MINUTE).toISOString());
  await phone.store.close();
});

test('writes keep their order and know each other by their new stamps', async () => {
  const { world, phone } = await begin(YEAR);
  const look = await phone.store.add('look', { mouth: 'full' });
  await phone.store.edit(look.id, { mouth: 'smaller' });
  world.nowMs += 1000;
  await phone.store.edit(look.id, { mouth: 'normal' });
  const { request } = await nextPush(world, phone);
  const stamps = request.changes.map((change) => writtenIn(change)['mouth']);
  expect(stamps.map((field) => field?.stamp)).toEqual([`${START}.0000.${look.device}`, `${START}.0001.${look.device}`, `${START + 1000}.0000.${look.device}`]);
  expect(stamps.map((field) => field?.was)).toEqual([null, stamps[0]?.stamp, stamps[1]?.stamp]);
  expect((await fields(phone, look.id))?.['mouth']).toBe('normal');
});

test('the clock falls back: a year ahead does not drag the next stamps along', async () => {
  const { world, phone } = await begin(YEAR);
  await phone.store.add('look', { mouth: 'full' });
  await nextPush(world, phone);
  phone.aheadMs = 0;
  world.nowMs += HOUR;
  const next = await phone.store.add('look', { mouth: 'full' });
  const { request } = await nextPush(world, phone);
  expect(writtenIn(request.changes[1])['mouth']?.stamp).toBe(`${START + HOUR}.0000.${next.device}`);
});

test('what may have been sent keeps its stamps, unless the server says that its clock was ahead', async () => {
  const { world, phone } = await begin(0);
  const server = newServer(world);
  await phone.store.add('look', { mouth: 'full' });
  const first = await nextPush(world, phone);
  phone.aheadMs = -YEAR;
  expect((await nextPush(world, phone)).request.changes).toEqual(first.request.changes);
  server.judge = () => ({ verdict: 'clock' });
  expect(await phone.store.sync.take(first, server.answer(first.request))).toMatchObject({ clock: 1, settled: 0, left: 1 });
  expect(await phone.store.attention()).toEqual([]);
  [world.nowMs, phone.aheadMs] = [START - HOUR, HOUR];
  await restart(world, phone);
  const again = await nextPush(world, phone);
  expect(writtenIn(again.request.changes[0])['mouth']?.stamp).toBe(`${START - HOUR}.0000.${phone.store.sync.device}`);
});

test('a correction that lost on the phone under the wrong clock wins where it truly was the later', async () => {
  const { world, phone } = await begin(0);
  const server = newServer(world);
  const other = await newPhone(world, 2, { ...ANNA, person: 'p-ben' });
  const tank = await phone.store.add('tank', { name: 'Bay' });
  const agree = async (one: Phone) => {
    const batch = await nextPush(world, one);
    await one.store.sync.take(batch, server.answer(batch.request));
  };
  await agree(phone);
  await agree(other);
  world.nowMs += HOUR;
  await other.store.edit(tank.id, { name: 'Cove' });
  await agree(other);
  world.nowMs += HOUR;
  phone.aheadMs = -24 * HOUR;
  const asking = await nextPush(world, phone, true);
  await phone.store.edit(tank.id, { name: 'Reef' });
  await phone.store.sync.take(asking, server.answer(asking.request));
  expect((await fields(phone, tank.id))?.['name']).toBe('Cove');
  await agree(phone);
  expect((await fields(phone, tank.id))?.['name']).toBe('Reef');
  await agree(other);
  expect((await fields(other, tank.id))?.['name']).toBe('Reef');
});

test('a correction that seemed the later under a clock ahead gives way to the one that truly was', async () => {
  const { world, phone } = await begin(0);
  const server = newServer(world);
  const other = await newPhone(world, 2, { ...ANNA, person: 'p-ben' });
  const tank = await phone.store.add('tank', { name: 'Bay' });
  const agree = async (one: Phone, asking = false) => {
    const batch = await nextPush(world, one, asking);
    await one.store.sync.take(batch, server.answer(batch.request));
  };
  await agree(phone);
  await agree(other);
  phone.aheadMs = YEAR;
  await phone.store.edit(tank.id, { name: 'Reef' });
  world.nowMs += HOUR;
  await other.store.edit(tank.id, { name: 'Cove' });
  await agree(other);
  await agree(phone, true);
  expect((await fields(phone, tank.id))?.['name']).toBe('Reef');
  await agree(phone);
  expect((await fields(phone, tank.id))?.['name']).toBe('Cove');
  expect(server.rows.get(tank.id)?.fields['name']?.value).toBe('Cove');
});

test('what was sent back keeps its stamps under a clock that is set wrong afterwards: a late copy may yet be taken', async () => {
  const { world, phone } = await begin(0);
  const server = newServer(world);
  server.judge = () => ({ verdict: 'clock' });
  const look = await phone.store.add('look', { mouth: 'full' });
  const first = await nextPush(world, phone);
  await phone.store.sync.take(first, server.answer(first.request));
  phone.aheadMs = YEAR;
  world.nowMs += MINUTE;
  await restart(world, phone);
  await phone.store.add('look', { mouth: 'smaller' });
  const [again, after] = (await nextPush(world, phone)).request.changes;
  expect(again).toEqual(first.request.changes[0]);
  expect(writtenIn(after)['mouth']?.stamp).toBe(`${START + MINUTE}.0000.${look.device}`);
  expect(await fields(phone, look.id)).toEqual({ mouth: 'full', at: iso(START) });
});
