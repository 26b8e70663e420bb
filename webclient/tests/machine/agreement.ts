/** A phone and a server that come to agree, round by round. */
import type { Taken } from '../../src/store';
import { newServer, type HouseholdServer } from './household';
import { ANNA, newPhone, nextPush, type Phone, type World } from './world';

export const START = Date.UTC(2026, 10, 25, 20, 10);

export async function begin() {
  const world: World = { nowMs: START };
  return { world, server: newServer(world), phone: await newPhone(world, 1, ANNA) };
}

/** Ask and answer until nothing is left to send. */
export async function agree(world: World, server: HouseholdServer, phone: Phone): Promise<Taken> {
  for (let round = 0; round < 50; round += 1) {
    const batch = await nextPush(world, phone);
    const taken = await phone.store.sync.take(batch, server.answer(batch.request));
    if (!taken.more && (taken.left === 0 || taken.settled === 0)) return taken;
  }
  throw new Error('phone and server did not come to agree');
}
