/** Drawings of signs that are not asked for but looked for. */
import { BACK, EYE, GILL, PUPIL, type Strokes } from './drawings';

export const moreDrawings: Readonly<Record<string, Strokes>> = {
  'slack jaw': { lines: [BACK, EYE, GILL, 'M8 23L20 26L9 34', 'M9 34C16 39 28 38 38 36.5C46 35.5 54 36 61 36'], fills: [PUPIL] },
  'hollow belly': { lines: ['M5 21C13 12 26 8 40 13C48 16 52 19 55 20L61 12V32L55 25C49 26 45 25 40 21.5C32 17.5 26 21 22 26C16 29 9 27 5 21z', 'M14 17a2.5 2.5 0 1 0 .01 0z'], dashes: ['M22 27C28 34 42 34 52 26'] },
};
