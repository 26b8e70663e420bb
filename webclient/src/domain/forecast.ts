/** Reading a forecast that came down: its grid of chances as the hours pass, and the day of the hold. Pure. */

export const STATES = ['eggs', 'eyed', 'held_young', 'releasing', 'released', 'lost'] as const;
export type State = (typeof STATES)[number];
export type Chances = Readonly<Record<State, number>>;

/** Chances at an instant of the grid, every 6 h for 14 d. */
export interface GridRow extends Chances {
  readonly at: string;
}

/** The six chances at an instant, linear between the grid's rows; null before its first and after its last. */
export function chancesAt(grid: readonly GridRow[], at: Date): Chances | null {
  const ms = at.getTime();
  const next = grid.findIndex((row) => Date.parse(row.at) >= ms);
  const [after, before] = [grid[next], grid[next - 1]];
  if (after === undefined) return null;
  const afterMs = Date.parse(after.at);
  if (before === undefined) return afterMs === ms ? chancesOf(after, after, 0) : null;
  const beforeMs = Date.parse(before.at);
  return chancesOf(before, after, (ms - beforeMs) / (afterMs - beforeMs));
}

function chancesOf(before: GridRow, after: GridRow, share: number): Chances {
  const mixed = STATES.map((state) => [state, before[state] * (1 - share) + after[state] * share]);
  return Object.fromEntries(mixed) as Record<State, number>;
}
