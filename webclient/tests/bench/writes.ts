/** How long a look takes from the tap until it is durable, in a real browser over the real store. */
import { openStore } from '../../src/store';
import { BROWSER } from '../../src/store/device';

/** Fill the store with that many looks as if they had come down, then add `count` of them one by one: milliseconds each. */
export async function timeWrites(filled: number, count: number): Promise<number[]> {
  const store = await openStore({ ...BROWSER, name: `bench-${Date.now()}` });
  await store.sync.enter({ person: 'p-1', name: 'Anna', role: 'owner', household: 'Reef Street', householdId: 'h-1' });
  for (let from = 0; from < filled; from += 1000) await fill(store, from, Math.min(1000, filled - from));
  const times: number[] = [];
  for (let i = 0; i < count; i += 1) {
    const began = performance.now();
    await store.add('look', { about: 'brood-1', light: 'red', mouth: 'full', tails: 'none' });
    times.push(performance.now() - began);
    // A tap now and then, not a stream of them.
    await new Promise((resolve) => setTimeout(resolve, 5));
  }
  await store.close();
  return times;
}

async function fill(store: Awaited<ReturnType<typeof openStore>>, from: number, count: number): Promise<void> {
  const stamp = (i: number) => `${1_700_000_000_000 + from + i}.0000.zz99zz99`;
  const row = (i: number) => ({
    id: `019abc8d-c900-7d9a-84fe-${String(from + i).padStart(12, '0')}`,
    kind: 'look', author: 'p-1', device: 'zz99zz99', revision: from + i + 1, concurrent: [],
    fields: Object.fromEntries(
      Object.entries({ about: 'brood-1', at: '2026-11-25T20:10:00.000Z', light: 'red', mouth: 'full', eggs: 'orange' })
        .map(([name, value]) => [name, { value, stamp: stamp(i) }]),
    ),
  });
  const batch = await store.sync.nextBatch(null);
  await store.sync.take(batch, {
    now: new Date().toISOString(), database: 'd-1', epoch: 'e-1', schema: 1, cursor: from + count, more: false, recomputing: false,
    verdicts: [], derived: [], rows: Array.from({ length: count }, (_, i) => row(i)),
  });
}

Object.assign(globalThis, { timeWrites });
