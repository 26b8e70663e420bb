/** The catalogue as a male of that way has it: most houses hold no other way than the first, and never load the rest. */
import { IN_THE_MOUTH, type Way } from '../domain/ways';
import { late } from '../late';
import { texts } from '.';

export type Words = typeof texts;

/** The texts that speak of such a male. */
export async function wordsOf(way: Way): Promise<Words> {
  return way === IN_THE_MOUTH ? texts : (await late(import('./hatching'))).hatching[way];
}
