/** The line drawings: our own strokes on a grid of 64 by 48, drawn in the colour of the text. */
export interface Strokes {
  /** Paths that are only outlined. */
  readonly lines: readonly string[];
  /** Paths that are filled. */
  readonly fills?: readonly string[];
  /** Paths outlined with dashes: what is not there, or not sure. */
  readonly dashes?: readonly string[];
}

export const EYE = 'M26 17a4 4 0 1 0 .01 0z';
export const PUPIL = 'M26 19.6a1.5 1.5 0 1 0 .01 0z';
export const BACK = 'M8 23C14 17 20 8 34 6C44 4.5 54 7 61 12';
export const GILL = 'M38 13C42.5 19 42.5 26 39 31';

function disc(x: number, y: number, r: number): string {
  return `M${x - r} ${y}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0z`;
}

const CLUTCH: readonly (readonly [number, number])[] = [[20, 15], [34, 12], [47, 18], [15, 29], [29, 26], [42, 32], [26, 39]];

function clutch(radius: number): string[] {
  return CLUTCH.map(([x, y]) => disc(x, y, radius));
}

function halves(): string[] {
  return CLUTCH.map(([x, y]) => `M${x - 6} ${y}a6 6 0 0 0 12 0z`);
}

function fry(x: number, y: number): string {
  return `M${x} ${y}c3 -4 8 -4 11 0c-3 4 -8 4 -11 0M${x + 11} ${y}l5 -3.5v7z`;
}

const STONE = 'M3 45C4 16 14 3 33 3S60 16 61 45z';
const LIPS = 'M6 20C16 10 30 8 46 8M6 28C16 38 30 40 46 40';
const RAYS = 'M32 4v5M32 39v5M12 24h5M47 24h5M17.9 9.9l3.5 3.5M42.6 34.6l3.5 3.5M46.1 9.9l-3.5 3.5M21.4 34.6l-3.5 3.5';
const LAMP = 'M18 8h28l4 10h-36z';

export const drawings: Readonly<Record<string, Strokes>> = {
  'mouth full': { lines: [BACK, EYE, GILL, 'M8 23L17 26', 'M8 26C5 38 17 47 29 43C36 40.5 46 36 61 36'], fills: [PUPIL, disc(15, 34, 1.8), disc(21, 38.5, 1.8), disc(21, 32, 1.8), disc(27, 36, 1.8)] },
  'mouth smaller': { lines: [BACK, EYE, GILL, 'M8 23L17 26', 'M8 26C9 36 18 42 29 39.5C40 36.5 50 35.5 61 36', 'M13 32.5C17 36.5 22 37 27 35', 'M19 30.5C22 32.5 25 32.5 28 31'], fills: [PUPIL] },
  'mouth normal': { lines: [BACK, EYE, GILL, 'M8 23L17 24.5', 'M8 25C16 30 26 33 38 34.5C46 35.5 54 36 61 36'], fills: [PUPIL] },
  'eggs orange': { lines: [], fills: clutch(6) },
  'eggs turning': { lines: clutch(6), fills: halves() },
  'eggs silver': { lines: clutch(6), fills: CLUTCH.flatMap(([x, y]) => [disc(x - 2.2, y - 0.5, 1.5), disc(x + 2.2, y - 0.5, 1.5)]) },
  'eggs none': { lines: [], dashes: [disc(32, 25, 17)] },
  'clutch there': { lines: [STONE, ...clutch(3.4)] },
  'clutch gone': { lines: [STONE], dashes: [disc(32, 26, 12)] },
  'tails seen': { lines: [LIPS, 'M14 24C20 21 24 27 30 24L36 20M30 24L36 28', 'M20 15C26 14 30 19 36 16L42 13M36 16L42 20', 'M20 33C26 33 30 29 36 32L42 28M36 32L42 35'] },
  'tails perhaps': { lines: [LIPS], dashes: ['M16 24C22 21 26 27 32 24L38 19M32 24L38 29'] },
  'tails none': { lines: ['M6 24C18 12 32 8 46 8M6 24C18 36 32 40 46 40', 'M6 24C18 22.5 28 22.5 36 24'] },
  'loose seen': { lines: [fry(8, 14), fry(30, 22), fry(14, 34), fry(42, 37), fry(44, 10)] },
  'loose none': { lines: ['M6 16c5 -4 8 -4 13 0s8 4 13 0s8 -4 13 0s8 4 13 0', 'M6 32c5 -4 8 -4 13 0s8 4 13 0s8 -4 13 0s8 4 13 0'] },
  'food ate': { lines: ['M34 6C20 8 12 16 8 22L24 25L9 31C16 38 26 42 36 42', 'M34 13a3.5 3.5 0 1 0 .01 0z', 'M58 25H34M40 19L34 25L40 31'], fills: [disc(28, 25, 2.5)] },
  'food spat': { lines: ['M56 6C42 8 34 16 30 22L44 25L31 31C38 38 46 42 56 42', 'M52 13a3.5 3.5 0 1 0 .01 0z', 'M28 25H14M19 19.5L13.5 25L19 30.5'], fills: [disc(6, 25, 2.5)] },
  'food ignored': { lines: ['M56 6C42 8 34 16 30 23C34 33 44 41 56 42M30 23L40 25', 'M48 13a3.5 3.5 0 1 0 .01 0z'], fills: [disc(20, 13, 2.5), disc(15, 26, 2.5), disc(20, 39, 2.5)] },
  'light daylight': { lines: [RAYS, disc(32, 24, 9)], fills: [disc(32, 24, 5)] },
  'light dim_white': { lines: [LAMP, 'M24 26l-3 8M32 26v9M40 26l3 8'] },
  'light blue': { lines: [LAMP, 'M14 30c4 -4 7 -4 11 0s7 4 11 0s7 -4 11 0', 'M14 40c4 -4 7 -4 11 0s7 4 11 0s7 -4 11 0'] },
  'light red': { lines: [disc(32, 19, 12), 'M27 31v8h10v-8', 'M28 44h8'], fills: [disc(32, 19, 4)] },
  'light none': { lines: [disc(32, 24, 15), 'M21.5 34.5L42.5 13.5'] },
  'light torch': { lines: ['M6 19h20l8 -6v22l-8 -6H6z', 'M42 15l14 -7M43 24h15M42 33l14 7'] },
};
