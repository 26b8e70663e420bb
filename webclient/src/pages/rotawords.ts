/** Days of the week in words, by the browser's language. */
import { shiftDate } from '../domain/nights';
import { WEEKDAYS, type Weekday } from '../domain/turns';
import { weekday } from '../ui/dates';

const A_MONDAY = '2026-06-01';

function dateOn(day: Weekday): string {
  return shiftDate(A_MONDAY, WEEKDAYS.indexOf(day));
}

/** Two or three letters: Tue. */
export function dayShort(day: Weekday): string {
  return weekday(dateOn(day));
}

/** The whole name: Tuesday. */
export function dayLong(day: Weekday): string {
  return new Intl.DateTimeFormat(undefined, { timeZone: 'UTC', weekday: 'long' }).format(new Date(`${dateOn(day)}T12:00:00Z`));
}

/** Some days in one line: Tue, Thu. */
export function daysWords(days: readonly Weekday[]): string {
  return days.map(dayShort).join(', ');
}
