/** A phone of the invented household, with a tank and a male that holds. */
import 'fake-indexeddb/auto';
import { holdingOf, type Holding } from '../../src/pages/holding';
import { saveMale } from '../../src/pages/maledraft';
import { openStore, type Rec, type Store } from '../../src/store';

export const LAMPS = { zone: 'Europe/Copenhagen', out: '21:30', on: '08:30' };
export const NOW = new Date('2026-11-25T20:00:00Z');
let turn = 0;

/** A phone on which Tove has signed in. */
export async function phoneOf(role: string): Promise<Store> {
  turn += 1;
  let bytes = turn;
  const random = (count: number) => Uint8Array.from({ length: count }, () => (bytes = (bytes * 73 + 41) % 251));
  const opened = await openStore({ name: `phone-${turn}`, now: () => NOW.getTime(), elapsed: () => 0, random });
  await opened.sync.enter({ person: 'tove', name: 'Tove', role, household: 'Tern Quay 4', householdId: 'house' });
  return opened;
}

/** A male that has held since yesterday; the id of his brood. */
export async function maleThatHolds(store: Store): Promise<string> {
  const tank = await store.add('tank', { name: 'Hall tank', zone: LAMPS.zone, lamps_out: LAMPS.out, lamps_on: LAMPS.on });
  const draft = { fish: null, name: ' Quill ', spot: 'left', species: 'pterapogon_kauderni', tank: tank.id, hasReleased: false, holds: true, fullDaysAgo: 1, emptyDaysAgo: null };
  return (await saveMale(store, draft, LAMPS, NOW)).brood ?? '';
}

/** All that the phone knows of that brood now. */
export async function nowOf(store: Store, brood: string): Promise<Holding> {
  return holdingOf(store, (await store.get(brood)) as Rec);
}
