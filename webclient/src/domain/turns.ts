/** Whose turn it is on which day of the week, by the same rule as the server's. */

/** The days of the week as BYDAY of RFC 5545 names them, Monday first. */
export const WEEKDAYS = ['MO', 'TU', 'WE', 'TH', 'FR', 'SA', 'SU'] as const;
export type Weekday = (typeof WEEKDAYS)[number];

/** What is asked first of whoever has his turn; all else cannot wait or be foreseen, and is everybody's at once. */
const IN_TURN: readonly string[] = ['look_tonight', 'look_by_day', 'window_opens', 'catch_tonight', 'move_male', 'collect_larvae', 'part_pair', 'eating_again', 'condition_check', 'rest_over', 'pair_again', 'first_food', 'feed_fry', 'start_food', 'test_water', 'change_water', 'count_fry'];

/** The days on which it is one person's turn. */
export interface Turn {
  readonly person: string;
  readonly days: readonly Weekday[];
}
/** As much of a duty as says whose turn it is; `night` is the date of the evening on which it begins. */
export interface Nightly {
  readonly kind: string;
  readonly night: string | null;
}

/** The day of the week of a calendar date `YYYY-MM-DD`. */
export function weekdayOf(date: string): Weekday {
  return WEEKDAYS[(new Date(`${date}T12:00:00Z`).getUTCDay() + 6) % 7] as Weekday;
}

/** The days that lists such as `TU,TH` name, each once and Monday first; what is no day is left aside. */
export function daysIn(lists: readonly (string | null)[]): Weekday[] {
  const named = new Set(lists.flatMap((list) => list?.split(',') ?? []));
  return WEEKDAYS.filter((day) => named.has(day));
}

/** Those whose turn it is to see to a duty, wherever they are. */
export function whoseTurn({ kind, night }: Nightly, turns: readonly Turn[]): string[] {
  if (night === null || !IN_TURN.includes(kind)) return [];
  const day = weekdayOf(night);
  return turns.filter((turn) => turn.days.includes(day)).map((turn) => turn.person);
}
