/** What a look still to come could change, and which look comes next. */
import type { Lamps } from '../../domain/nights';
import { wayOf } from '../../domain/ways';
import { belief, beliefs } from '../../texts/belief';
import { ofHundred, percent } from '../../ui/chances';
import { dayName, momentWords } from '../../ui/dates';
import type { Finding, Forecast, IfSeen, LookAhead } from '../derived';
import { lookToMake } from '../nextlook';

/** Rarer findings are not worth a line. */
const LIKELY_FROM = 0.02;

export interface Turns {
  readonly at: string;
  readonly when: string;
  readonly lines: readonly string[];
}

/** The words for such a male. */
function wordsOf({ way }: Forecast): typeof belief {
  return beliefs[wayOf(null, way)];
}

function isToCome(look: LookAhead, now: Date): boolean {
  return Date.parse(look.at) > now.getTime();
}

/** The looks still to come that can change the night: once it is there, it is too late for that. */
function comingLooks(forecast: Forecast, now: Date): IfSeen[] {
  const end = forecast.catch ? Date.parse(forecast.catch.at) : Infinity;
  return (forecast.if_seen ?? []).filter((look) => isToCome(look, now) && Date.parse(look.at) < end);
}

function light(look: LookAhead): string {
  return belief.next.when[look.light] ?? look.light;
}

/** The hour of a coming look, with how it is made. */
export function lookAheadWords(look: LookAhead, zone: string, now: Date): string {
  return belief.turns.at(momentWords(new Date(look.at), zone, now), light(look));
}

function turningIn(look: IfSeen, forecast: Forecast): Finding[] {
  const night = forecast.catch?.night ?? null;
  const turning = look.findings.filter((one) => one.likelihood >= LIKELY_FROM && (one.catch?.night ?? null) !== night);
  return turning.sort((a, b) => b.likelihood - a.likelihood);
}

function actWords(finding: Finding, look: IfSeen, forecast: Forecast): string {
  const words = wordsOf(forecast).turns.act;
  if (!finding.catch) return words.none;
  return finding.catch.night === look.night ? words.same : words.other(dayName(finding.catch.night));
}

function lineOf(finding: Finding, look: IfSeen, forecast: Forecast): string {
  const found = wordsOf(forecast).turns.found[finding.part]?.[finding.value] ?? `${finding.part} ${finding.value}`;
  return belief.turns.if(found, percent(finding.likelihood), actWords(finding, look, forecast));
}

/** The looks still to come at which a finding would change the night, each finding in words, the likeliest first. */
export function turnsOf(forecast: Forecast, zone: string, now: Date): Turns[] {
  return comingLooks(forecast, now).flatMap((look) => {
    const lines = turningIn(look, forecast).map((finding) => lineOf(finding, look, forecast));
    return lines.length > 0 ? [{ at: look.at, when: lookAheadWords(look, zone, now), lines }] : [];
  });
}

/** The next look in words, or why there is none. */
export type NextView =
  | { readonly isNone: true; readonly why: string }
  | { readonly isNone: false; readonly when: string; readonly lookFor: string; readonly gain: string; readonly cost: string };

function ofHundredWords(share: number): string {
  return belief.next.about(ofHundred(share));
}

function noneWords(forecast: Forecast, now: Date): string {
  const words = wordsOf(forecast).next;
  if (forecast.next_look) return words.past;
  if (!forecast.catch) return words.noNight;
  return comingLooks(forecast, now).some((look) => turningIn(look, forecast).length > 0) ? words.notWorth : words.nothing;
}

export function nextView(forecast: Forecast, lamps: Lamps, now: Date): NextView {
  const next = lookToMake(forecast, lamps, now);
  const words = wordsOf(forecast).next;
  if (!next) return { isNone: true, why: noneWords(forecast, now) };
  const { look, isDue } = next;
  return {
    isNone: false, when: isDue ? belief.turns.at(words.now, light(look)) : lookAheadWords(look, lamps.zone, now), lookFor: words.lookFor[look.look_for] ?? '',
    gain: words.gain(ofHundredWords(look.gain)), cost: look.cost > 0 ? words.costs(ofHundredWords(look.cost)) : words.free,
  };
}
