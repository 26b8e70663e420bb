/** How long to wait after failures in a row. */

const FIRST_MS = 2_000;
const LONGEST_MS = 5 * 60_000;

/** Milliseconds to wait after `failures` of them: doubling, at most 5 min, spread over the upper half by `chance` (0 to 1). */
export function backoffMs(failures: number, chance: number): number {
  const full = Math.min(LONGEST_MS, FIRST_MS * 2 ** Math.max(0, failures - 1));
  // All phones of a household fail at the same moment; they should not come back at the same moment.
  return full * (0.5 + chance / 2);
}
