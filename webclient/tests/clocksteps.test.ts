/** A clock that is set between two taps, wrong by a year either way, in one page session and across a restart. */
import { describe, expect, it } from 'vitest';
import { openStore, type Rec, type Store } from '../src/store';
import { agree, begin, START } from './machine/agreement';
import { newServer, type HouseholdServer, writtenIn } from './machine/household';
import { ANNA, newPhone, nextPush, restart, seeded, type Phone, type World } from './machine/world';

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;
const YEAR = 365 * DAY;
const iso = (ms: number): string => new Date(ms).toISOString();
const words = (ahead: number): string => (ahead === 0 ? 'right' : ahead > 0 ? 'a year ahead' : 'a year behind');

interface Course {
  /** How far the clock is ahead at the first tap, at the second, and when it is sent. */
  ahead: readonly [number, number, number];
  /** When the page is closed and opened again. */
  restarts: 'never' | 'between' | 'after';
}
interface Ran {
  looks: Rec['fields'][];
  true: number[];
  now: number;
}

/** Two taps a minute apart, a day after the phone last agreed; an hour later they are sent. */
async function run({ ahead, restarts }: Course): Promise<Ran> {
  const { world, server, phone } = await begin();
  await agree(world, server, phone);
  world.nowMs += DAY;
  phone.aheadMs = ahead[0];
  await restart(world, phone);
  const first = await phone.store.add('look', { mouth: 'full' });
  world.nowMs += MINUTE;
  phone.aheadMs = ahead[1];
  if (restarts === 'between') await restart(world, phone);
  const second = await phone.store.add('look', { mouth: 'smaller' });
  world.nowMs += HOUR;
  phone.aheadMs = ahead[2];
  if (restarts === 'after') await restart(world, phone);
  await agree(world, server, phone);
  const looks = [first, second].map((look) => server.rows.get(look.id)?.fields ?? {});
  await phone.store.close();
  const plain = looks.map((fields) => Object.fromEntries(Object.entries(fields).map(([name, field]) => [name, field.value])));
  return { looks: plain, true: [START + DAY, START + DAY + MINUTE], now: world.nowMs };
}

const STEPS = [[0, YEAR], [0, -YEAR], [YEAR, 0], [-YEAR, 0], [YEAR, -YEAR], [-YEAR, YEAR], [YEAR, YEAR], [-YEAR, -YEAR]] as const;
/** As it is at the second tap, or set right. */
const COURSES = STEPS.flatMap(([one, two]) => [...new Set([two, 0])].map((three) => [one, two, three] as const));
const NAMED = COURSES.map((ahead) => [ahead.map(words).join(', then '), ahead] as const);

describe('of a clock that is set between two taps', () => {
  it.each(NAMED)('in one page session both are dated exactly: %s', async (_, ahead) => {
    const ran = await run({ ahead, restarts: 'never' });
    expect(ran.looks.map((look) => look['at'])).toEqual(ran.true.map(iso));
    expect(ran.looks.some((look) => look['clock_doubtful'] === true)).toBe(false);
  });

  // Where it is wrong all the time and set right before the page opens again, nothing is left that tells when.
  it.each(NAMED.filter(([, [one, two, three]]) => one === 0 || two === 0 || three !== 0))('in an earlier page session its stopwatch and the last agreement tell both exactly: %s', async (_, ahead) => {
    const ran = await run({ ahead, restarts: 'after' });
    expect(ran.looks.map((look) => look['at'])).toEqual(ran.true.map(iso));
    const wasWrong = ahead.slice(0, 2).map((off) => off !== 0 || ahead[2] !== 0);
    expect(ran.looks.map((look) => look['clock_doubtful'] === true)).toEqual(wasWrong);
  });

  it.each(NAMED)('across a restart between them none lies before the last agreement or after the next tap: %s', async (_, ahead) => {
    const ran = await run({ ahead, restarts: 'between' });
    const [first, second] = ran.looks.map((look) => Date.parse(String(look['at'])));
    expect(second).toBe(ran.true[1]);
    expect(first).toBeGreaterThanOrEqual(START);
    expect(first).toBeLessThanOrEqual(ran.true[1] as number);
    // Right at the tap and wrong now, or as wrong then as it is now: then it is known exactly.
    if (ahead[0] === 0 || ahead[0] === ahead[2]) expect(first).toBe(ran.true[0]);
    expect(ran.looks[0]?.['clock_doubtful'] === true).toBe(ahead[0] !== 0 || ahead[2] !== 0);
  });
});

describe('what a person dated by hand', () => {
  it.each([['never', YEAR], ['after', YEAR], ['never', -YEAR], ['after', -YEAR]] as const)('stays, page closed %s, clock off by %i ms', async (when, ahead) => {
    const { world, server, phone } = await begin();
    phone.aheadMs = ahead;
    const look = await phone.store.add('look', { mouth: 'full', at: '2026-11-24T20:00:00.000Z' });
    world.nowMs += HOUR;
    if (when === 'after') await restart(world, phone);
    await agree(world, server, phone);
    expect((await phone.store.get(look.id))?.fields).toEqual({ mouth: 'full', at: '2026-11-24T20:00:00.000Z' });
    await phone.store.close();
  });
});

