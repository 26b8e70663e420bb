/** The look that could change the night, as long as it can be made: Tonight and the brood's page both ask here. */
import { areLampsLit, nightOf, type Lamps } from '../domain/nights';
import type { Forecast, NextLook } from './derived';

/** The next look and whether its hour has come; nothing where none is worth while or its light is over. */
export function lookToMake({ next_look: next }: Forecast, lamps: Lamps, now: Date): { look: NextLook; isDue: boolean } | null {
  if (!next) return null;
  const isDue = Date.parse(next.at) <= now.getTime();
  // One that is due can be made while its light lasts.
  const isLightOver = next.night < nightOf(lamps, now) || (next.light === 'daylight') !== areLampsLit(lamps, now);
  return isDue && isLightOver ? null : { look: next, isDue };
}
