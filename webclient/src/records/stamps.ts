/**
 * Stamps of a hybrid logical clock as text that sorts (Kulkarni et al. 2014):
 * 13 digits of milliseconds, 4 hexadecimal digits of counter, 8 characters of device.
 */

export type Stamp = string;

const COUNTER_LIMIT = 0xffff;

/** The stamp of a write: not behind the clock, later than the last one and than every stamp seen. */
export function nextStamp(last: Stamp | null, clockMs: number, device: string): Stamp {
  const lastMs = last === null ? -1 : stampMs(last);
  if (last === null || clockMs > lastMs) return stampText(clockMs, 0, device);
  const counter = parseInt(last.slice(14, 18), 16);
  // A full counter borrows the next millisecond, so that stamps of one device never repeat.
  return counter >= COUNTER_LIMIT ? stampText(lastMs + 1, 0, device) : stampText(lastMs, counter + 1, device);
}

/** The milliseconds since 1970 (UTC) that a stamp bears. */
export function stampMs(stamp: Stamp): number {
  return Number(stamp.slice(0, 13));
}

/** The later of two stamps, either of which may be missing. */
export function later(a: Stamp | null, b: Stamp | null): Stamp | null {
  if (a === null || b === null) return a ?? b;
  return a > b ? a : b;
}

function stampText(ms: number, counter: number, device: string): Stamp {
  return `${String(Math.floor(ms)).padStart(13, '0')}.${counter.toString(16).padStart(4, '0')}.${device}`;
}
