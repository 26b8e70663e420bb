/** What the pages of the nursery read besides a batch: who looks, in which units, with which tins. */
import type { Units } from '../../domain/units';
import type { Rec, Store } from '../../store';
import type { Self } from '../correcting';
import type { People } from '../derived';
import { textOf } from '../holding';
import { unitsOf } from '../units';
import { isAlive } from './fooddraft';
import { isKitOfIons } from './kit';

export interface House {
  readonly people: People | undefined;
  readonly self: Self;
  readonly units: Units;
  /** The tins that say something, those that are finished among them. */
  readonly foods: readonly Rec[];
  readonly isAsIon: boolean;
}

/** Read it. */
export async function houseOf(store: Store): Promise<House> {
  const [people, self, units, foods, isAsIon] = await Promise.all([store.derived<People>('people', null), store.self(), unitsOf(store), store.ofKind('food'), isKitOfIons(store)]);
  return { people, self: self ?? { person: '', role: 'helper' }, units, foods: foods.filter((food) => (textOf(food, 'name') ?? textOf(food, 'sort')) !== null), isAsIon };
}

/** The tins of which something can be set going. */
export function living(foods: readonly Rec[]): Rec[] {
  return inUse(foods).filter((food) => isAlive(textOf(food, 'sort')));
}

/** The tins that are in use. */
export function inUse(foods: readonly Rec[]): Rec[] {
  return foods.filter((food) => food.fields['finished'] !== true);
}
