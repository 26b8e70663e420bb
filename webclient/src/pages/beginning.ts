/** Since when he holds: the days between which he took the eggs up, as they are shown and corrected. */
import { dateIn, instantIn, shiftDate, type Lamps } from '../domain/nights';
import type { Fields, Rec } from '../store';
import { atOf, textOf } from './holding';

const MIDNIGHT = '00:00';

/** Calendar dates in the tank's zone; nothing where nobody knows. */
export interface Bounds {
  /** The last day on which he surely did not hold. */
  readonly empty: string | null;
  /** The day on which he was first seen full. */
  readonly full: string | null;
}

/** The days that a brood's bounds say: the first runs from that day's beginning, the last to that day's end. */
export function boundsOf(brood: Rec, zone: string): Bounds {
  const [from, to] = [textOf(brood, 'not_before'), textOf(brood, 'not_after')];
  return { empty: from && dateIn(zone, new Date(from)), full: to && dateIn(zone, new Date(Date.parse(to) - 1)) };
}

/** A day later or earlier, never past today nor out of order; one that nobody knew begins beside the other. */
export function movedBound(bounds: Bounds, which: keyof Bounds, by: number, today: string): Bounds {
  if (which === 'full') {
    const full = earlier(shiftDate(bounds.full ?? today, bounds.full === null ? 0 : by), today);
    return { full, empty: bounds.empty && earlier(bounds.empty, full) };
  }
  const latest = bounds.full ?? today;
  return { ...bounds, empty: earlier(shiftDate(bounds.empty ?? latest, bounds.empty === null ? Math.min(0, by) : by), latest) };
}

function earlier(a: string, b: string): string {
  return a < b ? a : b;
}

/** What is to be written; a day that nobody touched keeps its instant to the millisecond. */
export function boundChanges(bounds: Bounds, brood: Rec, lamps: Lamps, now: Date): Fields {
  const before = boundsOf(brood, lamps.zone);
  const from = bounds.empty && instantIn(lamps.zone, bounds.empty, MIDNIGHT).toISOString();
  const end = bounds.full && instantIn(lamps.zone, shiftDate(bounds.full, 1), MIDNIGHT);
  const to = end && new Date(Math.min(end.getTime(), now.getTime())).toISOString();
  return { ...(bounds.empty === before.empty ? {} : { not_before: from }), ...(bounds.full === before.full ? {} : { not_after: to }) };
}

/** The looks that would lie before the brood, and so would not count. */
export function looksBefore(bounds: Bounds, looks: readonly Rec[], zone: string): Rec[] {
  const { empty } = bounds;
  return empty === null ? [] : looks.filter((look) => dateIn(zone, atOf(look)) < empty);
}
