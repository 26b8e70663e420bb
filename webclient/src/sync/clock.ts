/** How far this phone's clock is from the server's, as the round trips tell. */
import type { ClockReading } from '../store';

export interface Clocks {
  /** The wall clock, milliseconds since 1970. */
  wallMs(): number;
  /** `performance.now()`, which no setting of the clock moves. */
  elapsedMs(): number;
}

export interface ServerClock {
  /** What is known now; null before the first round trip, and when the wall clock was moved since. */
  reading(): ClockReading | null;
  /** Note a round trip that began at those two times and brought the server's own. */
  note(began: { wallMs: number; elapsedMs: number }, serverMs: number): void;
  /** The server's clock less the phone's at the last round trip, milliseconds. */
  offsetMs(): number;
}

// A phone that slept moves its wall clock against the page's too: then one more question settles it.
const MOVED_MS = 30_000;

/** The server's clock as this page session has come to know it. */
export function serverClock(session: string, clocks: Clocks): ServerClock {
  let known: { offsetMs: number; lagMs: number } | null = null;
  const lag = () => clocks.wallMs() - clocks.elapsedMs();
  return {
    reading: () => {
      if (known === null || Math.abs(lag() - known.lagMs) > MOVED_MS) return null;
      return { offsetMs: known.offsetMs, wallMs: clocks.wallMs(), session, elapsedMs: clocks.elapsedMs() };
    },
    note: (began, serverMs) => {
      const halfTripMs = (clocks.elapsedMs() - began.elapsedMs) / 2;
      known = { offsetMs: serverMs + halfTripMs - clocks.wallMs(), lagMs: lag() };
    },
    offsetMs: () => known?.offsetMs ?? 0,
  };
}
