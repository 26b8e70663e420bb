/** The store: what a person writes is durable, whole and stamped, or nothing of it is there. */
import { afterEach, expect, test, vi } from 'vitest';
import { openStore, type Fields } from '../src/store';
import { ANNA, newPhone, nextPush, restart, seeded, type Phone, type World } from './machine/world';

const START = Date.UTC(2026, 10, 25, 20, 10);

afterEach(() => vi.restoreAllMocks());

async function begin(person: typeof ANNA | null = ANNA): Promise<{ world: World; phone: Phone }> {
  const world = { nowMs: START };
  return { world, phone: await newPhone(world, 1, person) };
}

async function held(phone: Phone) {
  const { records, writes } = JSON.parse(await (await phone.store.exportAll()).text());
  return { records, writes };
}

test('a look is added with its outbox entry, dated by the clock, and waits', async () => {
  const { phone } = await begin();
  const look = await phone.store.add('look', { about: 'brood-1', mouth: 'full' });
  expect(look).toMatchObject({ kind: 'look', author: 'p-anna', revision: null, waiting: true });
  expect(look.fields).toEqual({ about: 'brood-1', mouth: 'full', at: '2026-11-25T20:10:00.000Z' });
  const { writes } = await held(phone);
  expect(writes).toHaveLength(1);
  expect(writes[0].fields.mouth).toEqual({ value: 'full', stamp: `${START}.0000.${look.device}`, was: null });
  expect(await phone.store.waiting()).toBe(1);
});

test('what was written is there after the browser was closed and opened, under the same device', async () => {
  const { world, phone } = await begin();
  const look = await phone.store.add('look', { mouth: 'full' });
  await restart(world, phone);
  expect(await phone.store.get(look.id)).toEqual(look);
  expect((await phone.store.self())?.device).toBe(look.device);
});

test('an edit names the stamp it replaced, and what is the same already is not written again', async () => {
  const { world, phone } = await begin();
  const look = await phone.store.add('look', { mouth: 'full', eggs: 'orange' });
  world.nowMs += 1000;
  await phone.store.edit(look.id, { mouth: 'smaller', eggs: 'orange' });
  await phone.store.edit(look.id, { mouth: 'smaller' });
  const { writes } = await held(phone);
  expect(writes).toHaveLength(2);
  expect(writes[1].fields).toEqual({
    mouth: { value: 'smaller', stamp: `${START + 1000}.0000.${look.device}`, was: `${START}.0000.${look.device}` },
  });
});

test('two tabs that write in one millisecond make different stamps', async () => {
  const { world, phone } = await begin();
  const around = { name: phone.name, now: () => world.nowMs, elapsed: () => 5, random: seeded(2) };
  const tab = await openStore(around);
  const one = await phone.store.add('tank', { name: 'Bay' });
  await Promise.all(Array.from({ length: 20 }, (_, i) => (i % 2 ? tab : phone.store).edit(one.id, { litres: i })));
  const { writes } = await held(phone);
  const stamps = writes.flatMap((entry: { fields: Fields }) => [...new Set(Object.values(entry.fields).map((field) => (field as { stamp: string }).stamp))]);
  expect(stamps).toHaveLength(21);
  expect(new Set(stamps).size).toBe(21);
  await tab.close();
});

test('another tab is told of what was written', async () => {
  const { world, phone } = await begin();
  const tab = await openStore({ name: phone.name, now: () => world.nowMs, elapsed: () => 5, random: seeded(2) });
  const told = new Promise<Set<string>>((resolve) => tab.onChange(({ kinds }) => resolve(kinds)));
  await phone.store.add('look', { mouth: 'full' });
  expect(await told).toEqual(new Set(['look']));
  await tab.close();
});

test('a clock that runs back does not make an earlier stamp', async () => {
  const { phone } = await begin();
  const look = await phone.store.add('look', { mouth: 'full' });
  phone.aheadMs = -365 * 86_400_000;
  await phone.store.edit(look.id, { mouth: 'normal' });
  expect((await phone.store.get(look.id))?.fields['mouth']).toBe('normal');
  expect((await held(phone)).writes[1].fields.mouth.stamp).toBe(`${START}.0001.${look.device}`);
});

test('nothing is written before anybody signed in, and it is said by name', async () => {
  const { phone } = await begin(null);
  await expect(phone.store.add('look', {})).rejects.toMatchObject({ name: 'nobody' });
  expect((await held(phone)).records).toEqual([]);
});

test('a kind that this client does not know is not written', async () => {
  const { phone } = await begin();
  await expect(phone.store.add('pond', {})).rejects.toMatchObject({ name: 'unknown' });
  await expect(phone.store.edit('no-such-id', {})).rejects.toMatchObject({ name: 'unknown' });
  expect(await held(phone)).toEqual({ records: [], writes: [] });
});

test('records of a kind, and those about another, come in the order of their time, without those taken away', async () => {
  const { phone } = await begin();
  const late = await phone.store.add('look', { about: 'b', at: '2026-11-25T19:00:00.000Z' });
  const early = await phone.store.add('look', { about: 'b', at: '2026-11-24T23:00:00+02:00' });
  const gone = await phone.store.add('look', { about: 'b', gone: true });
  await phone.store.add('look', { about: null });
  await phone.store.add('feeding', { about: 'b' });
  const ids = (records: { id: string }[]) => records.map((record) => record.id);
  expect(ids(await phone.store.about('b', 'look'))).toEqual([early.id, late.id]);
  expect(ids(await phone.store.about('b', 'look', { gone: true }))).toEqual([early.id, late.id, gone.id]);
  expect(await phone.store.ofKind('look')).toHaveLength(3);
});

