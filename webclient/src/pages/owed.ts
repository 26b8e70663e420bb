/** What is asked for once a brood is over, on account of the male and of the water he was caught from. */
import type { Rec, Store } from '../store';
import { owed, owedAhead } from '../texts/en/owed';
import type { Words } from '../texts/ways';
import { holdingOf, type Holding } from './holding';
import type { Duties } from './waters';

/** The duties that those broods have left. */
export async function owedOf(store: Store, over: readonly Rec[]): Promise<Duties[]> {
  const all = await Promise.all(over.map((brood) => holdingOf(store, brood)));
  return all.map(owedIn).filter((one) => one.duties.length > 0);
}

/**
 * One that is over, with what is owed after it, in words of its own: what led to its end is no duty any more, even where
 * the server has not heard of the end.
 */
export function owedIn(holding: Holding): Duties {
  return { ...holding, duties: holding.duties.filter((duty) => Object.hasOwn(owed, duty.kind)), words: withOwed(holding.words) };
}

function withOwed(words: Words): Words {
  const { duty } = words.tonight;
  return { ...words, tonight: { ...words.tonight, duty: { ...duty, ahead: { ...duty.ahead, ...owedAhead }, kinds: { ...duty.kinds, ...owed } } } };
}
