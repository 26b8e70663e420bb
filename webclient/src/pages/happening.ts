/** What may happen to a brood, and the records that it becomes. */
import type { Rec, Store } from '../store';
import type { TakeBack } from './acts.svelte';
import { addMark, editBack } from './writes';

export type Ending = 'caught' | 'released' | 'lost' | 'mistake';
export type Happening = 'spawning' | 'courtship' | Ending;
export interface Counts {
  readonly eggs: number;
  readonly yolk: number;
  readonly free: number;
  readonly kept: number;
}

/** Whether this ends the brood. */
export function isEnding(happened: Happening): happened is Ending {
  return happened !== 'spawning' && happened !== 'courtship';
}

function kept(how: Ending, counts: Counts): number | null {
  if (how === 'caught') return counts.yolk + counts.free;
  return how === 'released' ? counts.kept : null;
}

/** End a brood; a catch also leaves its mark with the counts. */
export async function endBrood(store: Store, brood: Rec, how: Ending, at: Date, errorMin: number, counts: Counts): Promise<TakeBack> {
  const { eggs, yolk, free } = counts;
  const caught = how === 'caught' ? await addMark(store, brood.id, at, { what: 'caught', at_error_min: errorMin, eggs, yolk, free }) : null;
  const number = kept(how, counts);
  const ended = await editBack(store, brood, { ended: how, ended_at: at.toISOString(), ...(number === null ? {} : { kept: number }) });
  return async () => {
    await ended();
    await caught?.();
  };
}

/** Take an ending back that was said by mistake: of a catch also its mark, so that its counts are gone. */
export async function reopen(store: Store, brood: Rec, caught: Rec | undefined): Promise<TakeBack> {
  const mark = caught && (await editBack(store, caught, { gone: true }));
  const opened = await editBack(store, brood, { ended: null, ended_at: null, kept: null });
  return async () => {
    await opened();
    await mark?.();
  };
}
