/** What a page shows of the store: read anew whenever the store changes, in this tab or another. */
import type { Store } from '../store';
import { absent } from './absent.svelte';

/** A reading of the store that keeps itself fresh; `value` is undefined until the first one is done. */
export interface Live<T> {
  readonly value: T | undefined;
}

/** Read with `load` now, on each change of the store, and when what `load` looks at changes; not before `begin` is over. */
export function live<T>(store: Store, load: () => Promise<T>, begin?: Promise<void>): Live<T> {
  let value = $state.raw<T>();
  let turn = 0;
  const read = async (): Promise<void> => {
    const mine = ++turn;
    try {
      const fresh = await load();
      // A slower, older reading must not overwrite a newer one.
      if (mine === turn) value = fresh;
      absent.came(read);
    } catch (error) {
      absent.say(error, read);
    }
  };
  $effect(() => {
    if (begin) void begin.then(read);
    else void read();
    const stop = store.onChange(() => void read());
    return () => {
      stop();
      absent.came(read);
    };
  });
  return {
    get value() {
      return value;
    },
  };
}
