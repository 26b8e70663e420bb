/** The catalogue of all texts in English: a translation is another file of the same shape, in two halves. */
import { frame } from './en/frame';
import { look } from './en/look';
import { states } from './en/states';
import { tonight } from './en/tonight';

/** What the first load needs; the other half, `en/later.ts`, comes with the pages that show it. */
export const en = { frame, look, states, tonight };
