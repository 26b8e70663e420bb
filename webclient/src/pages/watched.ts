/** The tanks whose darkness matters: those of holding males, or else all. */
import type { Store } from '../store';
import { holdings } from './holding';
import type { Lamps } from '../domain/nights';
import { lampsOf } from './lamps';

/** Their lamp times. */
export async function watchedLamps(store: Store): Promise<Lamps[]> {
  const holding = (await holdings(store)).flatMap((one) => (one.tank ? [one.tank] : []));
  const tanks = holding.length > 0 ? holding : await store.ofKind('tank');
  const unique = new Map(tanks.map((tank) => [tank.id, lampsOf(tank)]));
  return [...unique.values()];
}
