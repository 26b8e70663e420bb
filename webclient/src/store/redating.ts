/**
 * Putting right, before it is sent, what was written while this phone's clock was wrong. Pure.
 * A time that a person chose stays; what was read from the clock is dated anew and the phone's own word kept.
 */
import { instantMs, instantText } from '../records/instants';
import { later, nextStamp, stampMs, type Stamp } from '../records/stamps';
import type { OutboxEntry, OutgoingFields } from './schema';
import { TOLERANCE_MS, isMistimed, nowMs, writtenTimes, type ClockReading, type Written } from './truetime';

export { TOLERANCE_MS, type ClockReading } from './truetime';

/**
 * Whether anything of that entry lies where the clock cannot have been. A sent entry is never touched again; one that was
 * sent back keeps its stamps too, if it can: a late copy of the request would bring the same writing under two.
 */
export function needsRedating(entry: OutboxEntry, reading: ClockReading): boolean {
  if (entry.sent) return false;
  const aheadMs = Math.max(...stampsOf(entry).map(stampMs)) - nowMs(reading);
  const wasFoundRight = entry.corrected || entry.returned === true;
  return aheadMs > TOLERANCE_MS || (!wasFoundRight && isMistimed(entry, reading));
}

/** Those entries, in the order of their writing, with right times and new stamps that follow each other from `floor`. */
export function redated(entries: readonly OutboxEntry[], reading: ClockReading, floor: Stamp | null, device: string): OutboxEntry[] {
  const renamed = new Map<Stamp, Stamp>();
  const written = writtenTimes(entries, reading);
  let last = floor;
  return entries.map((entry, i) => {
    const known = withNewWas(entry, renamed);
    if (!needsRedating(entry, reading)) {
      last = stampsOf(known).reduce<Stamp | null>(later, last);
      return known;
    }
    const at = written[i] as Written;
    const before = Object.values(known.fields).map((field) => field.was).reduce<Stamp | null>(later, last);
    const stamp = nextStamp(before, at.ms, device);
    stampsOf(entry).forEach((old) => renamed.set(old, stamp));
    last = stamp;
    return corrected(known, stamp, at);
  });
}

/** The greatest stamp of what stays as it is besides: refused, or unknown to the server so far. */
export function standing(entries: readonly OutboxEntry[], reading: ClockReading): Stamp | null {
  const possible = entries.flatMap(stampsOf).filter((stamp) => stampMs(stamp) <= nowMs(reading) + TOLERANCE_MS);
  return possible.reduce<Stamp | null>(later, null);
}

function corrected(entry: OutboxEntry, stamp: Stamp, at: Written): OutboxEntry {
  const shiftMs = at.ms - entry.wall_ms;
  const moved = Math.abs(shiftMs) > TOLERANCE_MS;
  const fields: OutgoingFields = {};
  for (const [name, field] of Object.entries(entry.fields)) {
    const ms = moved && entry.clocked.includes(name) ? instantMs(field.value) : null;
    fields[name] = { ...field, stamp, value: ms === null ? field.value : instantText(ms + shiftMs) };
  }
  const marks = moved || at.doubtful ? marksOf(entry, stamp, at.doubtful) : {};
  return { ...entry, fields: { ...fields, ...marks }, wall_ms: at.ms, corrected: true };
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
