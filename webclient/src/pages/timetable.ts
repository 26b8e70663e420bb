/** Holding males that may be caught on one night, read from the forecasts on this phone. */
import { nightOf } from '../domain/nights';
import { oneTimetable, type Due, type OneNight } from '../domain/together';
import type { Holding } from './holding';
import { lampsOf } from './lamps';

/** The nights still to come of a male, and the one named for him; nothing where none is. */
function dueOf({ brood, tank, forecast }: Holding, now: Date): Due[] {
  const tonight = nightOf(lampsOf(tank), now);
  const nights = forecast?.nights.filter((row) => row.night >= tonight) ?? [];
  return forecast?.catch && nights.length > 0 ? [{ brood: brood.id, ownNight: forecast.catch.night, nights }] : [];
}

/** The pairs of males worth catching on one night. */
export function timetables(males: readonly Holding[], now: Date): OneNight[] {
  return oneTimetable(males.flatMap((male) => dueOf(male, now)));
}