describe('a page that slept', () => {
  it('is taken by its stopwatch, and doubtful: it may as well have been the clock that was set', async () => {
    const { world, server, phone } = await begin();
    phone.aheadMs = 5 * HOUR;
    const look = await phone.store.add('look', { mouth: 'full' });
    // The wall moved on by nine hours, the stopwatch by one.
    [world.nowMs, phone.begunMs] = [world.nowMs + 9 * HOUR, phone.begunMs + 8 * HOUR];
    await agree(world, server, phone);
    expect((await phone.store.get(look.id))?.fields).toMatchObject({ at: iso(START + 8 * HOUR), at_phone: iso(START + 5 * HOUR), clock_doubtful: true });
    await phone.store.close();
  });

  it('is let be while its clock is right', async () => {
    const { world, server, phone } = await begin();
    const look = await phone.store.add('look', { mouth: 'full' });
    [world.nowMs, phone.begunMs] = [world.nowMs + 9 * HOUR, phone.begunMs + 8 * HOUR];
    await agree(world, server, phone);
    expect((await phone.store.get(look.id))?.fields).toEqual({ mouth: 'full', at: iso(START) });
    await phone.store.close();
  });
});

interface Tabs {
  world: World;
  server: HouseholdServer;
  phone: Phone;
  tabs: Store[];
}

async function twoTabs(): Promise<Tabs> {
  const world: World = { nowMs: START };
  const phone = await newPhone(world, 21, ANNA);
  const around = { name: phone.name, now: () => world.nowMs + phone.aheadMs, elapsed: () => world.nowMs - START, random: seeded(22) };
  return { world, server: newServer(world), phone, tabs: [phone.store, await openStore(around)] };
}

async function stamps(store: Store): Promise<string[]> {
  const { writes } = JSON.parse(await (await store.exportUnsynced()).text()) as { writes: { fields: Record<string, { stamp: string }> }[] };
  return writes.map(({ fields }) => [...new Set(Object.values(fields).map(({ stamp }) => stamp))].join());
}

describe('stamps', () => {
  it.each([1, 2, 3, 4, 5, 6])('never collide or go back, in two tabs whose clock jumps by up to a year: course %i', async (course) => {
    const { world, server, phone, tabs } = await twoTabs();
    const random = seeded(course);
    const chance = (): number => (random(1)[0] as number) / 256;
    const taken: string[] = [];
    let tank = await phone.store.add('tank', { name: 'Bay' });
    for (let turn = 0; turn < 60; turn += 1) {
      world.nowMs += Math.round(chance() * MINUTE);
      if (chance() < 0.3) phone.aheadMs = Math.round((chance() * 2 - 1) * YEAR);
      const at = chance();
      if (at < 0.7) await Promise.all(tabs.map((tab, i) => (chance() < 0.5 ? tab.add('look', { mouth: 'full' }) : tab.edit(tank.id, { name: `${turn}-${i}` }))));
      else {
        const batch = await nextPush(world, phone, at < 0.8);
        taken.push(...batch.entries.flatMap((entry) => [...new Set(Object.values(entry.fields).map(({ stamp }) => stamp))]));
        await phone.store.sync.take(batch, server.answer(batch.request));
      }
      const waiting = await stamps(tabs[1] as Store);
      const dated = new Set(waiting);
      expect(dated.size).toBe(waiting.length);
      // What waits follows on all that has gone up, in the order of its writing.
      expect([...waiting].sort()).toEqual(waiting);
      const [last] = taken.slice(-1);
      expect(waiting.every((stamp) => last === undefined || stamp > last)).toBe(true);
    }
    expect([...new Set(taken)].sort()).toEqual(taken);
    tank = (await phone.store.get(tank.id)) as Rec;
    await agree(world, server, phone);
    expect(server.rows.get(tank.id)?.fields['name']?.value).toBe((await (tabs[1] as Store).get(tank.id))?.fields['name']);
    await Promise.all(tabs.map((tab) => tab.close()));
  });

  it('stay clear of those of a refused write when the clock falls back', async () => {
    const { world, server, phone } = await begin();
    server.judge = (change) => (writtenIn(change)['litres']?.value === -5 ? { verdict: 'refused', reason: 'no' } : undefined);
    const tank = await phone.store.add('tank', { name: 'Bay', litres: -5 });
    await agree(world, server, phone);
    phone.aheadMs = YEAR;
    await phone.store.add('look', { mouth: 'full' });
    // The refused write was stamped by this very millisecond, and the wrong clock has been forgotten since.
    world.nowMs += HOUR;
    await nextPush(world, phone);
    phone.aheadMs = START - world.nowMs;
    await phone.store.edit(tank.id, { litres: 200 });
    const waiting = await stamps(phone.store);
    expect(new Set(waiting).size).toBe(3);
    expect((await phone.store.get(tank.id))?.fields['litres']).toBe(200);
    await phone.store.close();
  });
});
