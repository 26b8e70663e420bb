/** Small signs for what was seen, ten units wide round the origin. */
export interface Sign {
  readonly outline: string;
  readonly filled: boolean;
  readonly inner?: string;
}

const ROUND = 'M-5.5 0a5.5 5.5 0 1 0 11 0a5.5 5.5 0 1 0 -11 0z';
const HALF = 'M-5.5 0a5.5 5.5 0 0 0 11 0z';
const PUPIL = 'M-2 0a2 2 0 1 0 4 0a2 2 0 1 0 -4 0z';
const UP = 'M0 -6L6 5H-6z';
const DOWN = 'M0 6L6 -5H-6z';
const DIAMOND = 'M0 -7L7 0L0 7L-7 0z';
const CROSS = 'M-4 -4L4 4M-4 4L4 -4';

const SIGNS: Readonly<Record<string, Sign>> = {
  'mouth full': { outline: ROUND, filled: true },
  'mouth smaller': { outline: ROUND, filled: false, inner: HALF },
  'mouth normal': { outline: ROUND, filled: false },
  'eggs orange': { outline: ROUND, filled: true },
  'eggs turning': { outline: ROUND, filled: false, inner: HALF },
  'eggs silver': { outline: ROUND, filled: false, inner: PUPIL },
  'clutch there': { outline: ROUND, filled: true },
  'tails seen': { outline: UP, filled: true },
  'tails perhaps': { outline: UP, filled: false },
  'food ate': { outline: DOWN, filled: true },
  'food spat': { outline: DOWN, filled: false },
  'loose_fry seen': { outline: DIAMOND, filled: true },
};

/** The values of a lane in the order in which a key names them. */
export const KEY: Readonly<Record<string, readonly string[]>> = {
  mouth: ['full', 'smaller', 'normal'], clutch: ['there', 'gone'], eggs: ['orange', 'turning', 'silver', 'none'], tails: ['seen', 'perhaps', 'none'], food: ['ate', 'spat', 'ignored'], loose_fry: ['seen', 'none'],
};

/** The sign of a value; a cross where nothing was seen. */
export function signOf(lane: string, value: string): Sign {
  return SIGNS[`${lane} ${value}`] ?? { outline: CROSS, filled: false };
}
