/** A look that is being logged: what is asked in which light, when it was, and the record it becomes. */
import type { Fields } from '../store';
import { IN_THE_MOUTH, NEST, lightInTheDark, type Way } from '../domain/ways';
import { areLampsLit, lampsOut, nightOf, shiftDate, type Lamps } from '../domain/nights';

const MINUTE_MS = 60_000;
const HOUR_MS = 60 * MINUTE_MS;
const FEEDING_BEFORE_DARK_MS = 2 * HOUR_MS;
const EVENING_AFTER_DARK_MS = HOUR_MS;
const VAGUE_MIN = 90;
const DATED_BY_HAND_MIN = 15;

export const LIGHTS = ['daylight', 'dim_white', 'blue', 'red', 'none', 'torch'] as const;
export type Light = (typeof LIGHTS)[number];
export const TIMES = ['now', 'feeding', 'evening', 'other'] as const;
export type When = (typeof TIMES)[number];
export type Part = 'mouth' | 'clutch' | 'eggs' | 'tails' | 'loose_fry' | 'food';

/** When something was, as it was chosen. */
export interface Timing {
  readonly when: When;
  readonly other: Date | null;
}
export interface Draft extends Timing {
  /** The brood looked at; or, where it is one of several, the tank. */
  readonly about: string | null;
  /** The light chosen by hand; nothing while the lamp times say it. */
  readonly light: Light | null;
  readonly seen: Readonly<Partial<Record<Part, string>>>;
  readonly note: string;
  /** A note is promised for later. */
  readonly noteLater: boolean;
  /** The water's temperature, °C; nothing where it was not read. */
  readonly temperature: number | null;
}

export const EMPTY: Draft = { about: null, light: null, seen: {}, when: 'now', other: null, note: '', noteLater: false, temperature: null };

/** When it was: its instant and how far off that may be, in minutes. */
export function whenOf(timing: Timing, lamps: Lamps, now: Date): { at: Date; errorMin: number } {
  const tonight = nightOf(lamps, now);
  if (timing.when === 'other' && timing.other) return { at: timing.other, errorMin: DATED_BY_HAND_MIN };
  if (timing.when === 'evening') return { at: eveningLook(lamps, tonight), errorMin: VAGUE_MIN };
  if (timing.when !== 'feeding') return { at: now, errorMin: 0 };
  const feeding = lampsOut(lamps, tonight).getTime() - FEEDING_BEFORE_DARK_MS;
  return { at: new Date(Math.min(now.getTime(), feeding)), errorMin: VAGUE_MIN };
}

function eveningLook(lamps: Lamps, tonight: string): Date {
  return new Date(lampsOut(lamps, shiftDate(tonight, -1)).getTime() + EVENING_AFTER_DARK_MS);
}

const OF_THE_MOUTH: readonly Way[] = [IN_THE_MOUTH];

function isNest(ways: readonly Way[]): boolean {
  return ways.length > 0 && ways.every((way) => way === NEST);
}

/** The times that are offered: of a nest not last evening, for after lamps-out it was to lie in the dark. */
export function timesOffered({ when }: Timing, ways: readonly Way[]): When[] {
  return TIMES.filter((time) => time !== 'evening' || time === when || !isNest(ways));
}

/** The light of a look: as chosen, or what the lamp times make likely then; over a nest no lamp is lit in the dark.
 * `ways` are those of the males that it may be about. */
export function lightOf(draft: Draft, lamps: Lamps, now: Date, ways = OF_THE_MOUTH): Light {
  return draft.light ?? (areLampsLit(lamps, whenOf(draft, lamps, now).at) ? 'daylight' : lightInTheDark(isNest(ways) ? NEST : IN_THE_MOUTH));
}

/** Whether this light lets orange and silver be told apart. */
export function showsColour(light: Light): boolean {
  return light === 'daylight' || light === 'dim_white' || light === 'torch';
}

/** The parts that are asked: no colour in red, blue or no light; food only while the lamps are lit. A nest guarder has
 * no full throat, shows no tails and eats as ever: of him the clutch is asked instead. */
export function askedParts(draft: Draft, lamps: Lamps, now: Date, ways = OF_THE_MOUTH): Part[] {
  const isMouth = !isNest(ways);
  const parts: Part[] = isMouth ? ['mouth'] : [];
  if (ways.includes(NEST)) parts.push('clutch');
  if (showsColour(lightOf(draft, lamps, now, ways))) parts.push('eggs');
  if (isMouth) parts.push('tails');
  parts.push('loose_fry');
  if (isMouth && areLampsLit(lamps, whenOf(draft, lamps, now).at)) parts.push('food');
  return parts;
}

/** What was seen of the parts that are asked. */
export function seenParts(draft: Draft, lamps: Lamps, now: Date, ways = OF_THE_MOUTH): Fields {
  const seen = askedParts(draft, lamps, now, ways).map((part) => [part, draft.seen[part]] as const);
  return Object.fromEntries(seen.filter((pair): pair is readonly [Part, string] => pair[1] !== undefined));
}

/** The fields of the look that a draft becomes. */
export function lookFields(draft: Draft, lamps: Lamps, now: Date, ways = OF_THE_MOUTH): Fields {
  const { at, errorMin } = whenOf(draft, lamps, now);
  const note = draft.note.trim();
  return {
    about: draft.about, at: at.toISOString(), at_error_min: errorMin, light: lightOf(draft, lamps, now, ways),
    ...seenParts(draft, lamps, now, ways), ...(note ? { note } : {}),
  };
}

/** The reading of the water that goes with a draft, if the temperature was read. */
export function readingFields(draft: Draft, tank: string, lamps: Lamps, now: Date): Fields | null {
  if (draft.temperature === null) return null;
  const { at, errorMin } = whenOf(draft, lamps, now);
  return { about: tank, at: at.toISOString(), at_error_min: errorMin, temperature_c: draft.temperature, source: 'typed' };
}

/** The other time moved by minutes, never into the future. */
export function movedTime(from: Date, minutes: number, now: Date): Date {
  return new Date(Math.min(now.getTime(), from.getTime() + minutes * MINUTE_MS));
}

/** Where *another time* begins: an hour ago, on a quarter. */
export function otherStart(now: Date): Date {
  const quarter = 15 * MINUTE_MS;
  return new Date(Math.floor((now.getTime() - HOUR_MS) / quarter) * quarter);
}
