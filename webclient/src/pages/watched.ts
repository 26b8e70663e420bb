/** The tanks whose darkness matters: those of holding males, or else all. */
import type { Lamps } from '../domain/nights';
import type { Store } from '../store';
import { textOf } from './holding';
import { lampsOf } from './lamps';

/** Their lamp times. */
export async function watchedLamps(store: Store): Promise<Lamps[]> {
  const [broods, fish, tanks] = await Promise.all([store.ofKind('brood'), store.ofKind('fish'), store.ofKind('tank')]);
  const holding = new Set(broods.filter((brood) => textOf(brood, 'ended') === null).map((brood) => textOf(brood, 'about')));
  const homes = new Set(fish.filter((one) => holding.has(one.id)).map((one) => textOf(one, 'about')));
  const watched = tanks.filter((tank) => homes.has(tank.id));
  return (watched.length > 0 ? watched : tanks).map(lampsOf);
}
