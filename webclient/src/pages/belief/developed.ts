/** How a brood's forecast developed: the forecasts that were issued, as they are played back. */
import { belief } from '../../texts/belief';
import { ofHundred } from '../../ui/chances';
import { dateIn } from '../../domain/nights';
import { dayName } from '../../ui/dates';
import type { Chances } from '../../domain/forecast';
import type { Glance } from '../../sync';

/** A forecast as it was issued. */
export interface Frame {
  readonly issued: Date;
  readonly hatch: readonly [Date, Date, Date];
  readonly release: readonly [Date, Date, Date];
  readonly night: string | null;
  readonly catchAt: Date | null;
  readonly saved: number | null;
  readonly chances: Chances;
}

function three(levels: Glance['hatched']): Frame['hatch'] {
  return [new Date(levels.q10), new Date(levels.q50), new Date(levels.q90)];
}

export function framesOf(glances: readonly Glance[]): Frame[] {
  return glances.map((one) => ({
    issued: new Date(one.issued_at), hatch: three(one.hatched), release: three(one.released), night: one.catch?.night ?? null,
    catchAt: one.catch ? new Date(one.catch.at) : null, saved: one.catch?.saved ?? null, chances: one.now as Chances,
  }));
}

/** A window in words: about when, and from when to when. */
export function windowWords([early, middle, late]: Frame['hatch'], zone: string): string {
  const day = (at: Date): string => dayName(dateIn(zone, at));
  return belief.back.likely(day(middle), day(early), day(late));
}

export function nightWords({ night, saved }: Frame): string {
  return night === null || saved === null ? belief.back.none : `${dayName(night)}, ${belief.back.saves(ofHundred(saved))}`;
}

function sameSaid(a: Frame, b: Frame, zone: string): boolean {
  const said = (one: Frame): string => `${windowWords(one.hatch, zone)} ${nightWords(one)}`;
  return said(a) === said(b);
}

/** The forecasts that say something else than the one before, for a table. */
export function rowsOf(frames: readonly Frame[], zone: string): Frame[] {
  return frames.filter((frame, i) => {
    const before = frames[i - 1];
    return !before || !sameSaid(before, frame, zone);
  });
}

/** What the chart shows, in words; `title` is what the night is called for such a male. */
export function chartWords(frames: readonly Frame[], zone: string, title: string): string {
  const [first, last] = [frames[0], frames.at(-1)];
  if (!first || !last) return '';
  const words = belief.back;
  const day = (frame: Frame): string => dayName(dateIn(zone, frame.hatch[1]));
  const nights = frames.flatMap(({ night }) => (night ? [night] : []));
  const [from, to] = [nights[0], nights.at(-1)];
  const all = words.chart(frames.length, day(first), day(last));
  if (!from || !to) return all;
  return `${all} ${new Set(nights).size === 1 ? words.sameNight(title, dayName(to)) : words.night(title, dayName(from), dayName(to))}`;
}
