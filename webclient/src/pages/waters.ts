/** Tanks whose water wants something: their duties are as those of a brood, the tank standing for it. */
import type { Rec, Store } from '../store';
import { texts } from '../texts';
import type { Duty } from './derived';
import type { Holding } from './holding';

/** What a duty's row needs of what it is about; of a tank or a batch, `brood` is that itself. */
export interface Duties extends Pick<Holding, 'brood' | 'fish' | 'tank' | 'marks' | 'duties' | 'words'> {
  /** Those of the duties that are shown at that hour, where not all are: the meals of a day come one by one. */
  readonly dueBy?: (now: Date) => readonly Duty[];
}

/** The tanks that have duties of their own. */
export async function watersOf(store: Store, tanks: readonly Rec[]): Promise<Duties[]> {
  const found = await Promise.all(tanks.map((tank) => waterOf(store, tank)));
  return found.filter((water) => water.duties.length > 0);
}

/** The duties about one tank's water. */
export async function waterOf(store: Store, tank: Rec): Promise<Duties> {
  const duties = (await store.derived<{ duties: Duty[] }>('duties', tank.id))?.duties ?? [];
  const marks = duties.length > 0 ? await store.about(tank.id, 'mark') : [];
  return { brood: tank, fish: undefined, tank, marks, duties, words: texts };
}

/** Whether a duty is about the water of a tank. */
export function isOfWater(duty: Duty): boolean {
  return duty.kind === 'too_warm' || duty.kind === 'too_cold';
}
