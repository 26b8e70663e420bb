/** A keeper's word on what a thermometer measured, or on what somebody typed, as a record that can be taken back. */
import type { Fields, Rec, Store } from '../store';
import type { TakeBack } from './acts.svelte';
import { editBack } from './writes';

/** Say of a tank that readings of a span were right, or a whole thermometer is wrong; of a typed reading that it was right. */
export async function sayOf(store: Store, about: string, said: Fields): Promise<TakeBack> {
  const made = await store.add('trust', { about, ...said });
  return () => store.undo(made.id);
}

/** Take such words away. */
export async function unsay(store: Store, words: readonly Rec[]): Promise<TakeBack> {
  const backs: TakeBack[] = [];
  for (const word of words) backs.unshift(await editBack(store, word, { gone: true }));
  return async () => {
    for (const back of backs) await back();
  };
}
