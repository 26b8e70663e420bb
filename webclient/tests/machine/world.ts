/** A world of simulated phones: the very store of the client over an IndexedDB in memory, with clocks that can be moved. */
import 'fake-indexeddb/auto';
import { deleteDB } from 'idb';
import { openStore, type Batch, type Person, type Store } from '../../src/store';
import type { RandomBytes } from '../../src/records/ids';

/** Time as it truly is, milliseconds since 1970. */
export interface World {
  nowMs: number;
}

export interface Phone {
  store: Store;
  /** How far its wall clock is ahead of the truth, milliseconds. */
  aheadMs: number;
  /** When its page was opened, true time. */
  begunMs: number;
  batches: Batch[];
  random: RandomBytes;
  name: string;
}

export const ANNA: Person = { person: 'p-anna', name: 'Anna', role: 'owner', household: 'Reef Street', householdId: 'h-1' };

/** Bytes that look random and follow from the seed (mulberry32, public domain). */
export function seeded(seed: number): RandomBytes {
  let state = seed >>> 0;
  const next = () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) % 256;
  };
  return (count) => Uint8Array.from({ length: count }, next);
}

let opened = 0;

/** A new phone with an empty store, on which that person has signed in (nobody for null). */
export async function newPhone(world: World, seed: number, person: Person | null = ANNA): Promise<Phone> {
  opened += 1;
  const bare = { aheadMs: 0, begunMs: 0, batches: [], random: seeded(seed), name: `phone-${opened}-${seed}` };
  const phone: Phone = { ...bare, store: undefined as never };
  await turnOn(world, phone);
  if (person !== null) await phone.store.sync.enter(person);
  return phone;
}

/** Close the browser and open it again: what is not in the store is forgotten, and a new page session begins. */
export async function restart(world: World, phone: Phone): Promise<void> {
  await phone.store.close();
  await turnOn(world, phone);
}

/** Throw the phone away with all that it holds. */
export async function discard(phone: Phone): Promise<void> {
  await phone.store.close();
  await deleteDB(phone.name);
}

/** The next push as the phone would send it, having just learnt the server's time; `asking` is one without changes. */
export async function nextPush(world: World, phone: Phone, asking = false, limit?: number): Promise<Batch> {
  const { session } = phone.store.sync;
  const wallMs = world.nowMs + phone.aheadMs;
  const reading = { offsetMs: -phone.aheadMs, wallMs, session, elapsedMs: world.nowMs - phone.begunMs };
  const batch = await phone.store.sync.nextBatch(asking ? null : reading, limit);
  phone.batches.push(batch);
  return batch;
}

async function turnOn(world: World, phone: Phone): Promise<void> {
  phone.begunMs = world.nowMs;
  phone.store = await openStore({
    name: phone.name,
    now: () => world.nowMs + phone.aheadMs,
    elapsed: () => world.nowMs - phone.begunMs,
    random: phone.random,
  });
}
