/** What asks for a keeper's word: a look that does not fit, and a male that holds far past the window. */
import { belief } from '../../texts/belief';
import { IN_THE_MOUTH } from '../../domain/ways';
import { dateIn } from '../../domain/nights';
import { dayName } from '../../ui/dates';
import type { Rec } from '../../store';
import { namedLook } from '../card';
import { atOf, type Holding } from '../holding';

const DAY_MS = 86_400_000;
/** A look older than this says nothing of whether he still holds. */
const RECENT_MS = 3 * DAY_MS;
/** About 10 days, the longest that is published: Vagelli 1999 (Environ. Biol. Fishes 56:79-92). */
const LONGEST_IN_MOUTH_MS = 10 * DAY_MS;

/** The look in conflict, in words; nothing where it has been corrected or taken out meanwhile. */
export function conflictOf(holding: Holding, zone: string, now: Date): { look: Rec; text: string } | null {
  const conflict = holding.forecast?.conflict;
  const look = holding.looks.find((one) => one.id === conflict?.look);
  const named = look && namedLook(holding, look.id, zone, now);
  if (!conflict || !look || !named || look.waiting) return null;
  return { look, text: belief.mend.text(named.when, named.what) };
}

/** The day by which they had hatched at the latest, where he looks full longer after it than young are known to stay.
 *
 * The looks carry the window on with them, so that he is hardly ever past it: what is known of the fish is the measure. */
export function holdsTooLong(holding: Holding, zone: string, now: Date): string | null {
  const forecast = holding.forecast;
  if (!forecast || forecast.error || holding.way !== IN_THE_MOUTH) return null;
  const seen = holding.looks.findLast((look) => typeof look.fields['mouth'] === 'string' && look.fields['recalled'] !== true);
  const hatched = new Date(forecast.hatched.q95);
  const over = Math.min(Date.parse(forecast.released_last.q95), hatched.getTime() + LONGEST_IN_MOUTH_MS);
  const isRecent = seen !== undefined && now.getTime() - atOf(seen).getTime() < RECENT_MS;
  const isFull = isRecent && seen.fields['mouth'] === 'full' && atOf(seen).getTime() > over;
  return isFull && now.getTime() > over ? dayName(dateIn(zone, hatched)) : null;
}
