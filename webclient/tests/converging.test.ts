/** Several phones write, lose the network and have wrong clocks; in the end all copies are equal and nothing is missing. */
import { expect, test } from 'vitest';
import type { Answer } from '../src/records/exchange';
import type { Batch, Rec } from '../src/store';
import { newServer, type HouseholdServer } from './machine/household';
import { ANNA, newPhone, nextPush, restart, seeded, type Phone, type World } from './machine/world';

const YEAR = 365 * 86_400_000;
const STEPS = 120;

interface Town {
  world: World;
  server: HouseholdServer;
  phones: Phone[];
  late: { phone: Phone; batch: Batch; answer: Answer }[];
  written: Map<string, string>;
  dice: (sides: number) => number;
}

async function found(seed: number): Promise<Town> {
  const bytes = seeded(seed);
  const world: World = { nowMs: Date.UTC(2026, 10, 25, 20) };
  const phones = await Promise.all([1, 2, 3].map((n) => newPhone(world, seed * 10 + n, { ...ANNA, person: `p-${n}` })));
  const dice = (sides: number) => ((bytes(1)[0] as number) * 256 + (bytes(1)[0] as number)) % sides;
  return { world, server: newServer(world), phones, late: [], written: new Map(), dice };
}

async function exchange({ world, server, late, dice }: Town, phone: Phone): Promise<void> {
  const batch = await nextPush(world, phone, dice(4) === 0, 1 + dice(5));
  const fate = dice(5);
  if (fate === 0) return;
  const answer = server.answer(structuredClone(batch.request));
  if (fate === 1) return;
  if (fate === 2) late.push({ phone, batch, answer });
  else await phone.store.sync.take(batch, answer);
}

async function hearLate({ late, dice }: Town): Promise<void> {
  const heard = late[dice(Math.max(1, late.length))];
  await heard?.phone.store.sync.take(heard.batch, heard.answer);
}

async function write(town: Town, phone: Phone): Promise<void> {
  const note = `${town.dice(10_000)}`;
  const all: Rec[] = await phone.store.ofKind('look', { gone: true });
  const one = all[town.dice(Math.max(1, all.length))];
  if (one === undefined || town.dice(2) === 0) {
    const look = await phone.store.add('look', { note });
    town.written.set(look.id, look.kind);
  } else await phone.store.edit(one.id, town.dice(6) === 0 ? { gone: town.dice(2) === 0 } : { note });
}

async function step(town: Town): Promise<void> {
  const phone = town.phones[town.dice(town.phones.length)] as Phone;
  town.world.nowMs += town.dice(3) * 7_000;
  const what = town.dice(10);
  if (what < 4) await write(town, phone);
  else if (what < 8) await exchange(town, phone);
  else if (what < 9) await hearLate(town);
  else if (town.dice(2) === 0) await restart(town.world, phone);
  else phone.aheadMs = (town.dice(3) - 1) * town.dice(2) * YEAR + town.dice(200_000);
}

async function settle({ world, server, phones, dice }: Town): Promise<void> {
  for (const round of [1, 2, 3, 4]) {
    for (const phone of phones) {
      for (let more = true; more; ) {
        const batch = await nextPush(world, phone);
        const taken = await phone.store.sync.take(batch, server.answer(batch.request));
        more = taken.more || taken.left > 0;
      }
    }
    world.nowMs += round * dice(1000);
  }
}

async function copy(phone: Phone) {
  const { records } = JSON.parse(await (await phone.store.exportAll()).text());
  return records.map(({ id, fields }: { id: string; fields: object }) => [id, fields]).sort();
}

test.each([1, 2, 3, 4, 5, 6, 7, 8])('three phones come to agree, whatever happens on the way: seed %i', async (seed) => {
  const town = await found(seed);
  for (let i = 0; i < STEPS; i += 1) {
    await step(town);
    if (i === 80 && seed % 2 === 0) {
      town.server.rows = new Map([...town.server.rows].slice(0, 3));
      town.server.epoch = 'epoch-2';
    }
  }
  await settle(town);
  const truth = [...town.server.rows.values()].map(({ id, fields }) => [id, fields]).sort();
  for (const phone of town.phones) {
    expect(await copy(phone)).toEqual(truth);
    expect(await phone.store.waiting()).toBe(0);
    expect(await phone.store.attention()).toEqual([]);
  }
  for (const id of town.written.keys()) expect(town.server.rows.has(id)).toBe(true);
});
