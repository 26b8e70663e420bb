/** The verdict at the glass in words: what a finding means for the night to catch, before the server has answered. */
import { nightOf, type Lamps } from '../domain/nights';
import { verdictOf } from '../domain/verdict';
import { texts } from '../texts';
import type { Words } from '../texts/ways';
import { insideSentence } from '../ui/chances';
import { dayName, nightName } from '../ui/dates';
import type { Finding, Forecast } from './derived';
import { showsColour, type Light } from './lookdraft';

/** What the findings of a look mean, provisionally; null where the forecast foretold nothing of such a look. */
export function verdictWords(
  forecast: Forecast | null | undefined,
  seen: Readonly<Record<string, unknown>>,
  light: unknown,
  at: Date,
  lamps: Lamps,
  words: Words = texts,
): string | null {
  // A forecast of an older server foretells nothing.
  const finding = verdictOf(forecast?.if_seen ?? [], seen, showsColour(light as Light), at, lamps);
  if (!forecast || !finding) return null;
  return words.look.verdict.text(insideSentence(finding, words.states), nightWords(forecast, finding, nightOf(lamps, at), words.look.verdict));
}

function nightWords(forecast: Forecast, finding: Finding, tonight: string, words: Words['look']['verdict']): string {
  const [before, after] = [forecast.catch?.night ?? null, finding.catch?.night ?? null];
  if (after === null) return before === null ? words.stillNone : words.none;
  const night = nightName(after, tonight);
  return before === null || before === after ? words.stays(night) : words.moves(nameOf(before, tonight), night);
}

function nameOf(night: string, tonight: string): string {
  return night < tonight ? dayName(night) : nightName(night, tonight);
}
