/** The arithmetic of a nursery that the phone does itself: how many are alive, how old, what a test says. Pure. */
import type { Fields } from '../records/kinds';

/** Nitrogen in ammonium and in nitrite by mass: 14.007 of 18.038 and of 46.005 (IUPAC standard atomic weights). */
const NITROGEN_IN = { ammonium: 0.7765, nitrite: 0.3045 } as const;
/** Where free ammonia asks for caution and where for a change at once, mg/L NH3-N: from work on larvae, by the server's own lines. */
const CAUTION_MG_L = 0.01;
const ALARM_MG_L = 0.025;
const DAY_MS = 86_400_000;

export type Sureness = 'exact' | 'about' | 'at_least';
/** How many are alive by the last count and the deaths since. */
export interface Alive {
  readonly number: number;
  readonly how: Sureness;
  readonly deadSince: number;
  readonly at: string;
}
export interface Noted { readonly fields: Readonly<Fields> }

function instantOf({ fields }: Noted): string {
  return String(fields['at'] ?? '');
}

/** How many are alive: the start or the last count, less the deaths found since. Nothing where nobody has counted. */
export function aliveIn(batch: Noted, counts: readonly Noted[]): Alive | null {
  const told = [batch, ...counts].filter(({ fields }) => typeof fields['alive'] === 'number').sort((a, b) => (instantOf(a) < instantOf(b) ? -1 : 1));
  const last = told.at(-1);
  if (last === undefined) return null;
  const since = counts.filter((one) => one !== last && instantOf(one) >= instantOf(last) && typeof one.fields['dead'] === 'number');
  const deadSince = since.reduce((all, one) => all + Number(one.fields['dead']), 0);
  const number = Math.max(0, Number(last.fields['alive']) - deadSince);
  return { number, how: (last.fields['how'] ?? 'about') as Sureness, deadSince, at: instantOf(last) };
}

/** Whole days from one instant to another. */
export function wholeDays(from: string, now: Date): number {
  return Math.max(0, Math.floor((now.getTime() - Date.parse(from)) / DAY_MS));
}

/** What a kit shows, as nitrogen. */
export function asNitrogen(shown: number, ion: keyof typeof NITROGEN_IN, isAsIon: boolean): number {
  return isAsIon ? Number((shown * NITROGEN_IN[ion]).toFixed(4)) : shown;
}

export type Verdict = 'well' | 'caution' | 'alarm';
/** What that much free ammonia means. */
export function ammoniaVerdict(freeMgL: number): Verdict {
  if (freeMgL >= ALARM_MG_L) return 'alarm';
  return freeMgL >= CAUTION_MG_L ? 'caution' : 'well';
}

/** A tin by its own sample: of those that could hatch how many did, in %, and how many nauplii a gram gives. */
export interface Hatched {
  readonly percent: number | null;
  readonly perGram: number;
}
/** A known weight of cysts hatched in a known volume, counted in drops of it. */
export interface Sample {
  /** The mean of nauplii, umbrella stages and unhatched cysts in a drop. */
  readonly nauplii: number;
  readonly umbrellas: number;
  readonly unhatched: number;
  readonly dropMl: number;
  readonly vesselMl: number;
  readonly grams: number;
}
/** FAO Fisheries Technical Paper 361, worksheet 4.2.3 (from memory): six drops of 250 µL from 1.6 g in 800 mL. */
export const USUAL_SAMPLE = { dropMl: 0.25, vesselMl: 800, grams: 1.6 } as const;

/** What such a count says of the tin; nothing where nothing was counted. */
export function hatchedOf({ nauplii, umbrellas, unhatched, dropMl, vesselMl, grams }: Sample): Hatched {
  const all = nauplii + umbrellas + unhatched;
  return { percent: all === 0 ? null : (100 * nauplii) / all, perGram: Math.round((nauplii / dropMl) * (vesselMl / grams)) };
}
