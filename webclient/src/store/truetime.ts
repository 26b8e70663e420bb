/**
 * When something was truly written, as far as the page's own stopwatch, the server's clock and the order of the
 * writings tell it. Pure.
 */
import { instantMs } from '../records/instants';
import type { OutboxEntry } from './schema';

/** What a round trip said of this phone's clock. */
export interface ClockReading {
  /** The server's clock less the phone's, milliseconds. */
  offsetMs: number;
  /** The phone's wall clock now, milliseconds since 1970. */
  wallMs: number;
  /** The page session that reads, and its `performance.now()`. */
  session: string;
  elapsedMs: number;
}

/** When an entry was written, true time; doubtful where the clock may have been wrong by something else. */
export interface Written {
  ms: number;
  doubtful: boolean;
}

export const TOLERANCE_MS = 120_000;
/** Many a page's stopwatch stands still while the phone sleeps; no page sleeps longer than this (assumption). */
const LONGEST_SLEEP_MS = 40 * 24 * 3_600_000;

/** Now, by the server's clock. */
export function nowMs(reading: ClockReading): number {
  return reading.wallMs + reading.offsetMs;
}

/** Whether the clock of that entry's writing was wrong, as far as it shows. */
export function isMistimed(entry: OutboxEntry, reading: ClockReading): boolean {
  if (Math.abs(reading.offsetMs) > TOLERANCE_MS) return true;
  // Right by now, but it was written ahead of now; or before an agreement that came before it; or the wall's time since
  // is not the page's. It was set since.
  if (entry.wall_ms - reading.wallMs > TOLERANCE_MS) return true;
  if (agreedMs(entry) - entry.wall_ms > TOLERANCE_MS) return true;
  const slept = sleptMs(entry, reading);
  return isOfThisPage(entry, reading) && (slept < -TOLERANCE_MS || slept > LONGEST_SLEEP_MS);
}

/** When each of those entries, which are in the order of their writing, was written. */
export function writtenTimes(entries: readonly OutboxEntry[], reading: ClockReading): Written[] {
  const latest = latestTimes(entries, reading);
  let earliest = Number.NEGATIVE_INFINITY;
  const own = entries.map((entry, i) => {
    const span = { from: Math.max(earliest, agreedMs(entry)), until: latest[i] as number };
    const ms = ownTime(entry, reading, span);
    if (ms !== null && !isMistimed(entry, reading)) earliest = Math.max(earliest, ms);
    return { ms, span };
  });
  const mates = matesOf(entries, own);
  return entries.map((entry, i) => {
    const { ms, span } = own[i] as (typeof own)[number];
    const guess = ms ?? within(span, besides(entry, mates.get(entry.session)) ?? entry.wall_ms + shiftMs(reading));
    return { ms: Math.round(guess), doubtful: isDoubtful(entry, reading) };
  });
}

interface Span {
  from: number;
  until: number;
}

/** When it was written by itself; nothing where its clock showed what cannot have been. */
function ownTime(entry: OutboxEntry, reading: ClockReading, span: Span): number | null {
  const now = nowMs(reading);
  if (entry.corrected || !isMistimed(entry, reading)) return Math.min(entry.wall_ms, now);
  if (isOfThisPage(entry, reading)) return byStopwatch(entry, reading);
  // As wrong as it is now; or right then, and set wrong since.
  const supposed = [entry.wall_ms + shiftMs(reading), entry.wall_ms];
  const isPossible = (ms: number): boolean => ms >= span.from - TOLERANCE_MS && ms <= span.until + TOLERANCE_MS;
  const found = supposed.find(isPossible);
  return found === undefined ? null : Math.min(found, now);
}

interface Mate {
  elapsed: number;
  ms: number;
}

/** The writings of each page whose times are known by themselves. */
function matesOf(entries: readonly OutboxEntry[], own: readonly { ms: number | null }[]): Map<string, Mate[]> {
  const mates = new Map<string, Mate[]>();
  for (const [i, { session, elapsed_ms: elapsed }] of entries.entries()) {
    const ms = own[i]?.ms ?? null;
    if (ms === null) continue;
    const known = mates.get(session);
    if (known) known.push({ elapsed, ms });
    else mates.set(session, [{ elapsed, ms }]);
  }
  return mates;
}

/** As long before or after the nearest writing of its own page as that page's stopwatch says. */
function besides(entry: OutboxEntry, mates: readonly Mate[] = []): number | null {
  const away = (mate: Mate): number => entry.elapsed_ms - mate.elapsed;
  const [first, ...others] = mates;
  if (first === undefined) return null;
  const nearest = others.reduce((best, mate) => (Math.abs(away(mate)) < Math.abs(away(best)) ? mate : best), first);
  return nearest.ms + away(nearest);
}

/** Nothing was written later than now, nor later than what was written after it. */
function latestTimes(entries: readonly OutboxEntry[], reading: ClockReading): number[] {
  let latest = nowMs(reading);
  const backwards = [...entries].reverse().map((entry) => {
    const before = latest;
    if (isOfThisPage(entry, reading)) latest = Math.min(latest, byStopwatch(entry, reading));
    return before;
  });
  return backwards.reverse();
}

function isDoubtful(entry: OutboxEntry, reading: ClockReading): boolean {
  if (entry.corrected || !isMistimed(entry, reading)) return false;
  const slept = sleptMs(entry, reading);
  return !isOfThisPage(entry, reading) || (slept > TOLERANCE_MS && slept <= LONGEST_SLEEP_MS);
}

/** How much more time passed on the wall than on the page's stopwatch since: it slept, or the clock was set. */
function sleptMs(entry: OutboxEntry, reading: ClockReading): number {
  return reading.wallMs - entry.wall_ms - (reading.elapsedMs - entry.elapsed_ms);
}

function byStopwatch(entry: OutboxEntry, reading: ClockReading): number {
  return nowMs(reading) - (reading.elapsedMs - entry.elapsed_ms);
}

function isOfThisPage(entry: OutboxEntry, reading: ClockReading): boolean {
  return entry.session === reading.session;
}

function shiftMs({ offsetMs }: ClockReading): number {
  return Math.abs(offsetMs) > TOLERANCE_MS ? offsetMs : 0;
}

/** The server's time when the phone last agreed with it before that writing. */
function agreedMs(entry: OutboxEntry): number {
  return instantMs(entry.agreed_at) ?? Number.NEGATIVE_INFINITY;
}

function within({ from, until }: Span, ms: number): number {
  return Math.min(Math.max(ms, from), until);
}