test('an added record that never left the phone is taken back without a trace', async () => {
  const { phone } = await begin();
  const look = await phone.store.add('look', { mouth: 'full' });
  await phone.store.undo(look.id);
  expect(await held(phone)).toEqual({ records: [], writes: [] });
});

test('an added record that may have been sent is taken back by marking it gone', async () => {
  const { world, phone } = await begin();
  const look = await phone.store.add('look', { mouth: 'full' });
  await nextPush(world, phone);
  await phone.store.undo(look.id);
  expect((await phone.store.get(look.id))?.fields['gone']).toBe(true);
  expect((await held(phone)).writes).toHaveLength(2);
});

test('settings are kept', async () => {
  const { world, phone } = await begin();
  await phone.store.keep('units', { temperature: '°F' });
  await restart(world, phone);
  expect(await phone.store.setting('units')).toEqual({ temperature: '°F' });
  expect(await phone.store.setting('skin')).toBeUndefined();
});

test('a full disk is told by name and leaves nothing half written', async () => {
  const { phone } = await begin();
  const full = () => {
    throw new DOMException('no room', 'QuotaExceededError');
  };
  vi.spyOn(IDBObjectStore.prototype, 'add').mockImplementation(full);
  await expect(phone.store.add('look', { mouth: 'full' })).rejects.toMatchObject({ name: 'quota' });
  vi.restoreAllMocks();
  expect(await held(phone)).toEqual({ records: [], writes: [] });
  await phone.store.add('look', { mouth: 'full' });
  expect((await held(phone)).writes).toHaveLength(1);
});

test('a lost connection is opened again and the write tried once more, and is there once', async () => {
  const { phone } = await begin();
  const real = IDBDatabase.prototype.transaction;
  let lost = 1;
  vi.spyOn(IDBDatabase.prototype, 'transaction').mockImplementation(function (this: IDBDatabase, ...args) {
    if (lost-- > 0) throw new DOMException('Connection to Indexed Database server lost', 'UnknownError');
    return real.apply(this, args);
  });
  await phone.store.add('look', { mouth: 'full' });
  expect((await held(phone)).writes).toHaveLength(1);
});

/** The next writing transaction is carried out, but the browser says that it was not. */
function loseTheNextCompletion(): void {
  const real = IDBDatabase.prototype.transaction;
  let lost = 1;
  vi.spyOn(IDBDatabase.prototype, 'transaction').mockImplementation(function (this: IDBDatabase, ...args) {
    const tx = real.apply(this, args);
    if (tx.mode !== 'readwrite' || lost-- <= 0) return tx;
    const listen = tx.addEventListener.bind(tx) as (name: string, heard: () => void) => void;
    const [completed, failed] = [new Set<() => void>(), new Set<() => void>()];
    tx.addEventListener = (name: string, heard: never) => void (name === 'complete' ? completed : failed).add(heard);
    listen('complete', () => failed.forEach((heard) => heard()));
    return tx;
  });
}

test('a connection lost after the commit does not make a second record', async () => {
  const { phone } = await begin();
  loseTheNextCompletion();
  await phone.store.add('look', { mouth: 'full' });
  expect((await held(phone)).records).toHaveLength(1);
  expect((await held(phone)).writes).toHaveLength(1);
});

test('a value that cannot be stored leaves nothing half written', async () => {
  const { phone } = await begin();
  const bad = (() => 0) as unknown as string;
  await expect(phone.store.add('look', { note: bad })).rejects.toMatchObject({ name: 'DataCloneError' });
  expect(await held(phone)).toEqual({ records: [], writes: [] });
});

test('a connection that does not come back is told by name', async () => {
  const { phone } = await begin();
  vi.spyOn(IDBDatabase.prototype, 'transaction').mockImplementation(() => {
    throw new DOMException('closing', 'InvalidStateError');
  });
  await expect(phone.store.add('look', {})).rejects.toMatchObject({ name: 'lost' });
});

test('where nothing was written yet another household comes in, and sees nothing of the first one\'s', async () => {
  const { phone } = await begin();
  const { sync } = phone.store;
  const people = (id: string, revision: number) => ({ kind: 'people', about: null, revision, body: { household: { id } } });
  const heard = async (epoch: string, row: ReturnType<typeof people>) => {
    const answer = { now: '2026-11-25T20:10:00.000Z', database: 'd', epoch, schema: 2, rows: [], derived: [row], cursor: row.revision, more: false };
    await sync.take(await sync.nextBatch(null), answer);
  };
  await heard('e', people('h-1', 7));
  await sync.enter({ ...ANNA, householdId: 'h-2', household: 'Elsewhere' });
  expect(await phone.store.derivedOf('people')).toEqual([]);
  await heard('e', people('h-2', 1));
  expect(await phone.store.derivedOf('people')).toMatchObject([{ body: { household: { id: 'h-2' } } }]);
});

test('another household may not come in over the records of this one, until a person clears the phone', async () => {
  const { phone } = await begin();
  const other = { ...ANNA, householdId: 'h-2', household: 'Elsewhere' };
  await phone.store.add('look', { mouth: 'full' });
  await expect(phone.store.sync.enter(other)).rejects.toMatchObject({ name: 'other_household' });
  expect((await phone.store.self())?.household).toBe('Reef Street');
  await phone.store.clearPhone();
  await phone.store.sync.enter(other);
  expect(await held(phone)).toEqual({ records: [], writes: [] });
  expect((await phone.store.self())?.household).toBe('Elsewhere');
});
