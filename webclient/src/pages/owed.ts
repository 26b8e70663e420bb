/** What is asked for once a brood is over, on account of the male and of the water he was caught from. */
import type { Rec, Store } from '../store';
import { owed } from '../texts/en/owed';
import type { Words } from '../texts/ways';
import type { Duty } from './derived';
import { holdingOf, type Holding } from './holding';
import type { Duties } from './waters';

/** The duties that those broods have left. */
export async function owedOf(store: Store, over: readonly Rec[]): Promise<Duties[]> {
  const all = await Promise.all(over.map((brood) => holdingOf(store, brood)));
  return all.map((one) => owedIn(one)).filter((one) => one.duties.length > 0);
}

/** What is left of one that is over, in words of its own; what led to its end is no duty any more, even where the server has not heard of the end. */
export function owedIn(holding: Holding, now?: Date): Duties {
  // What is over long ago stays in the last plan that was made of it.
  const isOfUse = (duty: Duty): boolean => now === undefined || duty.until_at === null || Date.parse(duty.until_at) > now.getTime();
  return { ...holding, duties: holding.duties.filter((duty) => Object.hasOwn(owed, duty.kind) && isOfUse(duty)), words: withOwed(holding.words) };
}

function withOwed(words: Words): Words {
  const { tonight } = words;
  return { ...words, tonight: { ...tonight, duty: { ...tonight.duty, kinds: { ...tonight.duty.kinds, ...owed } } } };
}
