/** Holding males that may be caught on one night, read from the forecasts on this phone. */
import { nightOf } from '../domain/nights';
import { IN_THE_MOUTH } from '../domain/ways';
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
  // Only one who keeps them in his mouth can be caught a night sooner or later: a hatch night is nobody's to choose.
  return oneTimetable(males.filter((male) => male.way === IN_THE_MOUTH).flatMap((male) => dueOf(male, now)));
}
