/** Dates and hours in words, by the browser's language and the tank's zone. */
import { dateIn, offsetMs } from '../domain/nights';
import { texts } from '../texts';

const made = new Map<string, Intl.DateTimeFormat>();
const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;

function formatOf(options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const key = JSON.stringify(options);
  const known = made.get(key) ?? new Intl.DateTimeFormat(undefined, options);
  made.set(key, known);
  return known;
}

/** Make ready what every page needs to write dates: the first format of all takes long, and some time is spare at a start. */
export function readyDates(): void {
  const today = new Date().toISOString().slice(0, 10);
  dayName(today);
  weekday(today);
  clockCycle();
}

/** The hour of an instant in a zone: 22:30. */
export function clockTime(instant: Date, zone: string): string {
  return formatOf({ timeZone: zone, hour: '2-digit', minute: '2-digit', hourCycle: clockCycle() }).format(instant);
}

/** The zone of this device. */
export function hereZone(): string {
  return new Intl.DateTimeFormat().resolvedOptions().timeZone;
}

/** The place whose hours a zone's are, where this device's clock shows another hour at that instant: Lisbon. */
export function placeOf(zone: string, at: Date): string | null {
  const isSameHour = offsetMs(zone, at.getTime()) === -at.getTimezoneOffset() * MINUTE;
  return isSameHour ? null : zone.slice(zone.lastIndexOf('/') + 1).replaceAll('_', ' ');
}

/** An hour of a zone, with its place where this device's clock shows another: 21:30 in Lisbon time. */
export function hourWords(instant: Date, zone: string): string {
  const [time, place] = [clockTime(instant, zone), placeOf(zone, instant)];
  return place === null ? time : texts.frame.when.inZone(time, place);
}

function clockCycle(): 'h23' | 'h12' {
  const cycle = formatOf({ hour: 'numeric' }).resolvedOptions().hourCycle;
  return cycle === 'h12' || cycle === 'h11' ? 'h12' : 'h23';
}

/** A calendar date `YYYY-MM-DD` in words: Thu 26 Nov. */
export function dayName(date: string): string {
  return formatOf({ timeZone: 'UTC', weekday: 'short', day: 'numeric', month: 'short' }).format(new Date(`${date}T12:00:00Z`));
}

/** A calendar date without its weekday: 26 Nov. */
export function dayShort(date: string): string {
  return formatOf({ timeZone: 'UTC', day: 'numeric', month: 'short' }).format(new Date(`${date}T12:00:00Z`));
}

/** The weekday alone, two or three letters. */
export function weekday(date: string): string {
  return formatOf({ timeZone: 'UTC', weekday: 'short' }).format(new Date(`${date}T12:00:00Z`));
}

/** The day of the month alone. */
export function dayNumber(date: string): string {
  return String(Number(date.slice(8, 10)));
}

/** Whole days from one calendar date to another. */
export function daysBetween(from: string, to: string): number {
  return Math.round((Date.parse(`${to}T12:00:00Z`) - Date.parse(`${from}T12:00:00Z`)) / DAY);
}

/** The night of a date as people name it: tonight, tomorrow night, Thu 26 Nov. */
export function nightName(night: string, tonight: string): string {
  const ahead = daysBetween(tonight, night);
  if (ahead === 0) return texts.frame.when.tonight;
  return ahead === 1 ? texts.frame.when.tomorrowNight : dayName(night);
}

/** The day of an instant as people name it: today, yesterday, Thu 26 Nov. */
export function dayWord(instant: Date, zone: string, now: Date): string {
  const ahead = daysBetween(dateIn(zone, now), dateIn(zone, instant));
  const near: Record<string, string> = { '-1': texts.frame.when.yesterday, '0': texts.frame.when.today, '1': texts.frame.when.tomorrow };
  return near[String(ahead)] ?? dayName(dateIn(zone, instant));
}

/** Day and hour of an instant: yesterday, 21:40. */
export function momentWords(instant: Date, zone: string, now: Date): string {
  return texts.frame.when.at(dayWord(instant, zone, now), clockTime(instant, zone));
}

/** How long ago an instant was: 5 min ago, 3 h ago, 2 days ago. */
export function agoWords(instant: Date, now: Date): string {
  const gone = now.getTime() - instant.getTime();
  if (gone < 1.5 * MINUTE) return texts.frame.when.now;
  if (gone < 90 * MINUTE) return texts.frame.when.minutes(Math.round(gone / MINUTE));
  if (gone < 36 * HOUR) return texts.frame.when.hours(Math.round(gone / HOUR));
  return texts.frame.when.days(Math.round(gone / DAY));
}

/** From one day to another in a zone: 22 – 25 Nov. */
export function daySpan(from: Date, to: Date, zone: string): string {
  const format = formatOf({ timeZone: zone, day: 'numeric', month: 'short' });
  return format.formatRange(from, to);
}
