/**
 * Putting right, before it is sent, what was written while this phone's clock was wrong. Pure.
 * A time that a person chose stays; what was read from the clock is dated anew and the phone's own word kept.
 */
import { instantMs, instantText } from '../records/instants';
import { later, nextStamp, stampMs, type Stamp } from '../records/stamps';
import type { OutboxEntry, OutgoingFields } from './schema';

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

export const TOLERANCE_MS = 120_000;

/** Whether anything of that entry lies where the clock cannot have been; a sent entry is never touched again. */
export function needsRedating(entry: OutboxEntry, reading: ClockReading): boolean {
  if (entry.sent) return false;
  const aheadMs = Math.max(...stampsOf(entry).map(stampMs)) - (reading.wallMs + reading.offsetMs);
  return aheadMs > TOLERANCE_MS || (!entry.corrected && isMistimed(entry, reading));
}

/** Those entries, in the order of their writing, with right times and new stamps that follow each other from `floor`. */
export function redated(entries: readonly OutboxEntry[], reading: ClockReading, floor: Stamp | null, device: string): OutboxEntry[] {
  const renamed = new Map<Stamp, Stamp>();
  let last = floor;
  return entries.map((entry) => {
    const known = withNewWas(entry, renamed);
    if (!needsRedating(entry, reading)) {
      last = stampsOf(known).reduce<Stamp | null>(later, last);
      return known;
    }
    const trueMs = trueTimeMs(entry, reading);
    const before = Object.values(known.fields).map((field) => field.was).reduce<Stamp | null>(later, last);
    const stamp = nextStamp(before, trueMs, device);
    stampsOf(entry).forEach((old) => renamed.set(old, stamp));
    last = stamp;
    return corrected(known, stamp, trueMs, reading);
  });
}

function isMistimed(entry: OutboxEntry, reading: ClockReading): boolean {
  if (Math.abs(reading.offsetMs) > TOLERANCE_MS) return true;
  // Right by now, but written ahead of now, or more time passed in the page than on the wall: it was set back since.
  if (entry.wall_ms - reading.wallMs > TOLERANCE_MS) return true;
  const passedMs = reading.wallMs - entry.wall_ms;
  return entry.session === reading.session && reading.elapsedMs - entry.elapsed_ms - passedMs > TOLERANCE_MS;
}

function trueTimeMs(entry: OutboxEntry, reading: ClockReading): number {
  const nowMs = reading.wallMs + reading.offsetMs;
  if (entry.corrected) return Math.min(entry.wall_ms, nowMs);
  if (entry.session === reading.session && isMistimed(entry, reading)) {
    return Math.round(nowMs - (reading.elapsedMs - entry.elapsed_ms));
  }
  const shiftMs = Math.abs(reading.offsetMs) > TOLERANCE_MS ? reading.offsetMs : 0;
  // Nothing was written later than now.
  return Math.round(Math.min(entry.wall_ms + shiftMs, nowMs));
}

function corrected(entry: OutboxEntry, stamp: Stamp, trueMs: number, reading: ClockReading): OutboxEntry {
  const shiftMs = trueMs - entry.wall_ms;
  const moved = Math.abs(shiftMs) > TOLERANCE_MS;
  const doubtful = moved && entry.session !== reading.session;
  const fields: OutgoingFields = {};
  for (const [name, field] of Object.entries(entry.fields)) {
    const ms = moved && entry.clocked.includes(name) ? instantMs(field.value) : null;
    fields[name] = { ...field, stamp, value: ms === null ? field.value : instantText(ms + shiftMs) };
  }
  const marks = moved ? marksOf(entry, stamp, doubtful) : {};
  return { ...entry, fields: { ...fields, ...marks }, wall_ms: trueMs, corrected: true };
}

function marksOf(entry: OutboxEntry, stamp: Stamp, doubtful: boolean): OutgoingFields {
  const [dated] = [...entry.clocked].sort();
  if (dated === undefined) return {};
  const was = { stamp, was: null };
  const marks: OutgoingFields = { at_phone: { value: entry.fields[dated]?.value ?? null, ...was } };
  return doubtful ? { ...marks, clock_doubtful: { value: true, ...was } } : marks;
}

function withNewWas(entry: OutboxEntry, renamed: ReadonlyMap<Stamp, Stamp>): OutboxEntry {
  const fields = Object.entries(entry.fields).map(([name, field]) => {
    const was = field.was === null ? null : (renamed.get(field.was) ?? field.was);
    return [name, { ...field, was }] as const;
  });
  return { ...entry, fields: Object.fromEntries(fields) };
}

function stampsOf(entry: OutboxEntry): Stamp[] {
  return Object.values(entry.fields).map((field) => field.stamp);
}
